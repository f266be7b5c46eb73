// SPDX-License-Identifier: GPL-3.0-or-later
/* Window: height in each window that the rule set names. */
#include "checks/checks.h"

static void run_windows(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                        struct pellet_finding *finding)
{
    (void)measurement;
    (void)rule;
    pellet_finding_not_checked(finding, PELLET_SAYS_NOTHING);
}

const struct pellet_check pellet_check_windows = {
    .id = "windows",
    .bench_word = "window",
    .quantity = "height",
    .unit = PELLET_UNIT_ABSORBANCE,
    .outcome = PELLET_NOTE,
    .roles = PELLET_FOR(PELLET_SAMPLE) | PELLET_FOR(PELLET_BLANK),
    .stage = PELLET_STAGE_PELLET,
    .meaning = "height in each window that the rule set names",
    .source = "as the rule set says for each window",
    .run = run_windows,
};
