// SPDX-License-Identifier: GPL-3.0-or-later
/* Too strong: total absorbance at the sample's strongest band. */
#include "checks/checks.h"

static void run_saturation(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                           struct pellet_finding *finding)
{
    (void)measurement;
    (void)rule;
    pellet_finding_not_checked(finding, PELLET_SAYS_NOTHING);
}

const struct pellet_check pellet_check_saturation = {
    .id = "saturation",
    .bench_word = "too strong",
    .quantity = "absorbance",
    .unit = PELLET_UNIT_ABSORBANCE,
    .outcome = PELLET_REMAKE,
    .roles = PELLET_FOR(PELLET_SAMPLE),
    .stage = PELLET_STAGE_PELLET,
    .meaning = "total absorbance at the sample's strongest band",
    .source = "common practice: beyond it a small false zero bends the law of Lambert and Beer",
    .parameter =
        {
            PELLET_QUANTITY("limit", ABSORBANCE, 1.5, 0.3, 4.0, "highest absorbance of the strongest band"),
        },
    .run = run_saturation,
};
