// SPDX-License-Identifier: GPL-3.0-or-later
/* Private to judge/: the findings of all checks, and what becomes of them before they are a verdict. */
#ifndef PELLET_JUDGE_FINDINGS_H
#define PELLET_JUDGE_FINDINGS_H

#include "pellet/judge.h"

/* One for each check that applies to the role, in the order of the table of checks. */
struct findings {
    size_t n;
    struct pellet_finding *item; /* owned */
};

/* Run every check. The caller frees out->item, on error as well. E_MEMORY. */
pellet_status findings_make(const struct pellet_measurement *measurement, struct findings *out);

/*
 * Trust first: what rests on a range that is not to be trusted falls silent; then what the rule set requires;
 * then, where nothing more can come, a wait for a blank becomes a rescan. Returns whether this blank is
 * better than the provisional one, which is no fault.
 */
bool findings_settle(const struct pellet_measurement *measurement, struct findings *findings);

/* Whether noise that refuses is no more than a pellet makes that lets too little light through: that of A
 * falls as the light rises, and would be within its limit where opacity is. `opacity` may be NULL. */
bool findings_noise_is_darkness(const struct pellet_finding *noise, const struct pellet_finding *opacity);

/* The worst outcome left. */
enum pellet_outcome findings_worst(const struct findings *findings);

/* Whether a finding, or one of a list, is of this check. */
bool finding_is_of(const struct pellet_finding *finding, const char *check);
const struct pellet_finding *finding_of(const struct pellet_finding *list, size_t count, const char *check);

#endif
