// SPDX-License-Identifier: GPL-3.0-or-later
/* Sloping: baseline absorbance at 3900 less that at 2000 cm-1. */
#include "checks/checks.h"

static void run_tilt(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                     struct pellet_finding *finding)
{
    (void)measurement;
    (void)rule;
    pellet_finding_not_checked(finding, PELLET_SAYS_NOTHING);
}

const struct pellet_check pellet_check_tilt = {
    .id = "tilt",
    .bench_word = "sloping",
    .quantity = "baseline_rise",
    .unit = PELLET_UNIT_ABSORBANCE,
    .outcome = PELLET_REMAKE,
    .roles = PELLET_FOR(PELLET_SAMPLE) | PELLET_FOR(PELLET_BLANK),
    .stage = PELLET_STAGE_PELLET,
    .meaning = "baseline absorbance at 3900 less that at 2000 cm-1",
    .source = "the project's own",
    .parameter =
        {
            PELLET_QUANTITY("limit", ABSORBANCE, 0.2, 0.01, 3.0, "highest rise of a sample"),
            PELLET_QUANTITY("blank_limit", ABSORBANCE, 0.1, 0.01, 3.0, "highest rise of a blank"),
        },
    .run = run_tilt,
};
