// SPDX-License-Identifier: GPL-3.0-or-later
/* Private to judge/: from findings and measurement to what stands in the verdict. */
#ifndef PELLET_JUDGE_VERDICT_FILL_H
#define PELLET_JUDGE_VERDICT_FILL_H

#include "judge/findings.h"

/* All numbers to "not there". */
void verdict_fill_nothing(struct pellet_verdict *verdict);
/* Checks and reasons from the findings, whose sentences must stand; the worst reasons first. E_MEMORY. */
pellet_status verdict_fill_findings(const struct findings *findings, struct pellet_verdict *verdict);
/* What became of a blank; needs the outcome. */
void verdict_fill_state(struct pellet_verdict *verdict);
/* Bands and numbers of the measurement; needs the checks. E_MEMORY. */
pellet_status verdict_fill_measured(const struct pellet_measurement *measurement,
                                    struct pellet_verdict *verdict);
/* The summary, "too strong: 2.41 A at 1068 cm-1, limit 1.5 A; 1 not checked"; measurement may be NULL. */
pellet_status verdict_fill_summary(const struct pellet_measurement *measurement,
                                   struct pellet_verdict *verdict);

#endif
