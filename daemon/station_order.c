// SPDX-License-Identifier: GPL-3.0-or-later
/* Where an entry stands in a station's orders, and how it gets there and out again. */
#include "station_parts.h"

#include "log.h"

struct measured *station_time_of(struct station *station, const struct entry *entry)
{
    return &station->time[entry->measured_from];
}

void station_doubt(struct station *station)
{
    station->failed = true;
    station->overlooked = true;
    if (station->options.patient) {
        if (station->doubt_ms == 0)
            station->doubt_ms = clock_monotonic_ms();
        station->doubt_scan = station->scan;
        return;
    }
    if (!station->writes)
        return;
    log_say(LOG_LEVEL_ERROR, station->config->name,
            "not all could be read; verdicts may lack what they should rest on and are not written");
    station->writes = false;
}

/* A scan since then has found what there is. */
int64_t station_doubts_until_ms(const struct station *station)
{
    return station->doubt_ms > 0 && station->scan == station->doubt_scan ? station->doubt_ms + DOUBT_MAX_MS
                                                                         : 0;
}

bool station_in_doubt(const struct station *station)
{
    return clock_monotonic_ms() < station_doubts_until_ms(station);
}

/* Not with the scan: a file that nothing helps would begin a new doubt, and keep the others waiting, each
 * time that it is found. */
void station_end_doubt(struct station *station)
{
    if (station->scan != station->doubt_scan && station_idle(station))
        station->doubt_ms = 0;
}

void station_no_memory(struct station *station, struct entry *entry)
{
    log_say(LOG_LEVEL_ERROR, entry->name, "no memory for it; it will be taken up by the next scan");
    station_leave_orders(station, entry);
    entry->stage = ENTRY_SEEN;
    station_doubt(station);
}

void station_leave_pending(struct station *station, struct entry *entry)
{
    measured_remove(&station->pending, entry);
    station_drop_ahead(station, entry);
}

/* Its time and role may change after this. */
void station_leave_orders(struct station *station, struct entry *entry)
{
    if (entry->in_time)
        measured_remove(station_time_of(station, entry), entry);
    entry->in_time = false;
    station_leave_pending(station, entry);
    timeline_remove(&station->waits[entry->measured_from], entry);
}

bool station_enter_time(struct station *station, struct entry *entry)
{
    if (!entry->in_time)
        entry->in_time = measured_insert(station_time_of(station, entry), entry);
    return entry->in_time;
}

void station_take(struct station *station, struct entry *entry)
{
    if (entry->stage == ENTRY_READING || entry->stage == ENTRY_JUDGING) {
        entry->dirty = true;
        return;
    }
    if (entry->stage == ENTRY_READY)
        return;
    station_leave_pending(station, entry);
    entry->stage = ENTRY_READY;
    if (!station_join_batch(station, entry)) {
        entry->stage = ENTRY_SEEN;
        station_no_memory(station, entry);
    }
}

void station_forget(struct station *station, struct entry *entry)
{
    if (entry->present && entry->stage == ENTRY_DONE)
        station_judge_anew(station, entry, false, false);
}

/* It is not what it was thought to be: let it settle anew, or have another look where nothing settles. */
void station_come_again(struct station *station, struct entry *entry)
{
    station_leave_orders(station, entry);
    entry->stage = ENTRY_SEEN;
    entry->must_hash = true;
    entry->dirty = false;
    if (++entry->attempts > ATTEMPTS_MAX && !station->options.patient) {
        log_say(LOG_LEVEL_ERROR, entry->name, "it keeps changing; it was not judged");
        station_doubt(station);
    } else if (station->options.patient) {
        station_event(station, entry->name, SETTLE_CHANGED);
    } else {
        station_take(station, entry);
    }
}

/* Whatever happened while a worker had it is looked at now. */
void station_take_if_dirty(struct station *station, struct entry *entry)
{
    if (entry->dirty) {
        entry->dirty = false;
        station_take(station, entry);
    }
}

bool station_adopt(struct station *station, struct entry *entry, const struct pellet_verdict *verdict)
{
    if (!entry_adopt_verdict(entry, verdict) || !station_enter_time(station, entry))
        return false;
    station->new_server = station->new_server || entry_is_server(entry);
    return !entry->waits || entry->wait_over ||
           (timeline_insert(&station->waits[entry->measured_from], entry) &&
            entry_list_add(&station->waits_new, entry));
}
