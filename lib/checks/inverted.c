// SPDX-License-Identifier: GPL-3.0-or-later
/* Blank at fault: depth of the deepest narrow band that points the wrong way. */
#include "checks/checks.h"

static void run_inverted(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                         struct pellet_finding *finding)
{
    (void)measurement;
    (void)rule;
    pellet_finding_not_checked(finding, PELLET_SAYS_NOTHING);
}

const struct pellet_check pellet_check_inverted = {
    .id = "inverted",
    .bench_word = "blank at fault",
    .quantity = "inverted_absorbance",
    .unit = PELLET_UNIT_ABSORBANCE,
    .outcome = PELLET_WAIT,
    .roles = PELLET_FOR(PELLET_SAMPLE),
    .stage = PELLET_STAGE_TRUST,
    .meaning = "depth of the deepest narrow band that points the wrong way",
    .source = "the project's own",
    .parameter =
        {
            PELLET_QUANTITY("limit", ABSORBANCE, 0.02, 0.0001, 1.0, "deepest inverted band"),
            PELLET_QUANTITY("width", WAVENUMBER, 60, 5, 200, "only minima narrower than this count"),
        },
    .run = run_inverted,
};
