// SPDX-License-Identifier: GPL-3.0-or-later
/* Foreign band: strongest narrow band of a blank that is not water, vapour or carbon dioxide. */
#include "checks/checks.h"

static void run_purity(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                       struct pellet_finding *finding)
{
    (void)measurement;
    (void)rule;
    pellet_finding_not_checked(finding, PELLET_SAYS_NOTHING);
}

const struct pellet_check pellet_check_purity = {
    .id = "purity",
    .bench_word = "foreign band",
    .quantity = "height",
    .unit = PELLET_UNIT_ABSORBANCE,
    .outcome = PELLET_REMAKE,
    .roles = PELLET_FOR(PELLET_BLANK),
    .stage = PELLET_STAGE_PELLET,
    .meaning = "strongest narrow band of a blank that is not water, vapour or carbon dioxide",
    .source = "reagent test of KBr for infrared, State Pharmacopoeia of Kazakhstan I (2008): no maximum "
              "above 0.02 A",
    .parameter =
        {
            PELLET_QUANTITY("limit", ABSORBANCE, 0.02, 0.0005, 1.0, "highest band"),
        },
    .run = run_purity,
};
