// SPDX-License-Identifier: GPL-3.0-or-later
/* What grinding does to the strength of the bands, and what to weigh out in view of it. */
#ifndef PELLET_JUDGE_ADVICE_GRIND_H
#define PELLET_JUDGE_ADVICE_GRIND_H

#include "judge/advice_diagnosis.h"

/* By how much the strongest band grows at the same dose. The grains are fine already, and it hardly grows, or
 * they are coarse; what clouds a pellet may be either. */
struct pellet_gains {
    double fine;          /* the probability that they are fine, 0..1 */
    double factor, sigma; /* if not: the gain, and 1 sigma of its logarithm */
};

/*
 * Given:     diagnosis  whose skew is what the grains show of themselves
 *            mg_cm2     sample in the beam; NaN where nobody weighed it
 *            height     A of the strongest band, > 0
 * Method:    Inside a grain a strong band saturates. By anomalous diffraction a sphere of radius r takes
 *            2 K(w) of the light on it, K(w) = 1/2 + exp(-w)/w + (exp(-w) - 1)/w^2, w = 2 alpha r, where fine
 *            grains of the same mass would take 2 w/3: the band gains w / 3 K(w). alpha is that of a compound
 *            with its target at the usual doses, 0.4 to 1.5 mg/cm2; r from 2.5 um, where grains are no longer
 *            small against the wavelength, to 12 um: 1.3 to 8.5 times, nine in ten. What was weighed tells
 *            more: fine grains bring a band to the target at a usual dose, coarse ones need more of it.
 * Source:    H. C. van de Hulst, Light Scattering by Small Particles (1957), chapter 11, from memory; bands
 *            weaken as grains grow: G. Duyckaerts, Analyst 84, 201 (1959), from memory; the doses: 21 CFR
 *            436.211, Dent; the density of organic solids, about 1.3 g/cm3: common knowledge. How likely the
 *            grains are fine beforehand: judgement, no source.
 */
struct pellet_gains pellet_grind_gains(const struct pellet_diagnosis *diagnosis, double mg_cm2,
                                       double height);

/* The height, as the grains are now, at which the ground pellet most likely ends within the window. */
double pellet_grind_aim(const struct pellet_gains *gains, struct pellet_limit window);

#endif
