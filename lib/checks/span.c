// SPDX-License-Identifier: GPL-3.0-or-later
/* Range short: how much of the station's range cannot be used. */
#include "checks/checks.h"

static void run_span(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                     struct pellet_finding *finding)
{
    (void)measurement;
    (void)rule;
    pellet_finding_not_checked(finding, PELLET_SAYS_NOTHING);
}

const struct pellet_check pellet_check_span = {
    .id = "span",
    .bench_word = "range short",
    .quantity = "missing_range",
    .unit = PELLET_UNIT_WAVENUMBER,
    .outcome = PELLET_RESCAN,
    .roles = PELLET_FOR(PELLET_SAMPLE) | PELLET_FOR(PELLET_BLANK) | PELLET_FOR(PELLET_OPEN_BEAM) |
             PELLET_FOR(PELLET_FILM),
    .stage = PELLET_STAGE_TRUST,
    .meaning = "how much of the station's range cannot be used",
    .source = "the project's own",
    .parameter =
        {
            PELLET_QUANTITY("margin", WAVENUMBER, 50, 0, 500,
                            "how far the usable range may fall short at each end"),
        },
    .run = run_span,
};
