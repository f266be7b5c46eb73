// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * What is gone and left nothing is forgotten. A station runs for months while spectra are put away, and
 * whoever may write to its folder can make names and delete them for ever. A file that never had a verdict,
 * or whose verdict is gone as well, is found as a new one should it return; one whose verdict is still there
 * stays known, for the record of its session.
 */
#include "station_parts.h"

/* So many may be gone, and as many again as are there: then looking for them costs little for each. */
#define GONE_MAX 1024

static void hold(const struct entry_list *list)
{
    for (size_t i = 0; i < list->n; i++)
        list->item[i]->held = true;
}

static bool left_nothing(const struct station *station, const struct entry *entry)
{
    return !entry->judged || (station->writes && !station_verdict_is_there(station, entry->name));
}

/* Whether it may be forgotten; then it is in none of the orders any more. */
static bool take_leave(void *context, struct entry *entry)
{
    struct station *station = context;
    const bool held = entry->held;
    entry->held = false;
    if (held || entry->present || !left_nothing(station, entry))
        return false;
    station_leave_orders(station, entry);
    return true;
}

void station_forget_gone(struct station *station)
{
    if (!station->options.patient || station->gone < GONE_MAX + station->index.n / 2 ||
        !station_batch_is_done(station) || station->ahead > 0 || station->in_hand)
        return;
    station->gone = 0;
    hold(&station->late);
    hold(&station->timed);
    hold(&station->waits_new);
    entry_index_drop(&station->index, take_leave, station);
}
