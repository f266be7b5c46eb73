// SPDX-License-Identifier: GPL-3.0-or-later
/* What the files of a watched station share among themselves. */
#ifndef PELLETD_STATION_WATCH_PARTS_H
#define PELLETD_STATION_WATCH_PARTS_H

#include "station_watch.h"

/* ---------------------------------------------------------------- telling (station_watch_tell.c) */

void watch_set_mood(struct station_watch *watch, enum station_mood mood);
void watch_set_backlog(struct station_watch *watch, const struct station *station);
/* For station_options. */
void watch_on_verdict(void *context, struct entry *entry, const struct pellet_verdict *verdict, bool fresh);
void watch_on_moved(void *context, const struct entry *entry);

/* -------------------------------------------------------------- while it is here (station_watch_folder.c) */

/* Watch an open station's folder until the thread is to stop (true), or the folder is not where it was
 * (false). */
bool watch_folder(struct station_watch *watch, struct station *station);

#endif
