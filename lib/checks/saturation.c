// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Too strong: total absorbance at the sample's strongest band, and bands that have run out of light.
 *
 * Method:    The strongest band is the one that stands highest above its feet; what is judged is its total
 *            absorbance, because the detector and stray light see the total. A flat top, or a top within
 *            3 sigma of zero light, on any band of the sample refuses whatever the number is.
 * Limits:    Where the top is off scale the value is a lower bound. With a false zero s the highest
 *            absorbance that can be read is -log10(s / (1 + s)), 2.0 at 1 %, so a band reads low before it
 *            looks flat; `leak` watches that.
 * Source:    Definition of A: ASTM E131. The limit is common practice; the error of reading T grows past
 *            A = 1 (0.4343 / (T A)).
 */
#include "checks/view.h"

enum { LIMIT };

/* The strongest band of the sample whose top cannot be read, or NULL. */
static const struct pellet_band *off_scale_band(const struct pellet_measurement *measurement)
{
    for (size_t i = 0; i < measurement->band_count; i++) {
        const struct pellet_band *band = &measurement->band[i];
        if (band->kind == PELLET_BAND_SAMPLE && (band->flat_top || band->at_least))
            return band;
    }
    return NULL;
}

static void run_saturation(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                           struct pellet_finding *finding)
{
    if (!checks_has_ratio(measurement, finding))
        return;
    const struct pellet_band *off_scale = off_scale_band(measurement);
    const struct pellet_band *band = off_scale != NULL ? off_scale : pellet_strongest_band(measurement);
    if (band == NULL) {
        pellet_finding_not_checked(finding, PELLET_SAYS_NO_BANDS);
        return;
    }
    pellet_finding_above(finding, rule, band->top, pellet_rule_quantity(rule, LIMIT), PELLET_SAYS_TOO_STRONG);
    if (off_scale != NULL) {
        finding->outcome = rule->outcome;
        finding->phrase = band->at_least ? PELLET_SAYS_TOO_STRONG_DARK : PELLET_SAYS_TOO_STRONG_FLAT;
        finding->at_least = true;
    }
    checks_rest_on_band(finding, band);
}

const struct pellet_check pellet_check_saturation = {
    .id = "saturation",
    .bench_word = PELLET_BENCH_SATURATION,
    .quantity = "absorbance",
    .unit = PELLET_UNIT_ABSORBANCE,
    .outcome = PELLET_REMAKE,
    .roles = PELLET_FOR(PELLET_SAMPLE),
    .stage = PELLET_STAGE_PELLET,
    .meaning = "total absorbance at the sample's strongest band",
    .source = "common practice: beyond it a small false zero bends the law of Lambert and Beer",
    .parameter =
        {
            PELLET_QUANTITY("limit", ABSORBANCE, 1.5, 0.3, 4.0, "highest absorbance of the strongest band"),
        },
    .run = run_saturation,
};
