// SPDX-License-Identifier: GPL-3.0-or-later
/* One quadratic plus up to two sinusoids in a window: what noise and ripple share. */
#ifndef PELLET_SIGNAL_WAVE_H
#define PELLET_SIGNAL_WAVE_H

#include "pellet/signal.h"

#define SIGNAL_SINUSOIDS_MAX 2
#define SIGNAL_WAVE_TERMS    (3 + 2 * SIGNAL_SINUSOIDS_MAX)

/*
 * The usable points of a window and what is fitted to them. x is wavenumber less `centre`, in units of
 * `scale`, so that it runs from -1 to 1. Owns x, y, rest and row.
 */
struct signal_wave {
    size_t n, all; /* points in use, and points of the window */
    double centre, scale;
    double *x, *y, *rest;
    double (*row)[SIGNAL_WAVE_TERMS];       /* at each point: 1, x, x^2, then cos, sin of each sinusoid */
    size_t count;                           /* sinusoids fitted */
    double frequency[SIGNAL_SINUSOIDS_MAX]; /* cycles per cm-1 */
    double in_row[SIGNAL_SINUSOIDS_MAX];    /* the frequencies that the rows hold; 0 for none */
    double coefficient[SIGNAL_WAVE_TERMS];  /* of the terms of a row */
    double ssr;
};

/* Errors: E_RANGE (no such window), E_SHORT (fewer than `least` usable points, or below 80 %), E_MEMORY. */
pellet_status signal_wave_start(struct pellet_grid grid, const double *y, double low, double high,
                                size_t least, struct signal_wave *wave);
void signal_wave_clear(struct signal_wave *wave);
/* Fit quadratic and the sinusoids at their present frequencies: coefficient, rest and ssr follow. */
pellet_status signal_wave_fit(struct signal_wave *wave);
/*
 * Look for one more sinusoid in what is left, with a frequency (cycles per cm-1) in low..high, and refine its
 * frequency by least squares. `significance` is its power over the mean power of the noise about it: the
 * chance that noise alone gives more than s at one frequency is near exp(-s). When the chance of a false
 * alarm in the whole search is above SIGNAL_FALSE_ALARM, *found is false and the wave is as before.
 */
#define SIGNAL_FALSE_ALARM 0.001
pellet_status signal_wave_add(struct signal_wave *wave, double low, double high, bool *found,
                              double *significance);
/*
 * Leave out the points that stand further off the fit than noise does: feet of bands, dips. The deviation
 * comes from the median, which a band on less than half of the window does not carry. Fits anew until nothing
 * more stands out; at least half of the window stays. Errors: E_SHORT, E_FIT, E_MEMORY.
 */
pellet_status signal_wave_trim(struct signal_wave *wave);
/* Lag-1 correlation of rest. */
double signal_wave_correlation(const struct signal_wave *wave);
/*
 * How many points vary together: the sum of the correlations over all lags, which is the share of the noise's
 * power at low frequencies. 1 for white noise (and never less), about z for noise whose spectrum is flat up
 * to 1/z of the highest frequency, as zero-filling z times leaves it. So many degrees of freedom does one
 * number take that is fitted to slow structure. Source: M. S. Bartlett, Biometrika 37, 1 (1950), from memory,
 * for the weights that fall with the lag.
 */
double signal_wave_alike(const struct signal_wave *wave);

#endif
