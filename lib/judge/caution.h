// SPDX-License-Identifier: GPL-3.0-or-later
/* What a verdict warns of beside its reasons. */
#ifndef PELLET_JUDGE_CAUTION_H
#define PELLET_JUDGE_CAUTION_H

#include "pellet/judge.h"

/* Append the cautions that follow from the blank, from what is already found, and from the worksheet's load
 * and die, to the verdict's warnings. E_MEMORY. */
pellet_status pellet_caution(const struct pellet_inputs *inputs, struct pellet_verdict *verdict);

#endif
