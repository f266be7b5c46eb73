// SPDX-License-Identifier: GPL-3.0-or-later
/* Scale off: largest error of a polystyrene band of the film. */
#include "checks/checks.h"

static void run_wavenumber(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                           struct pellet_finding *finding)
{
    (void)measurement;
    (void)rule;
    pellet_finding_not_checked(finding, PELLET_SAYS_NOTHING);
}

const struct pellet_check pellet_check_wavenumber = {
    .id = "wavenumber",
    .bench_word = "scale off",
    .quantity = "wavenumber_error",
    .unit = PELLET_UNIT_WAVENUMBER,
    .outcome = PELLET_RESCAN,
    .roles = PELLET_FOR(PELLET_FILM),
    .stage = PELLET_STAGE_TRUST,
    .meaning = "largest error of a polystyrene band of the film",
    .source = "tolerances of Ph. Eur. 2.2.24 and JP 2.25, from memory; centroid of the upper half: C. Zhu, "
              "L. M. Hanssen (1998)",
    .parameter =
        {
            PELLET_QUANTITY("above_1900", WAVENUMBER, 1.5, 0.05, 20,
                            "largest error of a band above 1900 cm-1"),
            PELLET_QUANTITY("below_1900", WAVENUMBER, 1.0, 0.05, 20,
                            "largest error of a band below 1900 cm-1"),
        },
    .run = run_wavenumber,
};
