// SPDX-License-Identifier: GPL-3.0-or-later
/* Private to judge/: which bands are none, and which points the others cover. */
#ifndef PELLET_JUDGE_MARK_H
#define PELLET_JUDGE_MARK_H

#include "pellet/checks.h"

/*
 * Fills measurement->ripple from the clear range 2700-1900, and drops from the bands what is only a crest of
 * it, and what is as wide as the baseline. Needs absorbance and bands. Errors: E_MEMORY.
 */
pellet_status pellet_ripple_settle(struct pellet_measurement *measurement);
/* Drops what is left of crests, and what is as wide as the baseline, from bands found in A without the
 * ripple. */
void pellet_crests_drop(struct pellet_measurement *measurement);

/*
 * Marks the points that bands cover; in the clear range 2700-1900 also those of narrow bands that point the
 * wrong way. Noise: 1 sigma of A; calm: A without the ripple. Needs baseline, bands and ripple. Errors:
 * E_MEMORY.
 */
pellet_status pellet_bands_mark(struct pellet_measurement *measurement, const double *calm, double noise);

#endif
