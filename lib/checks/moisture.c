// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Damp: liquid water in the pellet beyond that of the reference, a mass on beam area.
 *
 * Method:    The measurement's fit of the tabulated absorption of liquid water to the stretching and the
 *            bending band together, or to the bend alone where the sample's own O-H lies over the stretch and
 *            the bend is in sight and has water's shape. Positive: this pellet is the damper one; below the
 *            negative limit the blank is, and a new blank is the cure.
 * Limits:    Where neither holds, the sample's own O-H and amide bands are in the value: it is an upper
 *            bound, two standard deviations above the fit, which may pass but never refuses a pellet as damp.
 *            In a pellet that scatters nine tenths of the light at the stretch, the sample's own O-H turns
 *            over and looks like a damp blank: only a note. Beside the strong bands of an acid the bend reads
 *            up to a quarter low. A bound below the negative limit does show a damp blank if both bands point
 *            downwards. Drying does not cure a hydrate. Against an open beam the value is all the water there
 *            is; against a blank, or a session's first one, only the difference.
 * Source:    G. M. Hale, M. R. Querry, Appl. Opt. 12, 555 (1973): 30 ug/cm2 make 0.166 A near 3400 and 0.035
 *            A near 1640 cm-1.
 */
#include "checks/view.h"

#include <math.h>

enum { LIMIT };

/* The two bands that the fit rests on, cm-1. */
#define BEND_LOW     1500.0
#define STRETCH_LOW  2800.0
#define STRETCH_HIGH 3700.0
/* Where it is strongest. */
#define STRETCH_MIDDLE 3400.0

static enum pellet_outcome milder(enum pellet_outcome one, enum pellet_outcome other)
{
    return one < other ? one : other;
}

/*
 * What it means that the reference holds more water. A sample waits for a new blank; a blank drier than the
 * session's first one is the better blank; less water than none, against an open beam, is only remarked.
 */
static void judge_damp_reference(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                                 struct pellet_finding *finding)
{
    if (measurement->role != PELLET_BLANK) {
        finding->outcome =
            milder(rule->outcome, checks_is_dark(measurement, STRETCH_MIDDLE) ? PELLET_NOTE : PELLET_WAIT);
    } else if (measurement->basis == PELLET_AGAINST_FIRST_BLANK) {
        finding->outcome = PELLET_PASS;
        finding->phrase = PELLET_SAYS_DRIER;
    } else {
        finding->outcome = milder(rule->outcome, PELLET_NOTE);
    }
}

/*
 * Whether an upper bound that lies below -limit shows a damp blank for sure: both bands must say so. One
 * alone may be the trough that coarse grains make beside a band of the sample.
 */
static bool bound_shows_damp_blank(const struct pellet_water *water)
{
    return water->stretch_ug_cm2 < 0.0 && water->bend_ug_cm2 < 0.0;
}

static void judge_water(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                        struct pellet_finding *finding)
{
    const struct pellet_water *water = &measurement->water;
    const double limit = pellet_rule_quantity(rule, LIMIT);
    const double amount =
        water->ug_cm2 + (water->upper_bound ? PELLET_WATER_CERTAIN * water->sigma_ug_cm2 : 0.0);

    if (amount < 0.0) {
        pellet_finding_below(finding, rule, amount, -limit, PELLET_SAYS_DAMP_BLANK);
        if (finding->outcome != PELLET_PASS)
            judge_damp_reference(measurement, rule, finding);
        finding->number[0] = -finding->value;
        finding->number_unit[0] = PELLET_UNIT_UG_CM2;
    } else {
        pellet_finding_above(finding, rule, amount, limit,
                             water->upper_bound  ? PELLET_SAYS_DAMP_BOUND
                             : water->bend_alone ? PELLET_SAYS_DAMP_BEND
                                                 : PELLET_SAYS_DAMP);
    }
    finding->at_most = water->upper_bound;
    if (water->upper_bound && pellet_finding_refuses(finding) && !bound_shows_damp_blank(water))
        finding->outcome = PELLET_NOTE;
}

static void run_moisture(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                         struct pellet_finding *finding)
{
    if (!checks_has_level(measurement, finding))
        return;
    pellet_finding_range(finding, BEND_LOW, STRETCH_HIGH);
    if (measurement->water.fitted && isfinite(measurement->water.ug_cm2)) {
        judge_water(measurement, rule, finding);
    } else if (!checks_covers(measurement, STRETCH_LOW, STRETCH_HIGH)) {
        pellet_finding_range(finding, STRETCH_LOW, STRETCH_HIGH);
        pellet_finding_not_checked(finding, PELLET_SAYS_OUT_OF_RANGE);
    } else {
        pellet_finding_not_checked(finding, PELLET_SAYS_NO_FIT);
    }
}

const struct pellet_check pellet_check_moisture = {
    .id = "moisture",
    .bench_word = PELLET_BENCH_MOISTURE,
    .quantity = "water_excess",
    .unit = PELLET_UNIT_UG_CM2,
    .outcome = PELLET_REMAKE,
    .roles = PELLET_FOR(PELLET_SAMPLE) | PELLET_FOR(PELLET_BLANK),
    .stage = PELLET_STAGE_PELLET,
    .meaning = "liquid water beyond that of the reference, a mass on beam area; negative when the reference "
               "holds more",
    .source = "G. M. Hale, M. R. Querry, Appl. Opt. 12, 555 (1973)",
    .parameter =
        {
            PELLET_QUANTITY("limit", UG_CM2, 30, 1, 1000,
                            "most water; as far below zero the blank is the damp one"),
        },
    .run = run_moisture,
};
