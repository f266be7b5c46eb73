// SPDX-License-Identifier: GPL-3.0-or-later
/* Sessions: which run of spectra a file belongs to. Pure. */
#ifndef PELLETD_SESSION_H
#define PELLETD_SESSION_H

#include "entry.h"

#define SESSION_ID_MAX 96

/*
 * The session of `entry`: that of the nearest earlier file within `gap_h` under the same settings; else that
 * of the nearest later one, for a file that turned up late; else a new one, "2026-03-04T0900-bench-1", called
 * after the local time of its first file.
 *
 * Given:     timeline  entries of the same kind of time; those without a session are passed over
 * Returned:  like      the file whose session it is, NULL for a new one
 */
void session_find(const struct timeline *timeline, const struct entry *entry, double gap_h,
                  const char *station, const char *zone, const struct entry **like, char id[SESSION_ID_MAX]);

#endif
