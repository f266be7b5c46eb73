// SPDX-License-Identifier: GPL-3.0-or-later
/* Breath: carbon dioxide above the chord 2380-2300, negative when the reference held more. */
#include "checks/checks.h"

static void run_carbon_dioxide(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                               struct pellet_finding *finding)
{
    (void)measurement;
    (void)rule;
    pellet_finding_not_checked(finding, PELLET_SAYS_NOTHING);
}

const struct pellet_check pellet_check_carbon_dioxide = {
    .id = "carbon_dioxide",
    .bench_word = "breath",
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
