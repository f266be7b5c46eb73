// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Foreign band: what a blank must not have.
 *
 * Method:    The highest band of the blank that is neither liquid water, nor water vapour, nor carbon
 *            dioxide, and narrow enough to be a band at all; named after the impurity in whose range it
 *            stands. Without an open beam it is sought in -log10 of the single beam, over the chord between
 *            its feet.
 * Limits:    In a single beam the room's air covers what stands among its lines, and the instrument's own
 *            broad structure looks like a band: there only bands narrower than 60 cm-1 outside the air's
 *            regions count, and the C-H stretch, which is the optics' as often, is only a note. Against the
 *            session's first blank only what that one has not is seen.
 * Source:    Reagent test of KBr for infrared: a disc of 2 mm shows no maximum above 0.02 A but those of
 *            water near 3440 and 1630 cm-1 (State Pharmacopoeia of Kazakhstan I, 2008). The list of
 *            impurities: CRC Handbook of Chemistry and Physics.
 */
#include "checks/view.h"

#include "pellet/reference.h"

#include <math.h>
#include <stdio.h>

enum { LIMIT };

#define NARROW_IN_RATIO 150.0 /* cm-1 */
/* The C-H stretch: single beams of an empty cell show it with 0.03 A. */
#define OPTICS_LOW     2800.0
#define OPTICS_HIGH    3000.0
#define NARROW_IN_BEAM 60.0
/* Of its height above its feet a band must stand this share above the baseline. */
#define STANDING_SHARE 0.5
/* Of its width a band's foot must stand this share away from the top: a symmetric one's are half away and
 * more. */
#define FLANK_SHARE 0.25
/* The bending band of water, where the fit did not claim it: near 1630, and broad. */
#define WATER_BEND       1635.0
#define WATER_BEND_HALF  30.0
#define WATER_BEND_WIDTH 40.0

static bool is_room_air(const struct pellet_measurement *measurement, const struct pellet_band *band)
{
    return band->kind == PELLET_BAND_VAPOUR || band->kind == PELLET_BAND_CO2 ||
           (measurement->basis == PELLET_AGAINST_NOTHING && checks_is_among_air(band->at_cm1));
}

static bool is_liquid_water(const struct pellet_band *band)
{
    return band->kind == PELLET_BAND_WATER ||
           (fabs(band->at_cm1 - WATER_BEND) <= WATER_BEND_HALF && band->width_cm1 >= WATER_BEND_WIDTH);
}

/* Whether the band may as well be a film on the instrument's own mirrors and windows, always in the beam. */
static bool may_be_optics(const struct pellet_measurement *measurement, const struct pellet_band *band)
{
    return measurement->basis == PELLET_AGAINST_NOTHING && band->at_cm1 >= OPTICS_LOW &&
           band->at_cm1 <= OPTICS_HIGH;
}

/*
 * A band of the blank stands above its baseline. What only stands above its feet is the ground beside a dip:
 * of carbon dioxide that the reference saw more of, say. Beneath a lone single beam the baseline is no more
 * than a chord through the curve of the energy, and a band on its way down stands below it.
 */
static bool stands(const struct pellet_measurement *measurement, const struct pellet_band *band)
{
    const double baseline =
        pellet_grid_at(pellet_measurement_grid(measurement), measurement->baseline, band->at_cm1);

    return measurement->basis == PELLET_AGAINST_NOTHING ||
           band->top - baseline >= STANDING_SHARE * band->height;
}

/*
 * A band has two flanks. What rises on one side only is a bend of the curve on which a ripple has set a top:
 * a lone single beam, which is all slopes, has many.
 */
static bool has_two_flanks(const struct pellet_band *band)
{
    const double flank = FLANK_SHARE * band->width_cm1;

    return band->at_cm1 - band->low_cm1 >= flank && band->high_cm1 - band->at_cm1 >= flank;
}

/* The highest band that a clean blank does not have, among those that may be the optics' or those that may
 * not; NULL where there is none. */
static const struct pellet_band *foreign_band(const struct pellet_measurement *measurement, bool optics)
{
    const double narrow = measurement->basis == PELLET_AGAINST_NOTHING ? NARROW_IN_BEAM : NARROW_IN_RATIO;

    for (size_t i = 0; i < measurement->band_count; i++) {
        const struct pellet_band *band = &measurement->band[i];
        if (band->width_cm1 <= narrow && may_be_optics(measurement, band) == optics &&
            !is_room_air(measurement, band) && !is_liquid_water(band) && stands(measurement, band) &&
            has_two_flanks(band))
            return band;
    }
    return NULL;
}

static void report(struct pellet_finding *finding, const struct pellet_band *band)
{
    const struct pellet_impurity *impurity = pellet_impurity_at(band->at_cm1);

    checks_rest_on_band(finding, band);
    finding->at_least = band->at_least;
    snprintf(finding->word, sizeof finding->word, "%s", impurity != NULL ? impurity->name : "unknown");
}

static void run_purity(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                       struct pellet_finding *finding)
{
    const double limit = pellet_rule_quantity(rule, LIMIT);

    if (!checks_has_bands(measurement, finding))
        return;
    const struct pellet_band *band = foreign_band(measurement, false);
    const struct pellet_band *optics = foreign_band(measurement, true);
    pellet_finding_above(finding, rule, band != NULL ? band->height : 0.0, limit, PELLET_SAYS_IMPURE);
    if (finding->phrase == PELLET_SAYS_IMPURE || optics == NULL) {
        if (band != NULL)
            report(finding, band);
        return;
    }
    pellet_finding_above(finding, rule, optics->height, limit, PELLET_SAYS_IMPURE_OR_OPTICS);
    report(finding, optics);
    if (pellet_finding_refuses(finding))
        finding->outcome = PELLET_NOTE;
}

const struct pellet_check pellet_check_purity = {
    .id = "purity",
    .bench_word = PELLET_BENCH_PURITY,
    .quantity = "height",
    .unit = PELLET_UNIT_ABSORBANCE,
    .outcome = PELLET_REMAKE,
    .roles = PELLET_FOR(PELLET_BLANK),
    .stage = PELLET_STAGE_PELLET,
    .meaning = "strongest narrow band of a blank that is not water, vapour or carbon dioxide",
    .source = "reagent test of KBr for infrared, State Pharmacopoeia of Kazakhstan I (2008): no maximum "
              "above 0.02 A",
    .parameter =
        {
            PELLET_QUANTITY("limit", ABSORBANCE, 0.02, 0.0005, 1.0, "highest band"),
        },
    .run = run_purity,
};
