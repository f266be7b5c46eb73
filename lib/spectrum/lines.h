// SPDX-License-Identifier: GPL-3.0-or-later
/* The lines of a text that may end in LF, CR LF or CR. */
#ifndef PELLET_SPECTRUM_LINES_H
#define PELLET_SPECTRUM_LINES_H

#include <stdbool.h>
#include <stddef.h>

struct pellet_lines {
    const char *line; /* the present one, without its end */
    size_t n;
    size_t number; /* counts from 1 */
    bool ended;    /* it had an end of line, so it is whole */

    const char *next, *end;        /* what is still to come */
    const char *next_lf, *next_cr; /* looked up once each, so that the whole text is walked once */
};

void pellet_lines_begin(struct pellet_lines *lines, const char *bytes, size_t n);
/* Go to the next line; false at the end of the text. */
bool pellet_lines_next(struct pellet_lines *lines);

#endif
