// SPDX-License-Identifier: GPL-3.0-or-later
/* What to do to the next pellet: numbers, and one instruction in the order of work. */
#ifndef PELLET_JUDGE_ADVICE_H
#define PELLET_JUDGE_ADVICE_H

#include "pellet/judge.h"

/*
 * Fill advice and instruction (and the found true absorbance) of a verdict whose outcome, reasons and checks
 * stand. measurement is NULL where nothing could be measured. Errors: E_MEMORY.
 */
pellet_status pellet_advise(const struct pellet_inputs *inputs, const struct pellet_measurement *measurement,
                            struct pellet_verdict *verdict);

#endif
