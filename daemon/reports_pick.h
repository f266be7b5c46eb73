// SPDX-License-Identifier: GPL-3.0-or-later
/* Which verdicts of a station go into a page. On the station's thread; it reads no file. */
#ifndef PELLETD_REPORTS_PICK_H
#define PELLETD_REPORTS_PICK_H

#include "reports_record.h"
#include "station.h"

/*
 * The job that writes the record of a session, with all its verdicts in the order of measured time. `basis`
 * is the SHA-256 of what the record rests on: each file's name, content, verdict and time of judging, whether
 * the spectrum is gone, and its row of the worksheet. A session of which no spectrum is left was moved to an
 * archive, and its record stays as it is. NULL: no memory.
 */
struct report_job *report_pick_record(const struct station *station, const char *session);

/*
 * The job that writes the page at the bench: only the newest verdicts, those that wait and the blanks in use,
 * so that its cost does not grow with the session. NULL: no memory.
 *
 * Given:   session[n]  the sessions that are going on, the newest first: a change of settings or a file
 *                      without a time of its own begins another, but for the person at the bench it is one
 *                      morning; n is 0 where nothing was judged yet
 */
struct report_job *report_pick_bench(const struct station *station, const char *const *session, size_t n);

#endif
