// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Thickness of the pellet, from its own fringes or from its mass.
 *
 * Method:    The fringes of the pellet's own beam (`fringes`), in which the blank's are not yet mixed. Where
 *            there are none that are its own for sure: the mass pressed, by the worksheet, spread over the
 *            die at the density of KBr. That is an upper bound: powder stays in the mortar and at the die.
 * Limits:    The density is that of KBr without pores or sample: a per cent of organic matter makes it half a
 *            per cent too high. Fringes show the clear path at the beam, not a rim that is thicker.
 * Source:    KBr 2.75 g/cm3: 200 mg in a 13 mm die (21 CFR 436.211) make 0.548 mm, 300 mg in 16 mm 0.543 mm.
 *            The usual range is common practice, no source; 400 mg on 13 mm make 1.10 mm.
 */
#include "checks/view.h"

#include "pellet/judge.h"
#include "pellet/reference.h"

#include <math.h>

enum { USUAL };

double checks_worksheet_thickness(const struct pellet_measurement *measurement)
{
    const struct pellet_worksheet_row *row = measurement->inputs->row;

    if (row == NULL || !(row->die_mm > 0.0))
        return NAN;
    const double mass_mg = isfinite(row->pressed_mg) ? row->pressed_mg : row->sample_mg + row->kbr_mg;
    return mass_mg > 0.0 ? pellet_kbr_thickness_mm(mass_mg, row->die_mm) : NAN;
}

static void run_thickness(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                          struct pellet_finding *finding)
{
    const struct pellet_limit usual = rule->parameter[USUAL];
    const bool has_ratio = checks_has_ratio(measurement, finding);
    double fringes = NAN;

    if (has_ratio && checks_own_fringe_thickness(measurement, &fringes) != PELLET_OK) {
        pellet_finding_not_checked(finding, PELLET_SAYS_NO_MEMORY);
        return;
    }
    const double thickness = isfinite(fringes) ? fringes : checks_worksheet_thickness(measurement);

    if (!isfinite(thickness)) {
        pellet_finding_not_checked(finding, PELLET_SAYS_THICKNESS_UNKNOWN);
        return;
    }
    if (thickness < usual.low)
        pellet_finding_below(finding, rule, thickness, usual.low, PELLET_SAYS_THICKNESS_OUT);
    else
        pellet_finding_above(finding, rule, thickness, usual.high, PELLET_SAYS_THICKNESS_OUT);
    finding->basis = isfinite(fringes) ? "fringes" : "worksheet";
    finding->at_most = !isfinite(fringes);
    if (isfinite(fringes)) {
        const struct pellet_limit window = checks_fringe_window();
        pellet_finding_range(finding, window.low, window.high);
    } else {
        /* The worksheet's mass rests on no part of the spectrum: an empty range, which nothing overlaps. */
        finding->rests_low = INFINITY;
        finding->rests_high = -INFINITY;
    }
    finding->number[0] = usual.low;
    finding->number[1] = usual.high;
    finding->number_unit[0] = finding->number_unit[1] = PELLET_UNIT_MM;
}

const struct pellet_check pellet_check_thickness = {
    .id = "thickness",
    .bench_word = PELLET_BENCH_THICKNESS,
    .quantity = "thickness",
    .unit = PELLET_UNIT_MM,
    .outcome = PELLET_NOTE,
    .roles = PELLET_FOR(PELLET_SAMPLE),
    .stage = PELLET_STAGE_PELLET,
    .meaning = "thickness of the pellet, from its fringes or its mass",
    .source = "Appl. Spectrosc. 20, 116 (1966); KBr 2.75 g/cm3",
    .parameter =
        {
            PELLET_RANGE("usual", MM, 0.1, 1.2, 0.01, 10.0, "usual thickness"),
        },
    .run = run_thickness,
};
