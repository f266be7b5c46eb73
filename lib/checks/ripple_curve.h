// SPDX-License-Identifier: GPL-3.0-or-later
/* The band-free points of a window, in which a ripple can be sought, and what they hold of one wave. */
#ifndef PELLET_CHECKS_RIPPLE_CURVE_H
#define PELLET_CHECKS_RIPPLE_CURVE_H

#include "checks/checks.h"

#include <complex.h>

/* cm-1: a pellet of 0.043 mm; longer waves are not fringes of a pellet. */
#define CHECKS_RIPPLE_PERIOD_HIGH 75.0

struct checks_ripple_curve {
    size_t n;
    double *x, *y; /* cm-1, A; one piece of memory, owned */
};

/*
 * The points of y, on the grid of the measurement, that carry no band, no gas and some light. Closed by the
 * caller whatever is returned. Errors: E_SHORT where bands or gaps fill too much of the window, E_MEMORY.
 */
pellet_status checks_ripple_curve_open(const struct pellet_measurement *measurement, const double *y,
                                       struct pellet_limit window, struct checks_ripple_curve *curve);
void checks_ripple_curve_close(struct checks_ripple_curve *curve);

/*
 * The wave of one frequency in low..high, as a complex amplitude; NaN where it cannot be told. It is fitted
 * together with whatever is slower than any fringe: the curve of a beam and the wings of bands would leak
 * into it through the gaps that bands and carbon dioxide leave.
 */
double complex checks_ripple_wave(const struct checks_ripple_curve *curve, double low, double high,
                                  double period_cm1);

/*
 * The ripple of the measurement at any wavenumber, in A; 0 where none was found. It was fitted in a window;
 * beyond it the phase follows the optical path 2 d nu n(nu) of KBr, whose dispersion is known, so that a
 * thickness that is right to a thousandth is still in step a thousand cm-1 away. The height is taken as that
 * of the window: rough faces make it a few per cent higher towards low wavenumbers. A ripple that is the
 * instrument's follows another law, and goes out of step beyond the window.
 */
double checks_ripple_at(const struct pellet_ripple *ripple, double wavenumber);
/* A without it, n points; the caller frees. NULL where memory ran out. */
double *checks_without_ripple(const struct pellet_measurement *measurement);
/* Whether a band may be what taking the ripple out left of a crest, or a dip of a trough: half of its height
 * where it was fitted, since two ripples beat; all of it elsewhere, since the instrument's is out of step. */
bool checks_is_rest_of_crest(const struct pellet_ripple *ripple, const struct pellet_band *band);

#endif
