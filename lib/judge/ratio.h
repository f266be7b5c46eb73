// SPDX-License-Identifier: GPL-3.0-or-later
/* Dividing two single beams: whether it may be done, their noise, and the ratio. */
#ifndef PELLET_JUDGE_RATIO_H
#define PELLET_JUDGE_RATIO_H

#include "pellet/signal.h"
#include "pellet/spectrum.h"

/* The reference has light where it is this many times its own noise (design: numbers). */
#define PELLET_USABLE_SIGMA 10.0
/* Below this many standard deviations a transmittance only bounds the absorbance. */
#define PELLET_BOUND_SIGMA 3.0
/* Spacings further apart than this fraction are another measurement, not another grid. */
#define PELLET_SPACING_TOLERANCE 0.01

/*
 * Whether two spectra must not be divided: a setting that both state differs, or their spacings differ by
 * more than 1 %. The resolution is compared as stated and never inferred from the spacing, which zero-filling
 * changes. Returned: true and the cause in `why`, or false and "".
 */
bool pellet_ratio_conflict(const struct pellet_spectrum *subject, const struct pellet_spectrum *reference,
                           char *why, size_t size);

/*
 * Standard deviation of one point of a single beam (its own units), from the clear windows 2200-2000 and
 * 2700-2500: the smaller of the two, because a band can only add to it. NaN where neither window is covered.
 * E_MEMORY.
 */
pellet_status pellet_beam_noise(struct pellet_grid grid, const double *beam, double *sigma);

#endif
