// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/ripple_curve.h"

#include "checks/view.h"
#include "pellet/reference.h"

#include <math.h>
#include <stdlib.h>

#define FRINGE_HIGHEST 0.08   /* A: perfect faces of KBr make 0.077 */
#define BEND_MOST      0.0025 /* A: half of what a ripple near its limit may be off by */
#define FREE_LEAST     0.4    /* of the points of the window: fewer hold more gap than ripple */
#define BROAD          225.0  /* cm-1: three of the longest waves */
/* A sine is 2.8 times as high as the median of its distance from its mean, two that beat are five times as
 * high (algebra), and noise adds little to either. */
#define FRINGE_SPREADS 6.0

#define STANDING_SHARE 0.5 /* of its height above its feet a band stands above the baseline */

#define REST_SHARE 0.5 /* of a crest that taking the ripple out may leave where it was fitted */

/* Whether a band of the list may be a fringe: the band finder knows no difference. */
static bool may_be_fringe(const struct pellet_band *band, double highest)
{
    return band->height <= highest && band->width_cm1 <= 0.5 * CHECKS_RIPPLE_PERIOD_HIGH;
}

/*
 * Whether a band is so low and broad that over the longest wave it is a straight line but for BEND_MOST: by
 * its curvature at the top, ln 2 h (P/w)^2 of a Gauss curve between the ends of P and its middle. Such a band
 * is what a ripple rides on; hiding it would hide the ripple.
 */
static bool is_smooth(const struct pellet_band *band)
{
    const double share = CHECKS_RIPPLE_PERIOD_HIGH / band->width_cm1;

    return share < 1.0 && M_LN2 * band->height * share * share <= BEND_MOST;
}

/*
 * Whether a band stands above the baseline. What only stands above its feet is the ground beside a dip, that
 * of carbon dioxide which the reference saw more of, and carries fringes as all ground does.
 */
static bool stands(const struct pellet_measurement *measurement, const struct pellet_band *band)
{
    const double baseline =
        pellet_grid_at(pellet_measurement_grid(measurement), measurement->baseline, band->at_cm1);

    return !(band->top - baseline < STANDING_SHARE * band->height);
}

/*
 * Points that carry a band, whatever it is, that is no fringe: to its feet, but no further than two widths.
 * Of a band much broader than any ripple only the top: its wing is no ripple's, and the quadratic takes it
 * out.
 */
static void hide_bands(const struct pellet_measurement *measurement, double highest, unsigned char *hidden)
{
    for (size_t b = 0; b < measurement->band_count; b++) {
        const struct pellet_band *band = &measurement->band[b];
        const double reach = (band->width_cm1 > BROAD ? 0.75 : 2.0) * band->width_cm1;
        size_t first, last;
        if (may_be_fringe(band, highest) || is_smooth(band) || !stands(measurement, band))
            continue;
        pellet_grid_window(pellet_measurement_grid(measurement), fmax(band->low_cm1, band->at_cm1 - reach),
                           fmin(band->high_cm1, band->at_cm1 + reach), &first, &last);
        for (size_t i = first; i < last; i++)
            hidden[i] = 1;
    }
}

/* The band-free points of the window as a curve of their own, on `x`; their number. */
static size_t free_points(const struct pellet_measurement *measurement, const double *y,
                          const unsigned char *hidden, struct pellet_limit window, double *x, double *free_y)
{
    const unsigned unfit =
        PELLET_POINT_CO2 | PELLET_POINT_VAPOUR | PELLET_POINT_UNUSABLE | PELLET_POINT_LOWER_BOUND;
    size_t first, last, n = 0;

    pellet_grid_window(pellet_measurement_grid(measurement), window.low, window.high, &first, &last);
    for (size_t i = first; i < last; i++) {
        if (hidden[i] || (measurement->mark[i] & unfit) || !isfinite(y[i]))
            continue;
        x[n] = measurement->wavenumber[i];
        free_y[n++] = y[i];
    }
    return (double)n >= FREE_LEAST * (double)(last - first) ? n : 0;
}

static int rising(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/*
 * The highest that a fringe among these points can be: fringes go on and on, so that half of the points are
 * as far from the mean as the middle of a wave is, and a band that stands much higher is none.
 */
static pellet_status highest_fringe(const struct checks_ripple_curve *curve, double *highest)
{
    double *away = malloc(curve->n * sizeof *away);
    pellet_status status =
        away != NULL ? pellet_smooth_boxcar((struct pellet_grid){curve->n, curve->x}, curve->y, BROAD, away)
                     : PELLET_E_MEMORY;

    if (status == PELLET_OK) {
        for (size_t i = 0; i < curve->n; i++)
            away[i] = fabs(curve->y[i] - away[i]);
        qsort(away, curve->n, sizeof *away, rising);
        *highest = FRINGE_SPREADS * away[curve->n / 2];
    }
    free(away);
    return status;
}

void checks_ripple_curve_close(struct checks_ripple_curve *curve)
{
    free(curve->x);
    *curve = (struct checks_ripple_curve){0};
}

/* The points without bands, where what is no higher than `highest` may be a fringe. */
static pellet_status take_points(const struct pellet_measurement *measurement, const double *y,
                                 struct pellet_limit window, double highest,
                                 struct checks_ripple_curve *curve)
{
    unsigned char *hidden = calloc(measurement->n, 1);

    if (hidden == NULL)
        return PELLET_E_MEMORY;
    hide_bands(measurement, highest, hidden);
    curve->n = free_points(measurement, y, hidden, window, curve->x, curve->y);
    free(hidden);
    return curve->n > 0 ? PELLET_OK : PELLET_E_SHORT;
}

/*
 * First all that perfect faces can make is taken for fringes; they tell how high these can be, and what is
 * higher goes as well, unless too little would be left.
 */
static pellet_status fill(const struct pellet_measurement *measurement, const double *y,
                          struct pellet_limit window, struct checks_ripple_curve *curve)
{
    double highest = FRINGE_HIGHEST;
    pellet_status status = take_points(measurement, y, window, FRINGE_HIGHEST, curve);

    if (status == PELLET_OK)
        status = highest_fringe(curve, &highest);
    if (status != PELLET_OK || !(highest < FRINGE_HIGHEST))
        return status;
    status = take_points(measurement, y, window, highest, curve);
    return status == PELLET_E_SHORT ? take_points(measurement, y, window, FRINGE_HIGHEST, curve) : status;
}

pellet_status checks_ripple_curve_open(const struct pellet_measurement *measurement, const double *y,
                                       struct pellet_limit window, struct checks_ripple_curve *curve)
{
    *curve = (struct checks_ripple_curve){.x = malloc(2 * measurement->n * sizeof *curve->x)};
    if (curve->x == NULL)
        return PELLET_E_MEMORY;
    curve->y = curve->x + measurement->n;
    return fill(measurement, y, window, curve);
}

double complex checks_ripple_wave(const struct checks_ripple_curve *curve, double low, double high,
                                  double period_cm1)
{
    double cosine, sine;
    const pellet_status status =
        pellet_ripple_wave((struct pellet_grid){curve->n, curve->x}, curve->y, low, high, period_cm1,
                           CHECKS_RIPPLE_PERIOD_HIGH, &cosine, &sine);

    return status == PELLET_OK ? cosine - sine * I : NAN;
}

double checks_ripple_at(const struct pellet_ripple *ripple, double wavenumber)
{
    const double middle = 0.5 * (ripple->low_cm1 + ripple->high_cm1);

    if (!(ripple->amplitude > 0.0))
        return 0.0;
    /* One wave for each period in the middle, where the group index counts. */
    const double path = 1.0 / (ripple->period_cm1 * pellet_kbr_group_index(middle));
    const double waves =
        path * (wavenumber * pellet_kbr_index(wavenumber) - middle * pellet_kbr_index(middle));
    return ripple->amplitude * cos(2.0 * M_PI * (middle / ripple->period_cm1 + waves) + ripple->phase);
}

double *checks_without_ripple(const struct pellet_measurement *measurement)
{
    double *calm = pellet_measurement_without(measurement, measurement->absorbance, 0);

    for (size_t i = 0; calm != NULL && i < measurement->n; i++)
        calm[i] -= checks_ripple_at(&measurement->ripple, measurement->wavenumber[i]);
    return calm;
}

bool checks_is_rest_of_crest(const struct pellet_ripple *ripple, const struct pellet_band *band)
{
    struct pellet_ripple rest = *ripple;

    if (band->at_cm1 >= ripple->low_cm1 && band->at_cm1 <= ripple->high_cm1)
        rest.amplitude *= REST_SHARE;
    return pellet_ripple_is_crest(&rest, band);
}
