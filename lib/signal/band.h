// SPDX-License-Identifier: GPL-3.0-or-later
/* One maximum measured as a band: feet, chord, height, width, position, level top. */
#ifndef PELLET_SIGNAL_BAND_H
#define PELLET_SIGNAL_BAND_H

#include "pellet/signal.h"
#include "signal/prominence.h"

/* The curve in which bands are looked for; borrowed. */
struct signal_curve {
    struct pellet_grid grid;
    const double *y, *smooth, *baseline, *sigma;
    double smooth_share;              /* of sigma, which the smoothing leaves */
    const unsigned char *lower_bound; /* may be NULL */
};

/* False where the maximum has no measurable shape (no foot below it on one side). */
bool signal_band_measure(const struct signal_curve *curve, const struct signal_maximum *maximum,
                         struct pellet_band *band);

#endif
