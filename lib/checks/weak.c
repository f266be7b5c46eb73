// SPDX-License-Identifier: GPL-3.0-or-later
/* Too faint: height of the sample's strongest band. */
#include "checks/checks.h"

static void run_weak(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                     struct pellet_finding *finding)
{
    (void)measurement;
    (void)rule;
    pellet_finding_not_checked(finding, PELLET_SAYS_NOTHING);
}

const struct pellet_check pellet_check_weak = {
    .id = "weak",
    .bench_word = "too faint",
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
