// SPDX-License-Identifier: GPL-3.0-or-later
/* Damp: liquid water beyond that of the reference, a mass on beam area; negative when the reference holds
 * more. */
#include "checks/checks.h"

static void run_moisture(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                         struct pellet_finding *finding)
{
    (void)measurement;
    (void)rule;
    pellet_finding_not_checked(finding, PELLET_SAYS_NOTHING);
}

const struct pellet_check pellet_check_moisture = {
    .id = "moisture",
    .bench_word = "damp",
    .quantity = "water_excess",
    .unit = PELLET_UNIT_UG_CM2,
    .outcome = PELLET_REMAKE,
    .roles = PELLET_FOR(PELLET_SAMPLE) | PELLET_FOR(PELLET_BLANK),
    .stage = PELLET_STAGE_PELLET,
    .meaning = "liquid water beyond that of the reference, a mass on beam area; negative when the reference "
               "holds more",
    .source = "G. M. Hale, M. R. Querry, Appl. Opt. 12, 555 (1973)",
    .parameter =
        {
            PELLET_QUANTITY("limit", UG_CM2, 30, 1, 1000,
                            "most water; as far below zero the blank is the damp one"),
        },
    .run = run_moisture,
};
