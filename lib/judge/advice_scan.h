// SPDX-License-Identifier: GPL-3.0-or-later
/* What is to be measured again, and how: a table of cures. */
#ifndef PELLET_JUDGE_ADVICE_SCAN_H
#define PELLET_JUDGE_ADVICE_SCAN_H

#include "judge/advice_steps.h"
#include "pellet/judge.h"

/* Say what is wrong and what cures it, for a reason whose outcome is rescan or wait; its numbers go into the
 * verdict's advice. */
void pellet_advise_scan(const struct pellet_inputs *inputs, const struct pellet_finding *reason,
                        struct pellet_verdict *verdict, struct advice_steps *steps);

/* Whether this pellet was refused for noise before and more scans did not help. */
bool pellet_noise_stays(const struct pellet_inputs *inputs, const struct pellet_verdict *verdict);

/* Whether there is a pellet to be kept: not where the file cannot be read. */
bool pellet_reason_keeps_pellet(const struct pellet_finding *reason);

#endif
