// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Noise: whether small bands and small faults could be seen at all.
 *
 * Method:    sqrt(SSR/(N-3-2r)) of A about one quadratic plus r fitted ripples, at native points, in the
 *            first of the two windows that is clear: at least 80 % of it is free of bands, points that stand
 *            4 sigma off counted as such, and what is left does not go on more smoothly than zero-filling
 *            explains. The points of what bands there are are left out; where these cover both windows of a
 *            lone beam only those of narrower bands than a window: the curvature of broader ones, the
 *            swellings of the beam's energy, is taken up by the quadratic, and the same two tests tell
 *            whether it was. After zero-filling z times each fitted number takes z degrees of freedom. A lone
 *            single beam B has the noise of -log10 B. Where neither window is clear, the smaller of the two
 *            is an upper bound: it may pass.
 * Limits:    zero-filling makes neighbours alike but leaves the rms as it is; the lag-1 correlation stands
 *            beside it so that nobody compares peak-to-peak figures of different grids. Noise elsewhere in
 *            the spectrum grows as the energy falls.
 * Source:    common practice; the windows as trade texts on FT-IR give them (from memory).
 */
#include "checks/checks.h"
#include "checks/view.h"

#include <math.h>
#include <stdlib.h>

enum { LIMIT, BLANK_LIMIT, WINDOW, SECOND_WINDOW };

/* A clear window: this share of its points is in use, */
static const double CLEAR_SHARE = 0.8;
/* and as many neighbours vary together as zero-filling explains, up to this factor; what it may be where the
 * file states no resolution. */
static const double SMOOTHER = 2.0, FILLED_MOST = 8.0;

/* A band's share of the points ends after this many of its widths. */
static const double REACH = 2.0;

/* Where there is no light there is nothing but noise, of another kind. */
static const unsigned LEFT_OUT = PELLET_POINT_UNUSABLE | PELLET_POINT_LOWER_BOUND;

static double limit_of(const struct pellet_measurement *measurement, const struct pellet_rule *rule)
{
    return pellet_rule_quantity(rule, measurement->role == PELLET_SAMPLE ? LIMIT : BLANK_LIMIT);
}

/* What one window has to say. */
struct look {
    struct pellet_limit window;
    pellet_status status; /* E_SHORT: bands; E_RANGE: not in the file */
    bool clear;
    struct pellet_noise noise;
};

static struct look look(const struct pellet_measurement *measurement, const double *curve,
                        struct pellet_limit window)
{
    const struct pellet_grid grid = pellet_measurement_grid(measurement);
    struct look look = {.window = window};
    double mean;

    look.status = pellet_grid_mean(grid, curve, window.low, window.high, &mean);
    if (look.status == PELLET_OK)
        look.status = pellet_noise_window(grid, curve, window.low, window.high, &look.noise);
    look.clear = look.status == PELLET_OK && look.noise.share >= CLEAR_SHARE &&
                 look.noise.alike <= SMOOTHER * checks_filled_times(measurement, FILLED_MOST);
    return look;
}

/* The first clear window, else the one with the smaller bound, else the first one that the file holds. */
static struct look choose(const struct look *first, const struct look *second)
{
    if (first->clear || second->clear)
        return first->clear ? *first : *second;
    if (first->status == PELLET_OK && second->status == PELLET_OK)
        return first->noise.rms <= second->noise.rms ? *first : *second;
    if (first->status == PELLET_OK || second->status == PELLET_OK)
        return first->status == PELLET_OK ? *first : *second;
    return first->status == PELLET_E_RANGE && second->status != PELLET_E_RANGE ? *second : *first;
}

static void judge_noise(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                        const struct look *best, struct pellet_finding *finding)
{
    pellet_finding_range(finding, best->window.low, best->window.high);
    finding->number[0] = best->noise.correlation;
    pellet_finding_above(finding, rule, best->noise.rms, limit_of(measurement, rule), PELLET_SAYS_NOISE_HIGH);
    finding->at_most = !best->clear;
    if (finding->outcome == PELLET_PASS)
        finding->phrase = PELLET_SAYS_NOISE_WITHIN;
    else if (!best->clear)
        pellet_finding_not_checked(finding, PELLET_SAYS_NO_CLEAR_WINDOW);
    if (pellet_finding_refuses(finding))
        pellet_finding_distrust(finding, 0.0, INFINITY);
}

/* Look through both windows of a curve. E_MEMORY, also where the curve is NULL. */
static pellet_status look_through(const struct pellet_measurement *measurement,
                                  const struct pellet_rule *rule, const double *curve, struct look *best)
{
    if (curve == NULL)
        return PELLET_E_MEMORY;
    const struct look first = look(measurement, curve, rule->parameter[WINDOW]);
    const struct look second = look(measurement, curve, rule->parameter[SECOND_WINDOW]);
    if (first.status == PELLET_E_MEMORY || second.status == PELLET_E_MEMORY)
        return PELLET_E_MEMORY;
    *best = choose(&first, &second);
    return PELLET_OK;
}

/* A without the bands that are narrower than the windows. */
static double *without_narrow_bands(const struct pellet_measurement *measurement,
                                    const struct pellet_rule *rule)
{
    const double broad = rule->parameter[WINDOW].high - rule->parameter[WINDOW].low;
    double *curve = pellet_measurement_without(measurement, measurement->absorbance, LEFT_OUT);

    for (size_t b = 0; curve != NULL && b < measurement->band_count; b++) {
        const struct pellet_band *band = &measurement->band[b];
        size_t first, last;
        if (band->width_cm1 > broad)
            continue;
        pellet_grid_window(pellet_measurement_grid(measurement),
                           fmax(band->low_cm1, band->at_cm1 - REACH * band->width_cm1),
                           fmin(band->high_cm1, band->at_cm1 + REACH * band->width_cm1), &first, &last);
        for (size_t i = first; i < last; i++)
            curve[i] = measurement->mark[i] & PELLET_POINT_BAND ? (double)NAN : curve[i];
    }
    return curve;
}

static void run_noise(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                      struct pellet_finding *finding)
{
    double *curve =
        pellet_measurement_without(measurement, measurement->absorbance, LEFT_OUT | PELLET_POINT_BAND);
    struct look best;
    pellet_status status = look_through(measurement, rule, curve, &best);

    free(curve);
    if (status == PELLET_OK && best.status == PELLET_E_SHORT &&
        measurement->basis == PELLET_AGAINST_NOTHING) {
        curve = without_narrow_bands(measurement, rule);
        status = look_through(measurement, rule, curve, &best);
        free(curve);
    }
    if (status != PELLET_OK) {
        pellet_finding_not_checked(finding, PELLET_SAYS_NO_MEMORY);
        return;
    }
    if (best.status != PELLET_OK) {
        pellet_finding_unusable(finding, best.status, best.window.low, best.window.high);
        if (best.status == PELLET_E_SHORT)
            pellet_finding_not_checked(finding, PELLET_SAYS_NO_CLEAR_WINDOW);
        return;
    }
    judge_noise(measurement, rule, &best, finding);
}

const struct pellet_check pellet_check_noise = {
    .id = "noise",
    .bench_word = PELLET_BENCH_NOISE,
    .quantity = "rms_absorbance",
    .unit = PELLET_UNIT_ABSORBANCE,
    .outcome = PELLET_RESCAN,
    .roles = PELLET_FOR(PELLET_SAMPLE) | PELLET_FOR(PELLET_BLANK),
    .stage = PELLET_STAGE_TRUST,
    .meaning = "root mean square noise of the absorbance in a clear window, curvature and ripple taken out",
    .source = "common practice; noise in a clear window as ASTM E1421 uses it",
    .parameter =
        {
            PELLET_QUANTITY("limit", ABSORBANCE, 0.002, 1e-05, 0.5, "highest noise of a sample"),
            PELLET_QUANTITY("blank_limit", ABSORBANCE, 0.001, 1e-05, 0.5,
                            "highest noise of a blank: half of the sample's"),
            PELLET_RANGE("window", WAVENUMBER, 2000, 2200, 400, 4000, "where it is measured"),
            PELLET_RANGE("second_window", WAVENUMBER, 2500, 2700, 400, 4000,
                         "where it is measured when the first window holds bands"),
        },
    .run = run_noise,
};
