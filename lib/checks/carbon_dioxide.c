// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Carbon dioxide: breath on the beam, or a purge that had not settled.
 *
 * Method:    the extreme of A without its fitted ripple, of either sign, over the chord from 2300 to 2380
 *            cm-1. The chord's ends are means over END cm-1 to each side, so that the noise of one point does
 *            not tilt it.
 * Limits:    a band of the sample in the window (nitrile, isocyanate, S-H) is counted in. Where the light is
 *            gone altogether the value is a lower bound.
 * Source:    the band: L. S. Rothman, L. D. G. Young, J. Quant. Spectrosc. Radiat. Transf. 25, 505 (1981);
 *            the window is the project's own.
 */
#include "checks/checks.h"
#include "checks/ripple_curve.h"
#include "checks/view.h"
#include "pellet/reference.h"

#include <math.h>
#include <stdlib.h>

enum { LIMIT };

static const double END = 5.0;

/* The point furthest from the chord; n where no point can be used. */
static size_t find_extreme(const struct pellet_measurement *measurement, const double *a, double low_end,
                           double high_end, double *height)
{
    const double *nu = measurement->wavenumber;
    size_t first, last, extreme = measurement->n;

    *height = 0.0;
    pellet_grid_window(pellet_measurement_grid(measurement), PELLET_CO2_LOW, PELLET_CO2_HIGH, &first, &last);
    for (size_t i = first; i < last; i++) {
        const double share = (nu[i] - PELLET_CO2_LOW) / (PELLET_CO2_HIGH - PELLET_CO2_LOW);
        const double over = a[i] - (low_end + share * (high_end - low_end));
        if (extreme == measurement->n ? !isnan(over) : fabs(over) > fabs(*height)) {
            *height = over;
            extreme = i;
        }
    }
    return extreme;
}

pellet_status checks_carbon_dioxide_find(const struct pellet_measurement *measurement, const double *calm,
                                         struct checks_carbon_dioxide *found)
{
    const struct pellet_grid grid = pellet_measurement_grid(measurement);
    double low_end, high_end, inside;
    pellet_status status = pellet_grid_mean(grid, calm, PELLET_CO2_LOW - END, PELLET_CO2_LOW + END, &low_end);

    if (status == PELLET_OK)
        status = pellet_grid_mean(grid, calm, PELLET_CO2_HIGH - END, PELLET_CO2_HIGH + END, &high_end);
    if (status == PELLET_OK)
        status = pellet_grid_mean(grid, calm, PELLET_CO2_LOW, PELLET_CO2_HIGH, &inside);
    if (status == PELLET_OK)
        found->at = find_extreme(measurement, calm, low_end, high_end, &found->height);
    return status;
}

static void judge_curve(const struct pellet_measurement *measurement, const double *calm,
                        const struct pellet_rule *rule, struct pellet_finding *finding)
{
    struct checks_carbon_dioxide gas;
    const pellet_status status = checks_carbon_dioxide_find(measurement, calm, &gas);

    if (status != PELLET_OK) {
        pellet_finding_unusable(finding, status, PELLET_CO2_LOW, PELLET_CO2_HIGH);
        return;
    }
    pellet_finding_range(finding, PELLET_CO2_LOW, PELLET_CO2_HIGH);
    finding->at_cm1 = measurement->wavenumber[gas.at];
    finding->at_least = (measurement->mark[gas.at] & PELLET_POINT_LOWER_BOUND) != 0;
    pellet_finding_either_sign(finding, rule, gas.height, pellet_rule_quantity(rule, LIMIT),
                               gas.height < 0.0 ? PELLET_SAYS_CO2_NEGATIVE : PELLET_SAYS_CO2_SEEN);
}

static void run_carbon_dioxide(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                               struct pellet_finding *finding)
{
    if (measurement->transmittance == NULL) {
        pellet_finding_not_checked(finding, PELLET_SAYS_NEEDS_RATIO);
        return;
    }
    double *calm = checks_without_ripple(measurement);
    if (calm == NULL)
        pellet_finding_not_checked(finding, PELLET_SAYS_NO_MEMORY);
    else
        judge_curve(measurement, calm, rule, finding);
    free(calm);
}

const struct pellet_check pellet_check_carbon_dioxide = {
    .id = "carbon_dioxide",
    .bench_word = PELLET_BENCH_CARBON_DIOXIDE,
    .quantity = "carbon_dioxide_absorbance",
    .unit = PELLET_UNIT_ABSORBANCE,
    .outcome = PELLET_NOTE,
    .roles = PELLET_FOR(PELLET_SAMPLE),
    .stage = PELLET_STAGE_PELLET,
    .meaning = "carbon dioxide above the chord 2380-2300, negative when the reference held more",
    .source = "common practice; the window is the project's own",
    .parameter =
        {
            PELLET_QUANTITY("limit", ABSORBANCE, 0.05, 0.0001, 3.0, "largest band of either sign"),
        },
    .run = run_carbon_dioxide,
};
