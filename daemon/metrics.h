// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Numbers for a monitoring system, in the Prometheus text exposition format 0.0.4, as a file that a collector
 * reads. Counters start at 0 with the program. There is no label for a sample or a file: the number of series
 * depends on the number of stations alone. Safe to use from several threads.
 */
#ifndef PELLETD_METRICS_H
#define PELLETD_METRICS_H

#include "pellet/judge.h"

struct metrics;

struct metrics *metrics_new(void);          /* NULL: no memory */
void metrics_free(struct metrics *metrics); /* NULL allowed */

/*
 * A verdict was given or, with `fresh` false, found.
 *
 * Given:  seconds  from the file being ready to the verdict; NaN where it was judged anew for another reason
 */
void metrics_verdict(struct metrics *metrics, const char *station, const struct pellet_verdict *verdict,
                     bool fresh, double seconds);
/* How a station is: whether its folder is watched, and how many files are to be read or judged. */
void metrics_station(struct metrics *metrics, const char *station, bool watching, size_t queue);
/* Whether anything changed since the last metrics_print. */
bool metrics_changed(struct metrics *metrics);
/* Append all of it; `now` says when. */
void metrics_print(struct metrics *metrics, pellet_ns now, struct pellet_text *out);
/* Write it to a file, whole or not at all. */
pellet_status metrics_write(struct metrics *metrics, const char *path, struct pellet_error *error);

#endif
