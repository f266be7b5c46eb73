// SPDX-License-Identifier: GPL-3.0-or-later
/* The part of a verdict that says what was judged and on what it rests. */
#ifndef PELLET_JUDGE_IDENTITY_H
#define PELLET_JUDGE_IDENTITY_H

#include "pellet/judge.h"

/* Fill everything that follows from the inputs alone, warnings of the caller and the reader included.
 * E_MEMORY. */
pellet_status pellet_verdict_identify(const struct pellet_inputs *inputs, struct pellet_verdict *verdict);
/* One more warning; `text` must live as long as the verdict. E_MEMORY. */
pellet_status pellet_verdict_warn(struct pellet_verdict *verdict, const char *text);

#endif
