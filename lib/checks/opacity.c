// SPDX-License-Identifier: GPL-3.0-or-later
/* Cloudy: mean transmittance near 2000 cm-1, away from bands. */
#include "checks/checks.h"

static void run_opacity(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                        struct pellet_finding *finding)
{
    (void)measurement;
    (void)rule;
    pellet_finding_not_checked(finding, PELLET_SAYS_NOTHING);
}

const struct pellet_check pellet_check_opacity = {
    .id = "opacity",
    .bench_word = "cloudy",
    .quantity = "transmittance",
    .unit = PELLET_UNIT_PERCENT,
    .outcome = PELLET_REMAKE,
    .roles = PELLET_FOR(PELLET_SAMPLE) | PELLET_FOR(PELLET_BLANK),
    .stage = PELLET_STAGE_PELLET,
    .meaning = "mean transmittance near 2000 cm-1, away from bands",
    .source = "Ph. Eur. 2.2.24, from memory: 60 % without compensation, older editions 75 %; 65.6 % = 60 % / "
              "91.5 % of a clear plate",
    .parameter =
        {
            PELLET_QUANTITY("against_open_beam", PERCENT, 60, 1, 100,
                            "lowest, a sample against the open beam"),
            PELLET_QUANTITY("against_blank", PERCENT, 65.6, 1, 110,
                            "lowest, a sample against a blank whose own transmittance is not known"),
            PELLET_QUANTITY("blank_pellet", PERCENT, 75, 1, 100, "lowest, a blank against the open beam"),
            PELLET_RANGE("window", WAVENUMBER, 1950, 2050, 400, 4000, "where it is measured"),
            PELLET_RANGE("second_window", WAVENUMBER, 1900, 2150, 400, 4000,
                         "where it is measured when the first window holds bands"),
        },
    .run = run_opacity,
};
