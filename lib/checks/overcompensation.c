// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Overcompensation: more light through the sample than through its blank, so the blank is at fault.
 *
 * Method:    the highest T, smoothed over 20 cm-1, outside the regions of vapour and of both bands of carbon
 *            dioxide and with the fitted liquid water taken out where the blank holds more of it (T
 *            10^A_water, A_water below 0: a damp blank is the business of `moisture`). Water that the sample
 *            holds more of darkens it, and a fit that takes the O-H of a hydrate for it must not brighten
 *            what it did not darken. Where the stretch of water cannot be told from the sample's own O-H,
 *            that region does not count: 4 ug/cm2 more in the blank, far inside what `moisture` allows, lift
 *            T past 1.05 there. A window counts when 80 % of its points can be used and all of it lies in
 *            the spectrum; one that stands above 1 must do so by 5 standard deviations of its mean, whose
 *            independent points lie half a resolution apart: over some 500 windows noise alone reaches four
 *            of them in one spectrum of sixty, five in one of thousands (normal distribution). When all of T
 *            lies between 1.07 and 1.11 and the sample has no band, nothing stands in the beam: a clear
 *            plate of KBr takes away 8.5 %, and 1/0.915 = 1.093.
 * Limits:    a blank that is too dark by less than the sample's own loss is not seen.
 * Source:    the project's own; reflection from the index of KBr: H. H. Li, J. Phys. Chem. Ref. Data 5,
 *            329 (1976).
 */
#include "checks/checks.h"
#include "checks/ripple_curve.h"
#include "pellet/reference.h"

#include <math.h>
#include <stdlib.h>

enum { LIMIT, EMPTY_BEAM };

static const double SMOOTH = 20.0, SIGNIFICANT = 5.0;
/* The P and R branches of carbon dioxide's bend reach as far to each side as the region of its
 * stretch does. */
static const double CO2_BEND_HALF = (PELLET_CO2_HIGH - PELLET_CO2_LOW) / 2.0;
/* Where the stretch of liquid water absorbs more than a tenth of its top, shift and width allowed
 * for, cm-1. */
static const double STRETCH_LOW = 2950.0, STRETCH_HIGH = 3700.0;

struct extremes {
    double highest, lowest; /* smoothed T; NaN where no window counts */
    double at_cm1;          /* of the highest */
};

/* Whether the fitted water is that of the stretch, so that it can be taken out there. */
static bool stretch_is_told(const struct pellet_water *water)
{
    return !water->fitted || (!water->upper_bound && !water->bend_alone);
}

/* T with the ripple and the blank's excess of water taken out, NaN where it does not count. */
static double *dry_transmittance(const struct pellet_measurement *measurement)
{
    double *dry = pellet_measurement_without(measurement, measurement->transmittance,
                                             PELLET_POINT_VAPOUR | PELLET_POINT_CO2 | PELLET_POINT_UNUSABLE);

    const bool told = stretch_is_told(&measurement->water);

    for (size_t i = 0; dry != NULL && i < measurement->n; i++) {
        const double nu = measurement->wavenumber[i];
        const double own =
            fmin(measurement->residual_water[i], 0.0) + checks_ripple_at(&measurement->ripple, nu);
        const bool hidden = !told && nu >= STRETCH_LOW && nu <= STRETCH_HIGH;
        dry[i] = hidden || fabs(nu - PELLET_CO2_BEND) <= CO2_BEND_HALF ? NAN : dry[i] * pow(10.0, own);
    }
    return dry;
}

/* Whether a mean above 1 may be the luck of a noisy place. */
static bool is_luck(const struct pellet_measurement *measurement, size_t i, double mean)
{
    const double apart =
        isnan(measurement->resolution) ? measurement->spacing : measurement->resolution / 2.0;
    const double sigma = isnan(measurement->sigma[i]) ? 0.0 : measurement->sigma[i];

    return mean > 1.0 && mean - 1.0 < SIGNIFICANT * sigma * sqrt(fmin(apart / SMOOTH, 1.0));
}

static struct extremes find_extremes(const struct pellet_measurement *measurement, const double *dry)
{
    const struct pellet_grid grid = pellet_measurement_grid(measurement);
    struct extremes found = {NAN, NAN, NAN};

    for (size_t i = 0; i < measurement->n; i++) {
        const double at = measurement->wavenumber[i];
        double mean;
        if (isnan(dry[i]) ||
            pellet_grid_mean(grid, dry, at - SMOOTH / 2, at + SMOOTH / 2, &mean) != PELLET_OK)
            continue;
        found.lowest = fmin(found.lowest, mean);
        if (!(mean <= found.highest) && !is_luck(measurement, i, mean)) {
            found.highest = mean;
            found.at_cm1 = at;
        }
    }
    return found;
}

static bool beam_is_empty(const struct pellet_measurement *measurement, const struct extremes *found,
                          struct pellet_limit empty)
{
    return pellet_strongest_band(measurement) == NULL && found->lowest >= empty.low &&
           found->highest <= empty.high;
}

static void run_overcompensation(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                                 struct pellet_finding *finding)
{
    const double limit = pellet_rule_quantity(rule, LIMIT);
    struct extremes found;
    double *dry;

    if (measurement->transmittance == NULL) {
        pellet_finding_not_checked(finding, PELLET_SAYS_NEEDS_RATIO);
        return;
    }
    dry = dry_transmittance(measurement);
    if (dry == NULL) {
        pellet_finding_not_checked(finding, PELLET_SAYS_NO_MEMORY);
        return;
    }
    found = find_extremes(measurement, dry);
    free(dry);
    if (isnan(found.highest)) {
        pellet_finding_not_checked(finding, PELLET_SAYS_NO_CLEAR_WINDOW);
        return;
    }
    finding->at_cm1 = found.at_cm1;
    pellet_finding_above(finding, rule, found.highest, limit,
                         beam_is_empty(measurement, &found, rule->parameter[EMPTY_BEAM])
                             ? PELLET_SAYS_OVER_EMPTY
                             : PELLET_SAYS_OVER_BRIGHT);
    if (pellet_finding_refuses(finding))
        pellet_finding_distrust(finding, 0.0, INFINITY);
}

const struct pellet_check pellet_check_overcompensation = {
    .id = "overcompensation",
    .bench_word = PELLET_BENCH_OVERCOMPENSATION,
    .quantity = "highest_transmittance",
    .unit = PELLET_UNIT_NONE,
    .outcome = PELLET_WAIT,
    .roles = PELLET_FOR(PELLET_SAMPLE),
    .stage = PELLET_STAGE_TRUST,
    .meaning = "highest transmittance over the blank, away from vapour and carbon dioxide",
    .source = "the project's own",
    .parameter =
        {
            PELLET_QUANTITY("limit", NONE, 1.05, 1.0, 2.0, "highest transmittance, a fraction"),
            PELLET_RANGE("empty_beam", NONE, 1.07, 1.11, 1.0, 1.5,
                         "a flat transmittance in here without bands: nothing in the beam?"),
        },
    .run = run_overcompensation,
};
