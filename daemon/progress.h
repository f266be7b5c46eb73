// SPDX-License-Identifier: GPL-3.0-or-later
/* How far long work has come, on a terminal only: count, rate and time left on one line that is
 * drawn anew. */
#ifndef PELLETD_PROGRESS_H
#define PELLETD_PROGRESS_H

#include "station.h"

/* The zero value shows nothing. */
struct progress {
    bool shown;          /* stderr is a terminal */
    bool drawn;          /* a line stands there */
    int64_t first_ms;    /* when the work began; 0: not yet */
    int64_t counted_ms;  /* when the first was done: from here on the rate is taken */
    size_t counted_from; /* how many were done then */
    int64_t drawn_ms;
};

struct progress progress_begin(void); /* shown where stderr is a terminal */

/* `done` of `total` files have their verdict, `read` have been read; call it as often as you like. */
void progress_tell(struct progress *progress, size_t read, size_t done, size_t total, int64_t now_ms);
/* The same for the files of a station that are asked for. */
void progress_of_station(struct progress *progress, const struct station *station);
/* Wipe the line, before anything else is printed. */
void progress_end(struct progress *progress);

/* "1234 of 5000, 48 a second, 1 min 18 s left": what progress_tell draws. */
void progress_describe(const struct progress *progress, size_t read, size_t done, size_t total,
                       int64_t now_ms, char *out, size_t size);

#endif
