// SPDX-License-Identifier: GPL-3.0-or-later
/* Ripple: periodic ripple of the baseline, peak to peak. */
#include "checks/checks.h"

static void run_fringes(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                        struct pellet_finding *finding)
{
    (void)measurement;
    (void)rule;
    pellet_finding_not_checked(finding, PELLET_SAYS_NOTHING);
}

const struct pellet_check pellet_check_fringes = {
    .id = "fringes",
    .bench_word = "ripple",
    .quantity = "ripple_peak_to_peak",
    .unit = PELLET_UNIT_ABSORBANCE,
    .outcome = PELLET_NOTE,
    .roles = PELLET_FOR(PELLET_SAMPLE) | PELLET_FOR(PELLET_BLANK),
    .stage = PELLET_STAGE_PELLET,
    .meaning = "periodic ripple of the baseline, peak to peak",
    .source = "Appl. Spectrosc. 20, 116 (1966)",
    .parameter =
        {
            PELLET_QUANTITY("limit", ABSORBANCE, 0.02, 0.0001, 1.0, "largest ripple"),
            PELLET_RANGE("window", WAVENUMBER, 1900, 2500, 400, 4000, "where it is measured"),
        },
    .run = run_fringes,
};
