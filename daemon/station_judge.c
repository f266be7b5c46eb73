// SPDX-License-Identifier: GPL-3.0-or-later
/* Judging: what is handed to the workers, and what becomes of what they bring back. */
#include "station_parts.h"

#include "log.h"
#include "outputs.h"
#include "verify.h"

#include <stdlib.h>

#define TROUBLE_MIN_MS 1000  /* between two tries to write, doubling ... */
#define TROUBLE_MAX_MS 60000 /* ... up to this */
#define SYNC_MS        800   /* what is written is durable within 1 s */
static void submit(struct station *station, struct judging *judging)
{
    judging->entry->stage = ENTRY_JUDGING;
    station->judging++;
    workers_submit(station->workers, &judging->job);
}

/* Its turn comes again when what it rests on was read again, or else with the next scan. */
static void not_prepared(struct station *station, struct entry *entry)
{
    station_leave_orders(station, entry);
    entry->stage = ENTRY_READ;
    if (station->ready.n == station->ready_first || !measured_insert(&station->pending, entry))
        station_no_memory(station, entry);
}

void station_judge_anew(struct station *station, struct entry *entry, bool waiting, bool over)
{
    timeline_remove(&station->waits[entry->measured_from], entry);
    struct judging *judging = station_prepare(station, entry, waiting, over);
    if (judging)
        submit(station, judging);
    else
        not_prepared(station, entry);
}

/* What was judged ahead goes with the entry, so it leaves the others without station_leave_pending. */
void station_judge_first(struct station *station, struct entry *entry)
{
    measured_remove(&station->pending, entry);
    struct judging *judging = NULL;
    /* It stands in the timeline while it is judged, so that the next one sees what came before. */
    if (station_enter_time(station, entry) && station_find_session(station, entry))
        judging = station_prepare(station, entry, false, false);
    if (judging) {
        station->in_hand = entry;
        submit(station, station_take_ahead(station, judging));
    } else {
        not_prepared(station, entry);
    }
    station_look_after_waits(station);
}

/* The derived files of a valid verdict are missing: made again from exactly what it rests on. */
void station_restore_outputs(struct station *station, struct entry *entry,
                             const struct pellet_verdict *verdict)
{
    struct judging *judging = judging_from_verdict(station, entry, verdict);
    if (!judging) {
        station_no_memory(station, entry);
        return;
    }
    judging->write = JUDGING_RESTORE;
    submit(station, judging);
}

static void restored(struct station *station, struct entry *entry, const struct judging *judging)
{
    entry->stage = ENTRY_DONE;
    if (judging->result == JUDGING_NOT_WRITTEN)
        log_failure(LOG_LEVEL_WARNING, entry->name, &judging->error);
    else if (judging->result != JUDGING_DONE)
        log_say(LOG_LEVEL_NOTICE, entry->name,
                "its derived files cannot be made again: %s is no longer what it was",
                judging->input ? judging->input : "the file");
    station->failed = station->failed || judging->result == JUDGING_NOT_WRITTEN ||
                      judging->result == JUDGING_FAILED || judging->result == JUDGING_AWAY;
}

/* Said once, however many files are kept waiting. */
static void trouble_with_writing(struct station *station, struct entry *entry, const struct judging *judging)
{
    struct station_trouble *trouble = &station->trouble;
    if (!station->options.patient) {
        log_failure(LOG_LEVEL_ERROR, entry->name, &judging->error);
        station->failed = true;
        return;
    }
    if (!trouble->on)
        log_say(LOG_LEVEL_ERROR, station->config->name,
                "%s; verdicts are kept back, and writing is tried again until it works",
                judging->error.message);
    trouble->wait_ms = !trouble->on                            ? TROUBLE_MIN_MS
                       : 2 * trouble->wait_ms > TROUBLE_MAX_MS ? TROUBLE_MAX_MS
                                                               : 2 * trouble->wait_ms;
    trouble->on = true;
    trouble->next_ms = clock_monotonic_ms() + trouble->wait_ms;
}

static void writing_works(struct station *station)
{
    if (station->trouble.on)
        log_say(LOG_LEVEL_NOTICE, station->config->name, "writing works again; catching up");
    station->trouble = (struct station_trouble){0};
    if (station->sync_ms == 0)
        station->sync_ms = clock_monotonic_ms() + SYNC_MS;
}

static void keep_text(struct entry *entry, struct judging *judging)
{
    free(entry->verdict_text);
    entry->verdict_text = judging->kept.data;
    entry->verdict_length = judging->kept.length;
    judging->kept = (struct pellet_text){0};
}

static void judged(struct station *station, struct entry *entry, struct judging *judging)
{
    /* The judge may know the role better than the name; the orders follow it. */
    station_leave_orders(station, entry);
    entry->stage = ENTRY_DONE;
    entry->attempts = 0;
    if (judging->write == JUDGING_KEEP)
        keep_text(entry, judging);
    else
        writing_works(station);
    if (!station_adopt(station, entry, &judging->verdict))
        station_no_memory(station, entry);
    station_tell(station, entry, &judging->verdict, true);
}

/* Judged, but the verdict could not be written: whoever asked is told it all the same, once. */
static void not_written(struct station *station, struct entry *entry, struct judging *judging)
{
    if (judging->error.status == PELLET_E_KIND && station->options.patient) {
        /* Something else has the name of its verdict: that is about this file alone, and trying again is no
         * help. */
        log_failure(LOG_LEVEL_ERROR, entry->name, &judging->error);
        station_leave_orders(station, entry);
        entry->stage = ENTRY_FOREIGN;
        return;
    }
    trouble_with_writing(station, entry, judging);
    station_leave_orders(station, entry);
    if (!station->options.patient) {
        (void)pellet_verdict_write(&judging->verdict, &judging->kept);
        judging->write = JUDGING_KEEP;
        judged(station, entry, judging);
        return;
    }
    entry->judged = false;
    entry->stage = ENTRY_READ;
    if (!measured_insert(&station->pending, entry))
        station_no_memory(station, entry);
}

/* A file that the verdict was to rest on is no longer what it was: look at that first. */
static void input_changed(struct station *station, struct entry *entry, const struct judging *judging)
{
    struct entry *input = entry_find(&station->index, judging->input);
    station_leave_orders(station, entry);
    if (input && input != entry) {
        input->judged = false;
        input->must_hash = true;
        station_take_needed(station, input);
    }
    entry->stage = ENTRY_READ;
    if (++entry->attempts > ATTEMPTS_MAX) {
        log_say(LOG_LEVEL_ERROR, entry->name, "%s keeps changing; it was not judged", judging->input);
        station_doubt(station);
        entry->stage = ENTRY_SEEN;
    } else if (!measured_insert(&station->pending, entry)) {
        station_no_memory(station, entry);
    }
}

void station_judging_done(struct station *station, struct judging *judging)
{
    struct entry *entry = judging->entry;
    station->judging--;
    if (station->in_hand == entry)
        station->in_hand = NULL;
    entry->stage = ENTRY_SEEN;
    if (judging->write == JUDGING_RESTORE) {
        restored(station, entry, judging);
        station_take_if_dirty(station, entry);
        return;
    }
    switch (judging->result) {
    case JUDGING_DONE:
        judged(station, entry, judging);
        break;
    case JUDGING_CHANGED:
        station_come_again(station, entry);
        break;
    case JUDGING_INPUT_CHANGED:
        input_changed(station, entry, judging);
        break;
    case JUDGING_AWAY:
        station_leave_orders(station, entry);
        station->away = true;
        if (!station->options.patient)
            log_failure(LOG_LEVEL_ERROR, entry->name, &judging->error);
        station_doubt(station);
        break;
    case JUDGING_FOREIGN:
        station_leave_orders(station, entry);
        entry->stage = ENTRY_FOREIGN;
        log_failure(LOG_LEVEL_WARNING, entry->name, &judging->error);
        break;
    case JUDGING_NOT_WRITTEN:
        not_written(station, entry, judging);
        break;
    case JUDGING_FAILED:
        station_leave_orders(station, entry);
        log_failure(LOG_LEVEL_ERROR, entry->name, &judging->error);
        station_doubt(station);
        break;
    }
    station_take_if_dirty(station, entry);
    station_look_after_waits(station);
}
