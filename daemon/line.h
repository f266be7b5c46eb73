// SPDX-License-Identifier: GPL-3.0-or-later
/* A verdict as one line for people and pipes. */
#ifndef PELLETD_LINE_H
#define PELLETD_LINE_H

#include "pellet/judge.h"

struct line_style {
    bool aligned; /* columns padded with blanks; else separated by tabs, for cut */
    bool colour;  /* besides the word, never instead of it */
    bool json;
};

/* How to print to a descriptor: aligned on terminals and in the journal, coloured on terminals that
 * like it. */
struct line_style line_style_for(int fd, bool json);

/* verdict, file, why, what to do; ends with a line end. Names are shown with \xNN for what cannot be. */
pellet_status line_of_verdict(const struct pellet_verdict *verdict, const struct line_style *style,
                              struct pellet_text *out);

#endif
