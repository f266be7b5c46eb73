// SPDX-License-Identifier: GPL-3.0-or-later
/* The shape of a band while it is measured, and its top: where, and how high. */
#ifndef PELLET_SIGNAL_TOP_H
#define PELLET_SIGNAL_TOP_H

#include "signal/band.h"

/* Everything known of one band while it is measured. */
struct signal_shape {
    size_t top, left, right;    /* indices: the maximum and the feet */
    double left_level, slope;   /* the chord */
    double height;              /* of the maximum above the chord */
    double low_half, high_half; /* wavenumbers at half height */
};

/* The chord between the feet at point i, A. */
double signal_chord_at(const struct signal_curve *curve, const struct signal_shape *shape, size_t i);

/* The points around the top that lie above `share` of the height, at least one on each side of it. */
void signal_upper_part(const struct signal_curve *curve, const struct signal_shape *shape, double share,
                       size_t *first, size_t *last);

/* Set the band's place, height and top, finer than the spacing; top.c says how. */
void signal_top_fit(const struct signal_curve *curve, const struct signal_shape *shape,
                    struct pellet_band *band);

#endif
