// SPDX-License-Identifier: GPL-3.0-or-later
/* Carry-over: an earlier sample's pattern, at its strongest band. */
#include "checks/checks.h"

static void run_residue(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                        struct pellet_finding *finding)
{
    (void)measurement;
    (void)rule;
    pellet_finding_not_checked(finding, PELLET_SAYS_NOTHING);
}

const struct pellet_check pellet_check_residue = {
    .id = "residue",
    .bench_word = "carry-over",
    .quantity = "residue_height",
    .unit = PELLET_UNIT_ABSORBANCE,
    .outcome = PELLET_NOTE,
    .roles = PELLET_FOR(PELLET_SAMPLE) | PELLET_FOR(PELLET_BLANK),
    .stage = PELLET_STAGE_PELLET,
    .meaning = "an earlier sample's pattern, at its strongest band",
    .source = "the project's own",
    .parameter =
        {
            PELLET_QUANTITY("limit", ABSORBANCE, 0.02, 0.0005, 1.0, "largest residue"),
            PELLET_QUANTITY("match", NONE, 0.9, 0.5, 1.0, "lowest correlation of the patterns that counts"),
            PELLET_QUANTITY("strong_match", NONE, 0.95, 0.5, 1.0,
                            "from this correlation on a sample is to be made again"),
        },
    .run = run_residue,
};
