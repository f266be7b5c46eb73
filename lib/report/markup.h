// SPDX-License-Identifier: GPL-3.0-or-later
/* Small pieces of HTML and SVG that all pages share. */
#ifndef REPORT_MARKUP_H
#define REPORT_MARKUP_H

#include "pellet/judge.h"

/* A string as text or attribute; NULL adds nothing. */
void report_add(struct pellet_text *out, const char *string);
/* The word for people: "pass", "not checked". */
const char *report_outcome_word(enum pellet_outcome outcome);
/* Whether a finding says that something is amiss: note, wait, rescan or remake. */
bool report_amiss(enum pellet_outcome outcome);

#endif
