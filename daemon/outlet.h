// SPDX-License-Identifier: GPL-3.0-or-later
/* Lines for somebody who may not read them: a stopped terminal, a pager, a pipe that nobody empties. */
#ifndef PELLETD_OUTLET_H
#define PELLETD_OUTLET_H

#include <stdbool.h>
#include <stddef.h>

#define OUTLET_WAIT_MS 1000 /* for a reader that is slow, before a line is given up */

/* Descriptors 0, 1 and 2 that were closed when we were started become ones that cannot be read or written, so
 * that no file of ours gets their number, and with it what is meant for people. */
void outlet_reserve(void);

/*
 * From now on a write to `fd` (a pipe or a terminal; all else stays as it is) waits for nobody. The others
 * that write to the same pipe or terminal notice nothing. Where that cannot be had, writes wait as before.
 */
void outlet_never_block(int fd);

/*
 * Write all bytes. Where outlet_never_block holds, wait no longer than `wait_ms` for room; else as long as it
 * takes. One call is one write where there is room at once, so that threads do not mix their lines.
 *
 * Returned:  whether they were written; false: nobody reads them, and some or all are left out
 */
bool outlet_write(int fd, const char *bytes, size_t n, int wait_ms);

#endif
