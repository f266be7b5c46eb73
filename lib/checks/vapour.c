// SPDX-License-Identifier: GPL-3.0-or-later
/* Room air: lines of water vapour, peak to peak, negative when the reference was moister. */
#include "checks/checks.h"

static void run_vapour(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                       struct pellet_finding *finding)
{
    (void)measurement;
    (void)rule;
    pellet_finding_not_checked(finding, PELLET_SAYS_NOTHING);
}

const struct pellet_check pellet_check_vapour = {
    .id = "vapour",
    .bench_word = "room air",
    .quantity = "vapour_absorbance",
    .unit = PELLET_UNIT_ABSORBANCE,
    .outcome = PELLET_RESCAN,
    .roles = PELLET_FOR(PELLET_SAMPLE) | PELLET_FOR(PELLET_BLANK),
    .stage = PELLET_STAGE_TRUST,
    .meaning = "lines of water vapour, peak to peak, negative when the reference was moister",
    .source = "lines of HITRAN 2020 (Gordon et al. 2022)",
    .parameter =
        {
            PELLET_QUANTITY("limit", ABSORBANCE, 0.02, 0.0001, 1.0, "largest lines of either sign"),
        },
    .run = run_vapour,
};
