// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Too faint: height of the sample's strongest band above the chord between its feet.
 *
 * Method:    As measured by the band finder. Where no band of the sample was found, the highest point that
 *            stands above the baseline outside room air is an upper bound on any band.
 * Limits:    Coarse grains weaken bands, so too faint may mean too coarse: `tilt` and `asymmetry` tell. A
 *            band without light at its top is at least as high as it looks and is never called faint.
 * Source:    The project's own limit. A of 0.1 and less costs accuracy: relative error 5.5 times that of T.
 */
#include "checks/view.h"

#include <math.h>

enum { LIMIT, NO_SAMPLE };

#define ROOM_AIR (PELLET_POINT_VAPOUR | PELLET_POINT_CO2)

/* The highest absorbance above the baseline, and where; NaN where no point can be used. */
static double highest_excess(const struct pellet_measurement *measurement, double *at_cm1)
{
    double highest = NAN;

    for (size_t i = 0; i < measurement->n; i++) {
        const double excess =
            measurement->absorbance[i] - measurement->baseline[i] - measurement->residual_water[i];
        if ((measurement->mark[i] & ROOM_AIR) || isnan(excess) || excess <= highest)
            continue;
        highest = excess;
        *at_cm1 = measurement->wavenumber[i];
    }
    return highest;
}

static void judge_without_band(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                               struct pellet_finding *finding)
{
    const double limit = pellet_rule_quantity(rule, NO_SAMPLE);
    double at_cm1 = NAN;
    const double highest = highest_excess(measurement, &at_cm1);

    /* Something stands there that is no band: a pellet that lets no light through, a broad hump. */
    if (isnan(highest) || highest >= limit || checks_share_dark(measurement) > 0.5) {
        pellet_finding_not_checked(finding, PELLET_SAYS_NO_BANDS);
        return;
    }
    pellet_finding_below(finding, rule, fmax(highest, 0.0), limit, PELLET_SAYS_NO_SAMPLE);
    finding->at_cm1 = at_cm1;
    finding->at_most = true;
}

static void run_weak(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                     struct pellet_finding *finding)
{
    if (!checks_has_ratio(measurement, finding))
        return;
    const struct pellet_band *band = pellet_strongest_band(measurement);
    if (band == NULL) {
        judge_without_band(measurement, rule, finding);
        return;
    }
    const double no_sample = pellet_rule_quantity(rule, NO_SAMPLE);
    pellet_finding_below(finding, rule, band->height, pellet_rule_quantity(rule, LIMIT),
                         PELLET_SAYS_TOO_FAINT);
    checks_rest_on_band(finding, band);
    finding->at_least = band->at_least;
    if (band->at_least && pellet_finding_refuses(finding)) {
        pellet_finding_not_checked(finding, PELLET_SAYS_FAINT_BOUND);
    } else if (finding->value < no_sample) {
        pellet_finding_below(finding, rule, band->height, no_sample, PELLET_SAYS_NO_SAMPLE);
        finding->rests_low = 0.0; /* that nothing is there rests on all of the spectrum */
        finding->rests_high = INFINITY;
    }
}

const struct pellet_check pellet_check_weak = {
    .id = "weak",
    .bench_word = PELLET_BENCH_WEAK,
    .quantity = "height",
    .unit = PELLET_UNIT_ABSORBANCE,
    .outcome = PELLET_REMAKE,
    .roles = PELLET_FOR(PELLET_SAMPLE),
    .stage = PELLET_STAGE_PELLET,
    .meaning = "height of the sample's strongest band",
    .source = "the project's own",
    .parameter =
        {
            PELLET_QUANTITY("limit", ABSORBANCE, 0.2, 0.001, 2.0, "lowest height of the strongest band"),
            PELLET_QUANTITY("no_sample", ABSORBANCE, 0.03, 0.0001, 1.0,
                            "below this no sample is seen at all"),
        },
    .run = run_weak,
};
