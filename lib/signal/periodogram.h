// SPDX-License-Identifier: GPL-3.0-or-later
/* Power at many evenly spaced frequencies of points at any places. */
#ifndef PELLET_SIGNAL_PERIODOGRAM_H
#define PELLET_SIGNAL_PERIODOGRAM_H

#include "pellet/core.h"

/* power[k] at the frequency low + (k + 0.5) step, in cycles per unit of x. Owns power. */
struct signal_periodogram {
    size_t n;
    double low, step;
    double *power;
};

/*
 * Power of y[points] at the places x at n >= 1 frequencies in low..high: the part of its sum of squares that
 * a cosine and a sine explain, halved, so that white noise of variance s2 has the mean s2 (Lomb's
 * normalisation before division by the variance); 0 where cosine and sine cannot be told apart. To some
 * twelve digits of the largest, in a time that grows with points + n log n.
 *
 * Sources: N. R. Lomb, Astrophys. Space Sci. 39, 447 (1976); J. D. Scargle, Astrophys. J. 263, 835 (1982);
 * sums over frequencies by a fast Fourier transform after W. H. Press, G. B. Rybicki, Astrophys. J. 338, 277
 * (1989), with the Gaussian gridding of L. Greengard, J.-Y. Lee, SIAM Review 46, 443 (2004); from memory.
 *
 * Returned:  made  signal_periodogram_clear() it; untouched on error
 * Errors:    E_MEMORY
 */
pellet_status signal_periodogram(const double *x, const double *y, size_t points, double low, double high,
                                 size_t n, struct signal_periodogram *made);
void signal_periodogram_clear(struct signal_periodogram *made);

#endif
