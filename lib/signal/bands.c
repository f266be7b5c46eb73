// SPDX-License-Identifier: GPL-3.0-or-later
#include "pellet/signal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "signal/band.h"
#include "signal/least.h"
#include "signal/prominence.h"

/* Width of the smoothing before maxima are looked for: less than nearly every band of a solid. */
static const double DETECTION_WIDTH = 5;
/* A maximum counts when it stands out by this many sigma of the smoothed curve. Over some thousand points the
 * highest and lowest of pure noise are 8 sigma apart, but hardly ever within a few points of each other. */
static const double PROMINENCE_SIGMA = 8;
/* Points of one stretch in which the noise is looked at. */
static const size_t QUIET_POINTS = 96;
/* and by this share of its own height above the baseline: a shoulder's ripple is no second band. */
static const double PROMINENCE_SHARE = 0.015;
/* and by this much (A), where the noise is said to be nil: the last digit of files. */
static const double PROMINENCE_MIN = 5e-5;

/* Rms about a straight line of y over the points first..last - 1, all usable; NaN where some are not. */
static double rms_about_line(struct pellet_grid grid, const double *y, size_t first, size_t last)
{
    struct signal_least sums;
    double line[2], ssr;

    signal_least_start(&sums, 2);
    for (size_t i = first; i < last; i++) {
        const double row[2] = {1, grid.wavenumber[i] - grid.wavenumber[first]};

        if (isnan(y[i]))
            return NAN;
        signal_least_add(&sums, row, y[i] - y[first], 1);
    }
    if (signal_least_solve(&sums, line, NULL, &ssr) != PELLET_OK)
        return NAN;
    return sqrt(ssr / (double)(last - first - 2));
}

/* What one stretch of QUIET_POINTS points is like before and after the smoothing. */
struct stretch {
    double raw, smooth;
};

static int quietest_first(const void *a, const void *b)
{
    const struct stretch *x = a, *y = b;

    return (x->raw > y->raw) - (x->raw < y->raw);
}

/*
 * How much the detection smoothing lowers the noise, seen in the quietest fifth of the curve, where no band
 * stands: white noise comes down much, noise that is correlated, as after zero filling, hardly.
 */
static pellet_status smoothed_share(const struct signal_curve *curve, double *share)
{
    const size_t all = curve->grid.n / QUIET_POINTS;
    struct stretch *stretch;
    size_t n = 0;
    double raw = 0, smooth = 0;

    *share = 1;
    if (all == 0)
        return PELLET_OK;
    stretch = malloc(all * sizeof *stretch);
    if (stretch == NULL)
        return PELLET_E_MEMORY;
    for (size_t k = 0; k < all; k++) {
        const size_t first = k * QUIET_POINTS, last = first + QUIET_POINTS;

        stretch[n].raw = rms_about_line(curve->grid, curve->y, first, last);
        stretch[n].smooth = rms_about_line(curve->grid, curve->smooth, first, last);
        if (stretch[n].raw > 0 && stretch[n].smooth >= 0) /* false for NaN */
            n++;
    }
    qsort(stretch, n, sizeof *stretch, quietest_first);
    for (size_t k = 0; k < (n + 4) / 5; k++) {
        raw += stretch[k].raw * stretch[k].raw;
        smooth += stretch[k].smooth * stretch[k].smooth;
    }
    if (raw > 0)
        *share = fmin(sqrt(smooth / raw), 1);
    free(stretch);
    return PELLET_OK;
}

static int strongest_first(const void *a, const void *b)
{
    const struct pellet_band *x = a, *y = b;

    if (x->height != y->height)
        return x->height < y->height ? 1 : -1;
    return (x->at_cm1 > y->at_cm1) - (x->at_cm1 < y->at_cm1);
}

/* What a maximum at index i must stand out by. */
static double needed(const struct signal_curve *curve, size_t i)
{
    const double above = curve->smooth[i] - curve->baseline[i];

    return fmax(fmax(PROMINENCE_SIGMA * curve->smooth_share * curve->sigma[i], PROMINENCE_SHARE * above),
                PROMINENCE_MIN);
}

static pellet_status collect(const struct signal_curve *curve, struct pellet_band **band, size_t *count)
{
    struct signal_maximum *maximum = NULL;
    struct pellet_band *list = NULL;
    size_t maxima = 0, found = 0;
    pellet_status status = signal_maxima(curve->smooth, curve->grid.n, &maximum, &maxima);

    if (status != PELLET_OK)
        return status;
    if (maxima > 0) {
        list = malloc(maxima * sizeof *list);
        if (list == NULL) {
            free(maximum);
            return PELLET_E_MEMORY;
        }
    }
    for (size_t k = 0; k < maxima; k++) {
        const double least = needed(curve, maximum[k].at);

        if (maximum[k].prominence >= least && signal_band_measure(curve, &maximum[k], &list[found]) &&
            list[found].height >= least)
            found++;
    }
    free(maximum);
    if (found > 0) {
        qsort(list, found, sizeof *list, strongest_first);
    } else {
        free(list);
        list = NULL;
    }
    *band = list;
    *count = found;
    return PELLET_OK;
}

pellet_status pellet_bands_find_sigma(struct pellet_grid grid, const double *absorbance,
                                      const double *baseline, const double *sigma,
                                      const unsigned char *lower_bound, struct pellet_band **band,
                                      size_t *count)
{
    struct signal_curve curve = {
        .grid = grid, .y = absorbance, .baseline = baseline, .sigma = sigma, .lower_bound = lower_bound};
    double *smooth;
    pellet_status status;

    if (grid.n < 3)
        return PELLET_E_SHORT;
    smooth = malloc(grid.n * sizeof *smooth);
    if (smooth == NULL)
        return PELLET_E_MEMORY;
    curve.smooth = smooth;
    status = pellet_smooth_quadratic(grid, absorbance, DETECTION_WIDTH, smooth);
    if (status == PELLET_OK)
        status = smoothed_share(&curve, &curve.smooth_share);
    if (status == PELLET_OK)
        status = collect(&curve, band, count);
    free(smooth);
    return status;
}

/*
 * The noise of each point from that of one clear point: the noise is one of T, so that in A it grows as 10^A
 * above the level where it was measured, taken as the median of the baseline.
 */
static pellet_status spread_noise(struct pellet_grid grid, const double *absorbance, const double *baseline,
                                  double noise, double *sigma)
{
    double level = 0;
    size_t n = 0;

    for (size_t i = 0; i < grid.n; i++) {
        if (!isnan(baseline[i]) && !isnan(absorbance[i]))
            sigma[n++] = baseline[i];
    }
    if (n > 0)
        level = signal_median(sigma, n);
    for (size_t i = 0; i < grid.n; i++) {
        const double above = isnan(absorbance[i]) ? 0 : fmax(absorbance[i] - level, 0);

        sigma[i] = (isfinite(noise) ? noise : 0) * pow(10, fmin(above, 6));
    }
    return PELLET_OK;
}

pellet_status pellet_bands_find(struct pellet_grid grid, const double *absorbance, const double *baseline,
                                double noise, const unsigned char *lower_bound, struct pellet_band **band,
                                size_t *count)
{
    double *sigma;
    pellet_status status;

    if (grid.n < 3)
        return PELLET_E_SHORT;
    sigma = malloc(grid.n * sizeof *sigma);
    if (sigma == NULL)
        return PELLET_E_MEMORY;
    status = spread_noise(grid, absorbance, baseline, noise, sigma);
    if (status == PELLET_OK)
        status = pellet_bands_find_sigma(grid, absorbance, baseline, sigma, lower_bound, band, count);
    free(sigma);
    return status;
}
