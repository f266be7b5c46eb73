// SPDX-License-Identifier: GPL-3.0-or-later
/* What comes into a station, file by file: found by a scan, told by an event, or due with time. */
#include "station_parts.h"

#include "log.h"

#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char verdict_ending[] = ".verdict.yaml";

/* ---------------------------------------------------------------- one file */

static bool is_same(const struct entry *entry, const struct stat *st)
{
    const struct pellet_file_id *id = &entry->id;
    return id->device == st->st_dev && id->inode == st->st_ino &&
           id->mtime_ns == pellet_ns_of_file(st->st_mtim) && id->ctime_ns == pellet_ns_of_file(st->st_ctim) &&
           (!S_ISREG(st->st_mode) || id->bytes == (uint64_t)st->st_size);
}

static void add_timed(struct station *station, struct entry *entry)
{
    if (!entry->timed)
        entry->timed = entry_list_add(&station->timed, entry);
    if (!entry->timed) {
        entry->settle.state = SETTLE_IDLE; /* no memory to wait for it: a scan will find it */
        station_no_memory(station, entry);
    }
}

static void settle_entry(struct station *station, struct entry *entry, enum settle_event event,
                         const struct stat *st)
{
    uint64_t bytes = st ? (uint64_t)st->st_size : 0;
    pellet_ns mtime_ns = st ? pellet_ns_of_file(st->st_mtim) : 0;
    if (settle_take(&entry->settle, event, bytes, mtime_ns, clock_monotonic_ms(), &station->settle))
        station_take(station, entry);
    else if (entry->settle.state != SETTLE_IDLE)
        add_timed(station, entry);
}

static struct entry *find_or_add(struct station *station, const char *name, const struct stat *st)
{
    struct entry *entry = entry_find(&station->index, name);
    if (!entry && (entry = entry_add(&station->index, name))) {
        entry->wanted = true;
        if (station->since != PELLET_NO_TIME && pellet_ns_of_file(st->st_mtim) < station->since)
            entry->stage = ENTRY_IGNORED;
    }
    if (!entry) {
        log_say(LOG_LEVEL_ERROR, name, "no memory to take it in; it will be seen by the next scan");
        station_doubt(station);
    }
    return entry;
}

/* Long enough unchanged by the clock on the wall: it needs no settling. A time to come tells nothing. */
static bool is_old(const struct station *station, const struct stat *st)
{
    pellet_ns now = clock_now();
    pellet_ns changed = pellet_ns_of_file(st->st_mtim) > pellet_ns_of_file(st->st_ctim)
                            ? pellet_ns_of_file(st->st_mtim)
                            : pellet_ns_of_file(st->st_ctim);
    return changed < now - station->settle.open_ms * (PELLET_NS_PER_S / 1000);
}

/* Also where that cannot be told now: nothing shall follow from a look that failed. */
bool station_verdict_is_there(const struct station *station, const char *name)
{
    struct pellet_text file = {0};
    struct pellet_error error = {0};
    int verdict = -1;
    pellet_verdict_name(name, &file);
    if (pellet_text_status(&file) == PELLET_OK)
        verdict = pellet_open_beneath(station->place.output, file.data, O_PATH | O_NOFOLLOW, 0, &error);
    else
        pellet_fail(&error, PELLET_E_MEMORY, "no memory for the name of its verdict");
    pellet_text_free(&file);
    if (verdict >= 0)
        close(verdict);
    return verdict >= 0 || reading_may_pass(error.status);
}

static void found_new(struct station *station, struct entry *entry, const struct stat *st)
{
    const bool old = !station->options.patient || is_old(station, st);
    entry->id.mtime_ns = pellet_ns_of_file(st->st_mtim);
    entry->peek = !old && station_verdict_is_there(station, entry->name);
    if (old || entry->peek)
        station_take(station, entry);
    else
        settle_entry(station, entry, SETTLE_CHANGED, st);
}

void station_mark_present(struct station *station, struct entry *entry, bool present)
{
    const bool moved = entry->present != present && entry->judged;
    station->gone += entry->present && !present;
    entry->present = present;
    if (moved && station->options.on_moved)
        station->options.on_moved(station->options.context, entry);
}

/* A scan found the file: is it new, is it another than it was, or has its verdict gone? */
void station_found_file(struct station *station, const char *name, const struct stat *st)
{
    struct entry *entry = find_or_add(station, name, st);
    if (!entry)
        return;
    const bool returned = !entry->present;
    station_mark_present(station, entry, true);
    entry->scan = station->scan;
    if (entry->stage == ENTRY_IGNORED || entry->settle.state != SETTLE_IDLE)
        return;
    if (entry->stage == ENTRY_SEEN) {
        if (entry->retry_ms == 0)
            found_new(station, entry, st);
    } else if (!is_same(entry, st)) {
        entry->must_hash = true;
        settle_entry(station, entry, SETTLE_CHANGED, st);
    } else if (entry->stage == ENTRY_DONE && station->writes && entry->judged &&
               (returned || !station_verdict_is_there(station, name))) {
        station_take(station, entry);
    }
}

/* False where there is no such file; also where it could not be looked at, and then there will be a scan. */
bool station_look(struct station *station, const char *name, struct stat *st, bool *unsure)
{
    const pellet_status status = place_look(&station->place, name, st, NULL);
    *unsure = reading_may_pass(status);
    if (*unsure)
        station_doubt(station);
    return status == PELLET_OK;
}

/* The spectrum whose verdict this is, by the name; NULL where it is none that we know. */
static struct entry *entry_of_verdict(const struct station *station, const char *name)
{
    size_t n = strlen(name);
    if (n < sizeof verdict_ending || strcmp(name + n - (sizeof verdict_ending - 1), verdict_ending) != 0)
        return NULL;
    char *stem = strndup(name, n - (sizeof verdict_ending - 1));
    struct entry *entry = stem ? entry_find(&station->index, stem) : NULL;
    free(stem);
    return entry;
}

void station_event(struct station *station, const char *name, enum settle_event event)
{
    struct stat st;
    bool unsure = false;
    if (event == SETTLE_GONE) {
        /* It may be deleted before we hear from the worker that has just written it. */
        struct entry *judged = entry_of_verdict(station, name);
        if (judged && (judged->stage == ENTRY_DONE || judged->stage == ENTRY_JUDGING) && judged->present &&
            !station_verdict_is_there(station, judged->name))
            station_take(station, judged);
    }
    if (strcmp(name, WORKSHEET_NAME) == 0)
        station_read_worksheet(station);
    if (!name_is_input(name, &station->config->include))
        return;
    if (!station_look(station, name, &st, &unsure)) {
        struct entry *entry = entry_find(&station->index, name);
        if (entry && !unsure) {
            station_mark_present(station, entry, false);
            settle_entry(station, entry, SETTLE_GONE, NULL);
        }
        return;
    }
    if (S_ISDIR(st.st_mode) && station->config->depth > 0)
        return;
    struct entry *entry = find_or_add(station, name, &st);
    if (!entry || entry->stage == ENTRY_IGNORED)
        return;
    station_mark_present(station, entry, true);
    entry->must_hash = true;
    entry->retry_until_ms = 0;
    entry->retry_ms = 0;
    settle_entry(station, entry, event == SETTLE_GONE ? SETTLE_CHANGED : event, &st);
}

struct entry *station_want(struct station *station, const char *name)
{
    struct stat st;
    bool unsure = false;
    struct entry *entry = entry_find(&station->index, name);
    if (entry || !station_look(station, name, &st, &unsure))
        return entry;
    entry = find_or_add(station, name, &st);
    if (entry) {
        entry->present = true;
        entry->stage = ENTRY_SEEN;
        station_take(station, entry);
    }
    return entry;
}

/* ---------------------------------------------------------------- what becomes due */

static void entry_due(struct station *station, struct entry *entry, int64_t now_ms)
{
    struct stat st;
    if (entry->settle.state != SETTLE_IDLE && entry->settle.due_ms <= now_ms) {
        bool unsure = false;
        if (!station_look(station, entry->name, &st, &unsure)) {
            station_mark_present(station, entry, entry->present && unsure);
            settle_entry(station, entry, SETTLE_GONE, NULL);
            return;
        }
        bool same = (uint64_t)st.st_size == entry->settle.bytes &&
                    pellet_ns_of_file(st.st_mtim) == entry->settle.mtime_ns;
        settle_entry(station, entry, same ? SETTLE_SAME : SETTLE_DIFFERS, &st);
    }
    if (entry->retry_ms > 0 && entry->retry_ms <= now_ms) {
        entry->retry_ms = 0;
        station_take(station, entry);
    }
}

int64_t station_due(struct station *station, int64_t now_ms)
{
    int64_t next_ms = INT64_MAX;
    struct entry_list *timed = &station->timed;
    size_t kept = 0;
    /* The list only grows at its end while it is walked, and what is due never comes back earlier. */
    for (size_t i = 0; i < timed->n; i++) {
        struct entry *entry = timed->item[i];
        entry_due(station, entry, now_ms);
        int64_t due_ms = entry->settle.state != SETTLE_IDLE ? entry->settle.due_ms : INT64_MAX;
        if (entry->retry_ms > 0 && entry->retry_ms < due_ms)
            due_ms = entry->retry_ms;
        entry->timed = due_ms < INT64_MAX;
        if (entry->timed)
            timed->item[kept++] = entry;
        if (due_ms < next_ms)
            next_ms = due_ms;
    }
    timed->n = kept;
    return next_ms;
}
