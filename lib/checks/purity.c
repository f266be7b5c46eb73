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
 *            regions count. Against the session's first blank only what that one has not is seen.
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
#define NARROW_IN_BEAM  60.0
/* The bending band of water, where the fit did not claim it: near 1630, and broad. */
#define WATER_BEND       1635.0
#define WATER_BEND_HALF  30.0
#define WATER_BEND_WIDTH 40.0

/*
 * Where a lone single beam shows the room's air, in full and not as a difference: the bending and the
 * stretching lines of water vapour with their wings, its rotation lines at the low end, and both bands of
 * carbon dioxide. Source: the strong lines of HITRAN reach from 1300 to 2000 and from 3500 to 3960; the
 * rotation lines up to about 600 and the extent of the carbon dioxide bands are from memory.
 */
static bool is_among_air(double nu)
{
    static const struct pellet_limit regions[] = {
        {0, 600}, {640, 700}, {1300, 2000}, {2280, 2400}, {3400, 3960},
    };

    for (size_t i = 0; i < sizeof regions / sizeof regions[0]; i++) {
        if (nu >= regions[i].low && nu <= regions[i].high)
            return true;
    }
    return false;
}

static bool is_room_air(const struct pellet_measurement *measurement, const struct pellet_band *band)
{
    return band->kind == PELLET_BAND_VAPOUR || band->kind == PELLET_BAND_CO2 ||
           (measurement->basis == PELLET_AGAINST_NOTHING && is_among_air(band->at_cm1));
}

static bool is_liquid_water(const struct pellet_band *band)
{
    return band->kind == PELLET_BAND_WATER ||
           (fabs(band->at_cm1 - WATER_BEND) <= WATER_BEND_HALF && band->width_cm1 >= WATER_BEND_WIDTH);
}

/* The highest band that a clean blank does not have, or NULL. */
static const struct pellet_band *foreign_band(const struct pellet_measurement *measurement)
{
    const double narrow = measurement->basis == PELLET_AGAINST_NOTHING ? NARROW_IN_BEAM : NARROW_IN_RATIO;

    for (size_t i = 0; i < measurement->band_count; i++) {
        const struct pellet_band *band = &measurement->band[i];
        if (band->width_cm1 <= narrow && !is_room_air(measurement, band) && !is_liquid_water(band))
            return band;
    }
    return NULL;
}

static void run_purity(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                       struct pellet_finding *finding)
{
    const double limit = pellet_rule_quantity(rule, LIMIT);

    if (!checks_has_bands(measurement, finding))
        return;
    const struct pellet_band *band = foreign_band(measurement);
    if (band == NULL) {
        pellet_finding_above(finding, rule, 0.0, limit, PELLET_SAYS_IMPURE);
        return;
    }
    const struct pellet_impurity *impurity = pellet_impurity_at(band->at_cm1);
    pellet_finding_above(finding, rule, band->height, limit, PELLET_SAYS_IMPURE);
    checks_rest_on_band(finding, band);
    finding->at_least = band->at_least;
    snprintf(finding->word, sizeof finding->word, "%s", impurity != NULL ? impurity->name : "unknown");
}

const struct pellet_check pellet_check_purity = {
    .id = "purity",
    .bench_word = "foreign band",
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
