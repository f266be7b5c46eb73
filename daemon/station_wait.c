// SPDX-License-Identifier: GPL-3.0-or-later
/* Samples that wait for a blank: judged anew when one is there, or told that none will come. */
#include "station_parts.h"

#include <string.h>

bool station_attempt_in_hand(struct station *station, const struct entry *entry)
{
    const struct timeline *timeline = station_time_of(station, entry);
    for (size_t i = timeline->n; entry->sample && i-- > 0;) {
        const struct entry *other = timeline->item[i];
        if (other->stage == ENTRY_JUDGING && other->sample && strcmp(other->sample, entry->sample) == 0)
            return true;
    }
    return false;
}

static bool blank_is_pending(const struct station *station, pellet_ns until)
{
    for (size_t i = 0; i < station->pending.n && station->pending.item[i]->measured <= until; i++) {
        if (station->pending.item[i]->role == PELLET_BLANK)
            return true;
    }
    return false;
}

static bool wait_is_over(struct station *station, const struct entry *entry)
{
    pellet_ns end =
        entry->measured + (pellet_ns)(station->rules.blank_look_ahead_min * 60 * (double)PELLET_NS_PER_S);
    return station->closed || (pairing_is_over(station_time_of(station, entry), entry, &station->rules) &&
                               !blank_is_pending(station, end));
}

/* Judge one waiting file anew if there is a blank for it now, or if none can come any more. */
static bool look_after(struct station *station, struct entry *entry)
{
    struct pairing pairing;
    station_find_pairing(station, entry, true, &pairing);
    bool other = pairing.blank && !station->given_spectra &&
                 (!entry->blank || strcmp(pairing.blank->name, entry->blank) != 0 ||
                  strcmp(pairing.blank->sha256, entry->blank_sha256) != 0);
    bool over = !other && wait_is_over(station, entry);
    if (other || over)
        station_judge_anew(station, entry, true, over);
    return other || over;
}

void station_look_after_waits(struct station *station)
{
    if (station->servers > 0 || station->reading > 0 || station->trouble.on || station->halted)
        return;
    for (size_t i = 0; i < station->waits.n;) {
        struct entry *entry = station->waits.item[i];
        /* The next attempt at a sample rests on the verdict of the one before. */
        const bool left = entry->stage == ENTRY_DONE && entry->present &&
                          !station_attempt_in_hand(station, entry) && look_after(station, entry);
        i += !left;
    }
}

void station_close_session(struct station *station)
{
    station->closed = true;
    station_look_after_waits(station);
}
