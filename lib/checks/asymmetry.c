// SPDX-License-Identifier: GPL-3.0-or-later
/* Skewed: median skew of isolated bands: the Christiansen effect of coarse grains. */
#include "checks/checks.h"

static void run_asymmetry(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                          struct pellet_finding *finding)
{
    (void)measurement;
    (void)rule;
    pellet_finding_not_checked(finding, PELLET_SAYS_NOTHING);
}

const struct pellet_check pellet_check_asymmetry = {
    .id = "asymmetry",
    .bench_word = "skewed",
    .quantity = "skew",
    .unit = PELLET_UNIT_NONE,
    .outcome = PELLET_REMAKE,
    .roles = PELLET_FOR(PELLET_SAMPLE),
    .stage = PELLET_STAGE_PELLET,
    .meaning = "median skew of isolated bands: the Christiansen effect of coarse grains",
    .source = "C. Prost, Clays Clay Miner. 21, 363 (1973), for the effect; the measure is the project's own",
    .parameter =
        {
            PELLET_QUANTITY("limit", NONE, 0.35, 0.01, 3.0, "largest skew"),
            PELLET_RANGE("heights", ABSORBANCE, 0.2, 1.2, 0.01, 3.0, "the bands that are fitted"),
        },
    .run = run_asymmetry,
};
