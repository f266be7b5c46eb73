// SPDX-License-Identifier: GPL-3.0-or-later
/* Noisy: root mean square noise of the absorbance in a clear window, curvature and ripple taken out. */
#include "checks/checks.h"

static void run_noise(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                      struct pellet_finding *finding)
{
    (void)measurement;
    (void)rule;
    pellet_finding_not_checked(finding, PELLET_SAYS_NOTHING);
}

const struct pellet_check pellet_check_noise = {
    .id = "noise",
    .bench_word = "noisy",
    .quantity = "rms_absorbance",
    .unit = PELLET_UNIT_ABSORBANCE,
    .outcome = PELLET_RESCAN,
    .roles = PELLET_FOR(PELLET_SAMPLE) | PELLET_FOR(PELLET_BLANK) | PELLET_FOR(PELLET_OPEN_BEAM),
    .stage = PELLET_STAGE_TRUST,
    .meaning = "root mean square noise of the absorbance in a clear window, curvature and ripple taken out",
    .source = "common practice; noise in a clear window as ASTM E1421 uses it",
    .parameter =
        {
            PELLET_QUANTITY("limit", ABSORBANCE, 0.002, 1e-05, 0.5, "highest noise of a sample"),
            PELLET_QUANTITY("blank_limit", ABSORBANCE, 0.001, 1e-05, 0.5,
                            "highest noise of a blank or an open beam: half of the sample's"),
            PELLET_RANGE("window", WAVENUMBER, 2000, 2200, 400, 4000, "where it is measured"),
            PELLET_RANGE("second_window", WAVENUMBER, 2500, 2700, 400, 4000,
                         "where it is measured when the first window holds bands"),
        },
    .run = run_noise,
};
