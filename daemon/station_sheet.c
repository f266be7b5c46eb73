// SPDX-License-Identifier: GPL-3.0-or-later
/* A station's worksheet: read again when it changes, and what is judged anew because of it. */
#include "station_parts.h"

#include "log.h"

#include <string.h>

/* Attempts further back do not count, see pairing. */
#define ROWS_BACK PAIRING_ATTEMPT_MAX

/* Whether the pellet's row, or that of an attempt before it, says something else now. */
static bool is_concerned(const struct entry *entry, const struct worksheet *then, const struct worksheet *now)
{
    const int first = entry->pellet > ROWS_BACK ? entry->pellet - ROWS_BACK : 0;

    for (int pellet = first; entry->sample && pellet <= entry->pellet; pellet++) {
        if (worksheet_rows_differ(worksheet_find(then, entry->sample, pellet),
                                  worksheet_find(now, entry->sample, pellet)))
            return true;
    }
    return false;
}

/* What waits for a fact may have it now; what was judged with other rows is to be judged with these. */
static void note_concerned(struct station *station, const struct worksheet *then)
{
    for (size_t i = 0; i < station->index.n; i++) {
        struct entry *entry = station->index.item[i];
        const bool waits = entry->judged && entry->outcome == PELLET_WAIT && !entry->waits;
        const bool given = entry->stage == ENTRY_JUDGING || (entry->stage == ENTRY_DONE && entry->judged);
        if (given && (waits || is_concerned(entry, then, &station->worksheet)))
            entry->sheet_changed = station->sheet_outdated = true;
    }
}

void station_check_rows(struct station *station, struct entry *entry, const struct pellet_verdict *verdict)
{
    const struct worksheet *worksheet = &station->worksheet;
    const struct pellet_worksheet_row *attempt[PAIRING_ATTEMPT_MAX];
    char now[PELLET_SHA256_HEX];
    size_t attempts = 0;

    if (!verdict->sample || worksheet->n == 0)
        return;
    for (size_t i = 0; i < verdict->against_count && attempts < PAIRING_ATTEMPT_MAX; i++) {
        struct sample_name said;
        if (strcmp(verdict->against[i].as, "attempt") != 0)
            continue;
        sample_name_read(station->config->sample_name, verdict->against[i].file, &said);
        attempt[attempts++] = worksheet_find(worksheet, said.sample, said.pellet);
    }
    if (pellet_worksheet_hash(worksheet_find(worksheet, verdict->sample, verdict->pellet), attempt, attempts,
                              now) != PELLET_OK) {
        station_no_memory(station, entry);
        return;
    }
    if (now[0] == '\0' || strcmp(now, verdict->worksheet_sha256) == 0)
        return;
    entry->sheet_changed = true;
    station->sheet_outdated = true;
}

void station_judge_outdated(struct station *station)
{
    struct entry *first = NULL;
    if (!station->sheet_outdated || station->judging > 0)
        return;
    station->sheet_outdated = false;
    for (size_t i = 0; i < station->index.n; i++) {
        struct entry *entry = station->index.item[i];
        /* Others are judged with these rows, or looked at by station_check_rows, when they come. */
        if (!entry->sheet_changed || !entry->present ||
            (entry->stage != ENTRY_DONE && entry->stage != ENTRY_JUDGING))
            continue;
        station->sheet_outdated = true;
        if (entry->stage == ENTRY_DONE && (!first || entry_compare(entry, first) < 0))
            first = entry;
    }
    if (first)
        station_forget(station, first);
}

/* A line of the journal for each row or cell, as far as anybody reads. */
static void log_problems(const char *problems)
{
    size_t said = 0;

    while (problems && *problems) {
        const size_t n = strcspn(problems, "\n");
        if (said++ == 20) {
            log_say(LOG_LEVEL_WARNING, WORKSHEET_NAME, "and more of this kind");
            return;
        }
        log_say(LOG_LEVEL_WARNING, WORKSHEET_NAME, "%.*s", (int)n, problems);
        problems += n + (problems[n] == '\n');
    }
}

void station_read_worksheet(struct station *station)
{
    struct pellet_bytes bytes = {0};
    struct pellet_error error = {0};
    struct pellet_text problems = {0};
    struct worksheet worksheet = {0};
    struct stat st;
    bool unsure = false;
    station->sheet_late = station_is_late(station);
    if (station->sheet_late)
        return;
    bool there = station_look(station, WORKSHEET_NAME, &st, &unsure);
    if (unsure)
        return;
    pellet_ns mtime_ns = there ? pellet_ns_of_file(st.st_mtim) : 0;
    if (mtime_ns == station->worksheet_id.mtime_ns &&
        (!there || (uint64_t)st.st_size == station->worksheet_id.bytes))
        return;
    station->worksheet_id =
        (struct pellet_file_id){.bytes = there ? (uint64_t)st.st_size : 0, .mtime_ns = mtime_ns};
    pellet_status status = PELLET_E_MISSING;
    if (there)
        status = pellet_read_file(station->place.folder, WORKSHEET_NAME, WORKSHEET_BYTES_MAX, &bytes, NULL,
                                  &error);
    if (status == PELLET_OK)
        status = worksheet_read(bytes.data, bytes.n, &worksheet, &problems, &error);
    log_problems(problems.data);
    /* One that is being saved right now comes back with the next event; the rows known stay until then. */
    if (status != PELLET_OK && there) {
        log_failure(LOG_LEVEL_WARNING, WORKSHEET_NAME, &error);
        if (reading_may_pass(status) || status == PELLET_E_CHANGED) {
            station->worksheet_id = (struct pellet_file_id){0};
            if (status != PELLET_E_DENIED)
                station_doubt(station);
        }
    } else {
        struct worksheet then = station->worksheet;
        station->worksheet = worksheet;
        note_concerned(station, &then);
        worksheet_clear(&then);
    }
    pellet_text_free(&problems);
    pellet_bytes_free(&bytes);
}
