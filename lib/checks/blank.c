// SPDX-License-Identifier: GPL-3.0-or-later
/* No blank: age of the paired blank, and what was passed over to reach it. */
#include "checks/checks.h"

static void run_blank(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                      struct pellet_finding *finding)
{
    (void)measurement;
    (void)rule;
    pellet_finding_not_checked(finding, PELLET_SAYS_NOTHING);
}

const struct pellet_check pellet_check_blank = {
    .id = "blank",
    .bench_word = "no blank",
    .quantity = "age",
    .unit = PELLET_UNIT_MINUTE,
    .outcome = PELLET_WAIT,
    .roles = PELLET_FOR(PELLET_SAMPLE),
    .stage = PELLET_STAGE_TRUST,
    .meaning = "age of the paired blank, and what was passed over to reach it",
    .source = "the project's own; the longest age is blank.max_age of the rule set",
    .run = run_blank,
};
