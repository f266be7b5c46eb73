// SPDX-License-Identifier: GPL-3.0-or-later
/* Samples that wait for a blank: judged anew when one is there, or told that none will come. */
#include "station_parts.h"

#include <string.h>

static bool blank_is_pending(const struct station *station, pellet_ns until)
{
    const struct timeline *servers = &station->pending.servers;
    for (size_t i = 0; i < servers->n && servers->item[i]->measured <= until; i++) {
        if (servers->item[i]->role == PELLET_BLANK)
            return true;
    }
    return false;
}

static bool wait_is_over(struct station *station, const struct entry *entry)
{
    pellet_ns end =
        entry->measured + (pellet_ns)(station->rules.blank_look_ahead_min * 60 * (double)PELLET_NS_PER_S);
    return station->closed ||
           (pairing_is_over(&station_time_of(station, entry)->all, entry, &station->rules) &&
            !blank_is_pending(station, end));
}

/* Judge one waiting file anew if there is a blank for it now, or if none can come any more. */
static bool look_after(struct station *station, struct entry *entry)
{
    struct pairing pairing;
    if (!station_find_pairing(station, entry, true, &pairing))
        return false;
    bool other = pairing.blank && !station->given_spectra &&
                 (!entry->blank || strcmp(pairing.blank->name, entry->blank) != 0 ||
                  strcmp(pairing.blank->sha256, entry->blank_sha256) != 0);
    bool over = !other && wait_is_over(station, entry);
    if (other || over)
        station_judge_anew(station, entry, true, over);
    return other || over;
}

/* One at a time, as everything is judged. */
static bool can_be_looked_after(const struct station *station, const struct entry *entry)
{
    return station->judging == 0 && entry->stage == ENTRY_DONE && entry->present;
}

static bool still_waits(const struct station *station, const struct entry *entry)
{
    const struct timeline *waits = &station->waits[entry->measured_from];
    const size_t rank = timeline_rank(waits, entry);
    return rank < waits->n && waits->item[rank] == entry;
}

/* Those that began to wait just now: a blank for them may have been there before they were. */
static void look_after_new(struct station *station)
{
    struct entry_list *list = &station->waits_new;
    size_t kept = 0;
    for (size_t i = 0; i < list->n; i++) {
        struct entry *entry = list->item[i];
        if (!still_waits(station, entry))
            continue;
        if (can_be_looked_after(station, entry))
            (void)look_after(station, entry);
        else
            list->item[kept++] = entry;
    }
    list->n = kept;
}

/*
 * In the order of their times: after the first one whose time is not over there is nothing to be done, unless
 * a verdict on a blank may serve any of them. Those that cannot be looked after now are new once more.
 */
static void look_after_all(struct station *station, struct timeline *waits, bool new_server)
{
    for (size_t i = 0; i < waits->n;) {
        struct entry *entry = waits->item[i];
        if (!new_server && !wait_is_over(station, entry))
            return;
        const bool can = can_be_looked_after(station, entry);
        if (!can && new_server && !entry_list_add(&station->waits_new, entry))
            station->new_server = true; /* no memory for the list: all of them once more */
        i += !(can && look_after(station, entry));
    }
}

void station_look_after_waits(struct station *station)
{
    if (station->judging > 0 || station->reading > 0 || station->trouble.on || station->halted ||
        station_in_doubt(station))
        return;
    const bool new_server = station->new_server;
    station->new_server = false;
    look_after_new(station);
    look_after_all(station, &station->waits[0], new_server);
    look_after_all(station, &station->waits[1], new_server);
}

void station_close_session(struct station *station)
{
    station->closed = true;
    station_look_after_waits(station);
}
