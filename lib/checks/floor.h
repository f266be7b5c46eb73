// SPDX-License-Identifier: GPL-3.0-or-later
/* Where the light of a spectrum ends: its darkest place, and the floor that opaque bands share. */
#ifndef PELLET_CHECKS_FLOOR_H
#define PELLET_CHECKS_FLOOR_H

#include "checks/checks.h"

/*
 * The T that light past the pellet adds to: against the open beam where that is known. Against a blank the
 * same leak reads higher wherever the blank itself is darker. NULL where there is no ratio.
 */
const double *checks_light(const struct pellet_measurement *measurement);

/* Mean of a point and its neighbours: the floor of a band is not one point's luck. NaN beside NaN. */
double checks_three_points(const double *t, size_t i);

/*
 * The darkest place of first..last by the mean of three points; n where there is none. The room's carbon
 * dioxide darkens stray light too and does not count.
 */
size_t checks_darkest(const struct pellet_measurement *measurement, size_t first, size_t last);

/*
 * The T of the darkest flat floor and the place of its band, where enough other flat floors share it and
 * nothing is darker; false where it is not so. The outputs mean nothing then.
 *
 * Method:    a floor is flat as far as the run in which T keeps within a tenth of its least is wider than in
 *            a pointed band, against the floor's walls or against the whole band. What the floors that agree
 *            exceed that by, and how close the two darkest are together, is weighed.
 * Limits:    two unresolved bands make one flat floor at times, but seldom several at one level. Bands that
 *            are cut off but not opaque end a little above the level; a fifth above it they count no more.
 * Source:    Gauss and Lorentz curves, and the parabola that is the top of either, are algebra; the shares
 *            are judgement.
 */
bool checks_common_floor(const struct pellet_measurement *measurement, double *t, double *at_cm1);

#endif
