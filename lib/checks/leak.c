// SPDX-License-Identifier: GPL-3.0-or-later
/* Light leak: light that reaches the detector past the sample, as a fraction of full light. */
#include "checks/checks.h"

static void run_leak(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                     struct pellet_finding *finding)
{
    (void)measurement;
    (void)rule;
    pellet_finding_not_checked(finding, PELLET_SAYS_NOTHING);
}

const struct pellet_check pellet_check_leak = {
    .id = "leak",
    .bench_word = "light leak",
    .quantity = "false_zero",
    .unit = PELLET_UNIT_NONE,
    .outcome = PELLET_RESCAN,
    .roles = PELLET_FOR(PELLET_SAMPLE) | PELLET_FOR(PELLET_BLANK) | PELLET_FOR(PELLET_OPEN_BEAM),
    .stage = PELLET_STAGE_TRUST,
    .meaning = "light that reaches the detector past the sample, as a fraction of full light",
    .source = "stray light by a level that opaque bands share and by non-physical energy, as ASTM E1421 "
              "describes them",
    .parameter =
        {
            PELLET_QUANTITY("limit", NONE, 0.02, 0.0001, 0.5, "highest false zero, a fraction of full light"),
        },
    .run = run_leak,
};
