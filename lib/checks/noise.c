// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Noise: whether small bands and small faults could be seen at all.
 *
 * Method:    sqrt(SSR/(N-3-2r)) of A about one quadratic plus r fitted ripples, at native points, in the
 * first of the two windows of which at least 80 % is free of bands; the points of what bands there are are
 * left out. A lone single beam B has the noise of -log10 B. Limits:    zero-filling makes neighbours alike
 * but leaves the rms as it is; the lag-1 correlation stands beside it so that nobody compares peak-to-peak
 * figures of different grids. Noise elsewhere in the spectrum grows as the energy falls. Source:    common
 * practice; the windows as trade texts on FT-IR give them (from memory).
 */
#include "checks/checks.h"

#include <math.h>
#include <stdlib.h>

enum { LIMIT, BLANK_LIMIT, WINDOW, SECOND_WINDOW };

/* Bands that the sample or the room put into the curve are not noise. */
static const unsigned LEFT_OUT = PELLET_POINT_BAND | PELLET_POINT_UNUSABLE | PELLET_POINT_LOWER_BOUND;

static double limit_of(const struct pellet_measurement *measurement, const struct pellet_rule *rule)
{
    return pellet_rule_quantity(rule, measurement->role == PELLET_SAMPLE ? LIMIT : BLANK_LIMIT);
}

/* Whether 80 % of the points of the window can be used; E_SHORT because bands stand in it otherwise. */
static pellet_status look(const struct pellet_measurement *measurement, const double *curve,
                          struct pellet_limit window, struct pellet_noise *noise)
{
    const struct pellet_grid grid = pellet_measurement_grid(measurement);
    double mean;
    const pellet_status status = pellet_grid_mean(grid, curve, window.low, window.high, &mean);

    return status == PELLET_OK ? pellet_noise_window(grid, curve, window.low, window.high, noise) : status;
}

/* The first of the two windows that can be used; where none can, why the first one in the file cannot. */
static pellet_status choose_window(const struct pellet_measurement *measurement,
                                   const struct pellet_rule *rule, const double *curve,
                                   struct pellet_limit *window, struct pellet_noise *noise)
{
    const pellet_status first = look(measurement, curve, rule->parameter[WINDOW], noise);
    pellet_status second;

    *window = rule->parameter[WINDOW];
    if (first == PELLET_OK)
        return PELLET_OK;
    second = look(measurement, curve, rule->parameter[SECOND_WINDOW], noise);
    if (second == PELLET_OK)
        *window = rule->parameter[SECOND_WINDOW];
    return second == PELLET_OK || first == PELLET_E_RANGE ? second : first;
}

static void run_noise(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                      struct pellet_finding *finding)
{
    double *curve = pellet_measurement_without(measurement, measurement->absorbance, LEFT_OUT);
    struct pellet_limit window;
    struct pellet_noise noise;
    pellet_status status;

    if (curve == NULL) {
        pellet_finding_not_checked(finding, PELLET_SAYS_NO_MEMORY);
        return;
    }
    status = choose_window(measurement, rule, curve, &window, &noise);
    free(curve);
    if (status != PELLET_OK) {
        pellet_finding_unusable(finding, status, window.low, window.high);
        if (status == PELLET_E_SHORT)
            pellet_finding_not_checked(finding, PELLET_SAYS_NO_CLEAR_WINDOW);
        return;
    }
    pellet_finding_range(finding, window.low, window.high);
    finding->number[0] = noise.correlation;
    pellet_finding_above(finding, rule, noise.rms, limit_of(measurement, rule), PELLET_SAYS_NOISE_HIGH);
    if (finding->outcome == PELLET_PASS)
        finding->phrase = PELLET_SAYS_NOISE_WITHIN;
    if (pellet_finding_refuses(finding))
        pellet_finding_distrust(finding, 0.0, INFINITY);
}

const struct pellet_check pellet_check_noise = {
    .id = "noise",
    .bench_word = "noisy",
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
