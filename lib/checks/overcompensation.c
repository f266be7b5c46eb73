// SPDX-License-Identifier: GPL-3.0-or-later
/* Blank at fault: highest transmittance over the blank, away from vapour and carbon dioxide. */
#include "checks/checks.h"

static void run_overcompensation(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                                 struct pellet_finding *finding)
{
    (void)measurement;
    (void)rule;
    pellet_finding_not_checked(finding, PELLET_SAYS_NOTHING);
}

const struct pellet_check pellet_check_overcompensation = {
    .id = "overcompensation",
    .bench_word = "blank at fault",
    .quantity = "highest_transmittance",
    .unit = PELLET_UNIT_NONE,
    .outcome = PELLET_WAIT,
    .roles = PELLET_FOR(PELLET_SAMPLE),
    .stage = PELLET_STAGE_TRUST,
    .meaning = "highest transmittance over the blank, away from vapour and carbon dioxide",
    .source = "the project's own",
    .parameter =
        {
            PELLET_QUANTITY("limit", NONE, 1.05, 1.0, 2.0, "highest transmittance, a fraction"),
            PELLET_RANGE("empty_beam", NONE, 1.07, 1.11, 1.0, 1.5,
                         "a flat transmittance in here without bands: nothing in the beam?"),
        },
    .run = run_overcompensation,
};
