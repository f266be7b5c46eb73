// SPDX-License-Identifier: GPL-3.0-or-later
#include "session.h"

#include "pairing.h"

#include <stdio.h>

static bool belongs(const struct entry *other, const struct entry *entry)
{
    return other != entry && other->session && settings_agree(&other->settings, &entry->settings);
}

void session_find(const struct timeline *timeline, const struct entry *entry, double gap_h,
                  const char *station, const char *zone, const struct entry **like, char id[SESSION_ID_MAX])
{
    const pellet_ns gap = (pellet_ns)(gap_h * 3600.0 * (double)PELLET_NS_PER_S);
    const size_t rank = timeline_rank(timeline, entry);
    const struct entry *near = NULL;
    for (size_t i = rank; !near && i-- > 0 && timeline->item[i]->measured >= entry->measured - gap;) {
        if (belongs(timeline->item[i], entry))
            near = timeline->item[i];
    }
    for (size_t i = rank; !near && i < timeline->n && timeline->item[i]->measured <= entry->measured + gap;
         i++) {
        if (belongs(timeline->item[i], entry))
            near = timeline->item[i];
    }
    *like = near;
    if (near) {
        snprintf(id, SESSION_ID_MAX, "%s", near->session);
        return;
    }
    char local[32];
    if (pellet_time_local(entry->measured, zone, "%Y-%m-%dT%H%M", local, sizeof local) != PELLET_OK)
        snprintf(local, sizeof local, "unknown");
    snprintf(id, SESSION_ID_MAX, "%s-%s", local, station);
}
