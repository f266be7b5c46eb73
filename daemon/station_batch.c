// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * What is dealt with together. Reading goes before judging, and judging in the order of measured time; so
 * whoever went on writing to the folder could keep the others waiting for ever, with large files that are
 * read again and again, with ever older spectra, or with a worksheet that never rests. Therefore what comes
 * LATE_MS after the first of a batch waits until all of the batch is done. What could not be looked at
 * meanwhile, or was short of memory, belongs to it all the same: for as long as a doubt may last and LATE_MS
 * more. What is there when the station starts is one batch, however long it takes to find it.
 */
#include "station_parts.h"

#define LATE_MS 10000

/* Doubts that come again do not move it: the first one counts until all is done. */
static int64_t late_from_ms(const struct station *station)
{
    const int64_t doubted_ms = station->doubt_ms > 0 ? station->doubt_ms + DOUBT_MAX_MS : 0;
    return (doubted_ms > station->batch_ms ? doubted_ms : station->batch_ms) + LATE_MS;
}

bool station_is_late(const struct station *station)
{
    return station->options.patient && station->batch_ms > 0 && clock_monotonic_ms() >= late_from_ms(station);
}

bool station_join_batch(struct station *station, struct entry *entry)
{
    if (station_is_late(station) && !entry->needed && !station->starting)
        return entry_list_add(&station->late, entry);
    if (station->batch_ms == 0)
        station->batch_ms = clock_monotonic_ms();
    return entry_list_add(&station->ready, entry);
}

void station_take_needed(struct station *station, struct entry *entry)
{
    entry->needed = true;
    if (entry->stage == ENTRY_READY && entry_list_has(&station->late, entry)) {
        entry_list_remove(&station->late, entry);
        entry->stage = ENTRY_SEEN;
    }
    station_take(station, entry);
}

bool station_batch_is_done(const struct station *station)
{
    return station->reading == 0 && station->judging == 0 && station->ready.n == 0 &&
           station->pending.all.n == 0;
}

void station_next_batch(struct station *station)
{
    struct entry_list late = station->late;
    if (!station_batch_is_done(station))
        return;
    station->start_is_done = station->start_is_done || station->batch_ms > 0;
    station->batch_ms = 0;
    station_forget_gone(station);
    if (station->sheet_late)
        station_read_worksheet(station);
    if (late.n == 0)
        return;
    station->late = station->ready;
    station->ready = late;
    station->batch_ms = clock_monotonic_ms();
}
