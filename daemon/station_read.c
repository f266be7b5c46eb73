// SPDX-License-Identifier: GPL-3.0-or-later
/* Reading: what a worker found of a file and its verdict is taken into the entry. */
#include "station_parts.h"

#include "log.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define RETRY_FIRST_MS 500  /* until a busy or denied file is looked at again: mostly it is soon over, ... */
#define RETRY_MS       2000 /* ... and after that */
#define TRIES_AT_ONCE  3    /* where nothing is waited for */

void station_start_reading(struct station *station, struct entry *entry)
{
    struct reading *reading = reading_new(&station->place, entry);
    if (reading && entry->verdict_text) {
        reading->kept = malloc(entry->verdict_length);
        reading->kept_length = entry->verdict_length;
        if (reading->kept)
            memcpy(reading->kept, entry->verdict_text, entry->verdict_length);
    }
    if (!reading) {
        entry->stage = ENTRY_SEEN;
        station_no_memory(station, entry);
        return;
    }
    reading->must_hash = entry->must_hash;
    reading->whole = station->options.whole_verdicts;
    reading->wants_outputs = station->writes;
    reading->trust_nothing = station->options.again && entry->wanted && !entry->judged;
    reading->last_try = station->options.patient
                            ? entry->retry_until_ms > 0 && clock_monotonic_ms() >= entry->retry_until_ms
                            : entry->attempts >= TRIES_AT_ONCE;
    entry->stage = ENTRY_READING;
    entry->must_hash = entry->needed = false;
    station->reading++;
    workers_submit(station->workers, &reading->job);
}

static bool adopt_content(struct entry *entry, struct reading *reading)
{
    struct content *content = &reading->content;
    struct pellet_error *read_error = NULL;
    if (reading->error.status != PELLET_OK) {
        read_error = malloc(sizeof *read_error);
        if (!read_error)
            return false;
        *read_error = reading->error;
    }
    free(entry->read_error);
    entry->read_error = read_error;
    entry_settings_clear(&entry->settings);
    free(entry->sample);
    entry->sample = content->sample;
    entry->settings = content->settings;
    content->sample = NULL;
    content->settings = (struct entry_settings){.resolution = NAN};
    memcpy(entry->sha256, content->sha256, sizeof entry->sha256);
    entry->role = content->role;
    entry->pellet = content->pellet;
    entry->scan_number = content->scan;
    entry->measured = content->measured;
    entry->measured_from = content->measured_from;
    entry->label_missing = content->label_missing;
    entry->own_blank = content->own_blank;
    return true;
}

/* What a verdict says of its file and of itself. */
bool entry_adopt_verdict(struct entry *entry, const struct pellet_verdict *verdict)
{
    const struct pellet_against *blank = NULL;
    for (size_t i = 0; i < verdict->against_count && !blank; i++) {
        if (strcmp(verdict->against[i].as, "blank") == 0)
            blank = &verdict->against[i];
    }
    entry->judged = true;
    entry->verdict_at = verdict->judged;
    entry->outcome = verdict->outcome;
    entry->state = verdict->state;
    entry->becomes_reference = verdict->becomes_reference;
    entry->waits = pellet_verdict_waits_for_blank(verdict);
    entry->wait_over = verdict->wait_over;
    entry->role = verdict->role;
    entry->measured = verdict->measured;
    entry->measured_from = verdict->measured_from;
    entry->pellet = verdict->pellet;
    entry->scan_number = verdict->scan;
    memcpy(entry->sha256, verdict->sha256, sizeof entry->sha256);
    memcpy(entry->blank_sha256, blank ? blank->sha256 : "", blank ? sizeof entry->blank_sha256 : 1);
    return entry_set_string(&entry->sample, verdict->sample) &&
           entry_set_string(&entry->session, verdict->session) &&
           entry_set_string(&entry->blank, blank ? blank->file : NULL);
}

void station_tell(struct station *station, struct entry *entry, const struct pellet_verdict *verdict,
                  bool fresh)
{
    if (station->options.on_verdict)
        station->options.on_verdict(station->options.context, entry, verdict, fresh);
}

static void known(struct station *station, struct entry *entry, struct reading *reading)
{
    station_leave_orders(station, entry);
    if (reading->read && !adopt_content(entry, reading)) {
        station_no_memory(station, entry);
        return;
    }
    entry->stage = ENTRY_DONE;
    if (!station_adopt(station, entry, &reading->verdict))
        station_no_memory(station, entry);
    station_tell(station, entry, &reading->verdict, false);
    if (station->options.patient && station->writes)
        station_check_rows(station, entry, &reading->verdict);
    if (entry->stage == ENTRY_DONE && reading->outputs_missing)
        station_restore_outputs(station, entry, &reading->verdict);
}

/* The session that was written first stays, unless this is another day's file under an old name. */
static void keep_session(struct station *station, struct entry *entry, const struct reading *reading)
{
    const double gap_ns = station->rules.session_gap_h * 3600.0 * (double)PELLET_NS_PER_S;
    const struct pellet_verdict *old = &reading->verdict;
    bool keeps = reading->has_verdict && old->session &&
                 fabs((double)old->measured - (double)entry->measured) <= gap_ns;
    (void)entry_set_string(&entry->session, keeps ? old->session : NULL);
}

static void read_new(struct station *station, struct entry *entry, struct reading *reading)
{
    station_leave_orders(station, entry);
    entry->judged = false;
    entry->waits = entry->wait_over = false;
    entry->state = PELLET_BLANK_NONE;
    if (!adopt_content(entry, reading)) {
        station_no_memory(station, entry);
        return;
    }
    keep_session(station, entry, reading);
    if (station->options.look_only || (!entry->wanted && entry->role == PELLET_SAMPLE)) {
        entry->stage = ENTRY_IGNORED;
        return;
    }
    /* Denied is how the file is meant to be; what else keeps us from its content may pass. */
    if (!station->options.patient && reading_may_pass(reading->error.status) &&
        reading->error.status != PELLET_E_DENIED) {
        log_failure(LOG_LEVEL_ERROR, entry->name, &reading->error);
        station_doubt(station);
    }
    entry->stage = ENTRY_READ;
    entry->ready_ms = clock_monotonic_ms();
    if (!measured_insert(&station->pending, entry))
        station_no_memory(station, entry);
}

/* Busy or denied: look again for a while; then the verdict says so. */
static void trouble_with_file(struct entry *entry, struct station *station, const struct reading *reading)
{
    int64_t now_ms = clock_monotonic_ms();
    if (!station->options.patient) {
        if (entry->attempts++ < TRIES_AT_ONCE) {
            station_take(station, entry);
        } else {
            log_failure(LOG_LEVEL_ERROR, entry->name, &reading->error);
            station_doubt(station);
        }
        return;
    }
    const bool first = entry->retry_until_ms == 0;
    if (first) {
        entry->retry_until_ms = now_ms + RETRY_UNTIL_MS;
        log_say(LOG_LEVEL_NOTICE, entry->name, "%s; trying again for 60 s", reading->error.message);
    }
    entry->stage = ENTRY_SEEN;
    entry->must_hash = true;
    entry->retry_ms = now_ms + (first ? RETRY_FIRST_MS : RETRY_MS);
    if (!entry->timed)
        entry->timed = entry_list_add(&station->timed, entry);
    if (!entry->timed) {
        entry->retry_ms = 0; /* no memory to wait for it: a scan will find it */
        station_doubt(station);
    }
}

/* When something came last: now, or for what was known before we started, when it was written. */
static void note_activity(struct station *station, const struct reading *reading)
{
    int64_t now_ms = clock_monotonic_ms();
    int64_t came_ms = now_ms;
    if (reading->result == READING_KNOWN)
        came_ms -= (clock_now() - reading->id.mtime_ns) / (PELLET_NS_PER_S / 1000);
    else if (reading->result != READING_NEW)
        return;
    if (came_ms > now_ms)
        came_ms = now_ms;
    if (came_ms > station->activity_ms)
        station->activity_ms = came_ms;
    if (reading->result == READING_NEW && station->options.patient)
        station->closed = false;
}

void station_reading_done(struct station *station, struct reading *reading)
{
    struct entry *entry = reading->entry;
    station->reading--;
    entry->stage = ENTRY_SEEN;
    if (reading->result != READING_GONE && reading->result != READING_TROUBLE) {
        entry->id = reading->id;
        entry->retry_until_ms = 0;
    }
    note_activity(station, reading);
    switch (reading->result) {
    case READING_KNOWN:
        known(station, entry, reading);
        break;
    case READING_FOREIGN:
        entry->stage = ENTRY_FOREIGN;
        log_say(LOG_LEVEL_WARNING, entry->name,
                "its verdict was written by a newer pelletd and is left alone");
        break;
    case READING_NEW:
        if (entry->peek)
            station_come_again(station, entry);
        else
            read_new(station, entry, reading);
        break;
    case READING_CHANGED:
        station_come_again(station, entry);
        break;
    case READING_GONE:
        station_mark_present(station, entry, false);
        station_leave_orders(station, entry);
        break;
    case READING_TROUBLE:
        trouble_with_file(entry, station, reading);
        break;
    }
    entry->peek = false;
    station_take_if_dirty(station, entry);
}
