// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Which dips of a spectrum its own bands can feign, so that they say nothing of the blank.
 *
 * By side lobes a band feigns dips within 3 of its widths that is hardly wider than the resolution: the lobes
 * of a Lorentz curve of width w at the resolution r go as exp(-pi w/r).
 *
 * By dispersion in coarse grains (Christiansen) a band takes away scatter beside it: then there is as much
 * scatter as the dip is deep, up to the blank's own haze; and the dip is as far from the band as (1 - s x)/
 * (1 + x^2) of that depth and height has its extremes apart, or as wide as dispersion, which goes as 1/x,
 * makes it at that distance. A dip that takes little of much scatter may come from many bands and from
 * further away. Either must be a band, which stands above the higher of its feet: what stands above the lower
 * one only is the rim of the dip. Where nine tenths of the light are scattered the bands of coarse grains
 * themselves turn over, and a dip that takes less than a third of the scatter is not told.
 *
 * The bands of very coarse grains have nothing left that stands: their dip is then the one side of a slope.
 * Such a dip is odd about its place where a band of the blank is even.
 *
 * Source: the dispersive profile is the definition of `asymmetry`, its extremes and the interferogram of a
 * Lorentz curve are algebra; the shares are judgement.
 */
#ifndef PELLET_CHECKS_FEIGNED_H
#define PELLET_CHECKS_FEIGNED_H

#include "checks/checks.h"

/* Whether a band of the sample near the dip can feign it. `dip`: turned over, its height the depth; `curve`:
 * A on the measurement's grid, whose own shape there overrules dispersion where it is plainly even. */
bool checks_is_beside_band(const struct pellet_measurement *measurement, const double *curve,
                           const struct pellet_band *dip);

/* Whether the dip is a slope of dispersion by its own shape in `curve`. */
bool checks_is_dispersion(const struct pellet_measurement *measurement, const double *curve,
                          const struct pellet_band *dip);

#endif
