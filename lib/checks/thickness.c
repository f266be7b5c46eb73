// SPDX-License-Identifier: GPL-3.0-or-later
/* Thickness: thickness of the pellet, from its fringes or its mass. */
#include "checks/checks.h"

static void run_thickness(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                          struct pellet_finding *finding)
{
    (void)measurement;
    (void)rule;
    pellet_finding_not_checked(finding, PELLET_SAYS_NOTHING);
}

const struct pellet_check pellet_check_thickness = {
    .id = "thickness",
    .bench_word = "thickness",
    .quantity = "thickness",
    .unit = PELLET_UNIT_MM,
    .outcome = PELLET_NOTE,
    .roles = PELLET_FOR(PELLET_SAMPLE),
    .stage = PELLET_STAGE_PELLET,
    .meaning = "thickness of the pellet, from its fringes or its mass",
    .source = "Appl. Spectrosc. 20, 116 (1966); KBr 2.75 g/cm3",
    .parameter =
        {
            PELLET_RANGE("usual", MM, 0.1, 1.2, 0.01, 10.0, "usual thickness"),
        },
    .run = run_thickness,
};
