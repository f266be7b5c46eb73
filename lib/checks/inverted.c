// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Inverted: a narrow band that points the wrong way: something is in the blank that is not in the sample.
 *
 * Method:    the fitted ripple, and the fitted water where the blank holds more of it, are taken out of
 *            A. What then lies below the baseline, turned over, is searched for bands as the sample is.
 *            Counted are those narrower than the rule's width and deeper than 5 sigma of their place,
 *            outside 2380-2300 and carbon dioxide's bend at 667, in the regions of vapour only when
 *            clearly deeper than the vapour's own lines, no trough of the ripple where it was not fitted,
 *            and not within 3 widths of a band of the sample that can feign them. By side lobes: one
 *            narrower than the rule's width itself, and at least as high as the dip is deep. By
 *            dispersion in coarse grains (Christiansen): one whose trough the dip can be, at most as deep
 *            as twice the band's height above its feet, of which the trough is one, and hardly narrower
 *            than a fifth of it. Such a trough only takes away scatter: its bottom hardly goes below the
 *            clearest part of the baseline, while a band of the blank in a clear pellet does. The value
 *            is the deepest.
 * Limits:    what lies under the sample's bands is not seen: there the curve stays above its baseline. A
 *            band of the blank that is also in the sample cancels. The baseline gives way to a deep dip
 *            by a few per cent of its depth. A good check of the blank catches it first.
 * Source:    the project's own.
 */
#include "checks/checks.h"
#include "checks/vapour.h"
#include "pellet/reference.h"

#include <math.h>
#include <stdlib.h>

enum { LIMIT, WIDTH };

static const double SIGNIFICANT = 5.0;
static const double NEAR_WIDTHS = 3.0;
/* The trough that dispersion makes beside a band: how narrow, as a share of the band's width, and how deep,
 * as a multiple of its height. */
static const double TROUGH_WIDTH = 0.2, TROUGH_DEPTH = 2.0;
/* Of its depth this share may lie below the clearest part of the baseline, which is itself drawn over
 * troughs. */
static const double SCATTER_SHARE = 0.5;
/* A line may stand above the fitted pattern by this factor. */
static const double VAPOUR_ALLOWANCE = 1.5;
/* The Q branch of carbon dioxide's bend, and how wide a coarse resolution makes it (cm-1). */
static const double CO2_BEND_HALF = 8.0, CO2_BEND_WIDTH = 25.0;
/* What a minimum makes untrustworthy, to each side (cm-1). */
static const double AROUND = 50.0;
static const double LN_10 = 2.302585092994046;

/* How far a place lies beyond the next lower crest, in periods. */
static double beyond_crest(const struct pellet_ripple *ripple, double nu)
{
    const double turns = nu / ripple->period_cm1 + ripple->phase / (2.0 * M_PI);

    return turns - floor(turns);
}

/* The fitted ripple, taken out to the crests beyond the ends of its range: what is left has whole troughs. */
static double ripple_at(const struct pellet_ripple *ripple, double nu)
{
    const double period = ripple->period_cm1;

    if (!(ripple->amplitude > 0.0) || nu < ripple->low_cm1 - period * beyond_crest(ripple, ripple->low_cm1) ||
        nu > ripple->high_cm1 + period * (1.0 - beyond_crest(ripple, ripple->high_cm1)))
        return 0.0;
    return ripple->amplitude * cos(2.0 * M_PI * nu / ripple->period_cm1 + ripple->phase);
}

/* 1 sigma of A at one point. */
static double sigma_at(const struct pellet_measurement *measurement, size_t i)
{
    const double sigma = measurement->sigma[i] / (LN_10 * measurement->transmittance[i]);

    return isfinite(sigma) && sigma > 0.0 ? sigma : isnan(measurement->noise) ? 0.0 : measurement->noise;
}

/* How far A, dry and without ripple, lies below the baseline, and its noise; 0 where it lies above. */
static bool turn_over(const struct pellet_measurement *measurement, double **curve, double **sigma)
{
    const struct pellet_measurement *m = measurement;

    *curve = pellet_measurement_without(m, m->absorbance,
                                        PELLET_POINT_UNUSABLE | PELLET_POINT_LOWER_BOUND | PELLET_POINT_CO2);
    *sigma = malloc((m->n ? m->n : 1) * sizeof **sigma);
    if (*curve == NULL || *sigma == NULL)
        return false;
    for (size_t i = 0; i < m->n; i++) {
        const double dry =
            (*curve)[i] - fmin(m->residual_water[i], 0.0) - ripple_at(&m->ripple, m->wavenumber[i]);
        (*curve)[i] = dry > m->baseline[i] ? 0.0 : m->baseline[i] - dry; /* NaN stays NaN */
        (*sigma)[i] = sigma_at(m, i);
    }
    return true;
}

static pellet_status find_dips(const struct pellet_measurement *measurement, const double *curve,
                               const double *sigma, struct pellet_band **dip, size_t *count)
{
    double *flat = calloc(measurement->n ? measurement->n : 1, sizeof *flat);
    pellet_status status = PELLET_E_MEMORY;
    size_t usable = 0;

    for (size_t i = 0; i < measurement->n; i++)
        usable += isnan(curve[i]) ? 0 : 1;
    if (flat != NULL && usable == 0)
        status = PELLET_E_SHORT;
    else if (flat != NULL)
        status = pellet_bands_find_sigma(pellet_measurement_grid(measurement), curve, flat, sigma, NULL, dip,
                                         count);
    free(flat);
    return status;
}

static bool in_vapour(double nu)
{
    return (nu >= PELLET_VAPOUR_BEND_LOW && nu <= PELLET_VAPOUR_BEND_HIGH) ||
           (nu >= PELLET_VAPOUR_STRETCH_LOW && nu <= PELLET_VAPOUR_STRETCH_HIGH);
}

/* The baseline where the pellet scatters least. */
static double clearest(const struct pellet_measurement *measurement)
{
    double least = INFINITY;

    for (size_t i = 0; i < measurement->n; i++) {
        if (!(measurement->mark[i] & PELLET_POINT_UNUSABLE))
            least = fmin(least, measurement->baseline[i]);
    }
    return least;
}

static bool feigns_by_side_lobe(const struct pellet_band *band, const struct pellet_band *dip,
                                double width_max)
{
    return band->width_cm1 < width_max && band->height >= dip->height;
}

static bool feigns_by_dispersion(const struct pellet_band *band, const struct pellet_band *dip)
{
    return dip->width_cm1 >= TROUGH_WIDTH * band->width_cm1 && dip->height <= TROUGH_DEPTH * band->height;
}

static bool beside_band(const struct pellet_measurement *measurement, const struct pellet_band *dip,
                        double width_max)
{
    const struct pellet_grid grid = pellet_measurement_grid(measurement);
    const double bottom = pellet_grid_at(grid, measurement->baseline, dip->at_cm1) - dip->height;
    const bool scatters = bottom + SCATTER_SHARE * dip->height >= clearest(measurement);

    for (size_t i = 0; i < measurement->band_count; i++) {
        const struct pellet_band *band = &measurement->band[i];
        if (band->kind == PELLET_BAND_SAMPLE &&
            fabs(band->at_cm1 - dip->at_cm1) <= NEAR_WIDTHS * band->width_cm1 &&
            (feigns_by_side_lobe(band, dip, width_max) || (scatters && feigns_by_dispersion(band, dip))))
            return true;
    }
    return false;
}

/* Carbon dioxide, more of it in the blank's air: the stretch, or the Q branch of the bend. */
static bool is_carbon_dioxide(const struct pellet_band *dip)
{
    return (dip->at_cm1 >= PELLET_CO2_LOW && dip->at_cm1 <= PELLET_CO2_HIGH) ||
           (fabs(dip->at_cm1 - PELLET_CO2_BEND) <= CO2_BEND_HALF && dip->width_cm1 < CO2_BEND_WIDTH);
}

/* At an end of the file a dip shows only one of its feet, and the baseline beyond is a guess. */
static bool at_an_end(const struct pellet_measurement *measurement, const struct pellet_band *dip)
{
    const double low = measurement->wavenumber[0];
    const double high = measurement->wavenumber[measurement->n - 1];

    return dip->at_cm1 - low < dip->width_cm1 || high - dip->at_cm1 < dip->width_cm1;
}

static bool counts(const struct pellet_measurement *measurement, const double *sigma,
                   const struct pellet_band *dip, double width_max, double vapour)
{
    const double noise = pellet_grid_at(pellet_measurement_grid(measurement), sigma, dip->at_cm1);

    return dip->width_cm1 < width_max && dip->height > SIGNIFICANT * noise && !is_carbon_dioxide(dip) &&
           !(in_vapour(dip->at_cm1) && dip->height <= VAPOUR_ALLOWANCE * vapour) &&
           !beside_band(measurement, dip, width_max) && !pellet_ripple_is_crest(&measurement->ripple, dip) &&
           !at_an_end(measurement, dip);
}

/* The deepest goes into the finding; each that is beyond the limit makes its surroundings untrustworthy. */
static void judge_dips(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                       const double *sigma, const struct pellet_band *dip, size_t count,
                       struct pellet_finding *finding)
{
    const double limit = pellet_rule_quantity(rule, LIMIT);
    struct pellet_vapour air = {0};
    const pellet_status status = pellet_vapour_fit(measurement, &air);
    /* Where the lines cannot be fitted there are none to be misled by. */
    const double vapour = status == PELLET_OK ? fabs(air.peak_to_peak) : 0.0;
    const struct pellet_band *deepest = NULL;

    if (status == PELLET_E_MEMORY) {
        pellet_finding_not_checked(finding, PELLET_SAYS_NO_MEMORY);
        return;
    }
    for (size_t i = 0; i < count; i++) {
        if (!counts(measurement, sigma, &dip[i], pellet_rule_quantity(rule, WIDTH), vapour))
            continue;
        if (deepest == NULL || dip[i].height > deepest->height)
            deepest = &dip[i];
        if (dip[i].height > limit)
            pellet_finding_distrust(finding, dip[i].at_cm1 - AROUND, dip[i].at_cm1 + AROUND);
    }
    pellet_finding_above(finding, rule, deepest != NULL ? deepest->height : 0.0, limit,
                         PELLET_SAYS_INVERTED_BAND);
    if (deepest != NULL)
        pellet_finding_place(finding, deepest->at_cm1, AROUND);
    else
        finding->phrase = PELLET_SAYS_INVERTED_NONE;
    if (!pellet_finding_refuses(finding))
        finding->distrust_count = 0;
}

static void run_inverted(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                         struct pellet_finding *finding)
{
    struct pellet_band *dip = NULL;
    double *curve = NULL, *sigma = NULL;
    size_t count = 0;
    pellet_status status = PELLET_E_MEMORY;

    if (measurement->transmittance == NULL) {
        pellet_finding_not_checked(finding, PELLET_SAYS_NEEDS_RATIO);
        return;
    }
    if (turn_over(measurement, &curve, &sigma))
        status = find_dips(measurement, curve, sigma, &dip, &count);
    if (status == PELLET_OK)
        judge_dips(measurement, rule, sigma, dip, count, finding);
    else
        pellet_finding_not_checked(finding, status == PELLET_E_MEMORY  ? PELLET_SAYS_NO_MEMORY
                                            : status == PELLET_E_SHORT ? PELLET_SAYS_NO_CLEAR_WINDOW
                                                                       : PELLET_SAYS_NO_FIT);
    free(dip);
    free(curve);
    free(sigma);
}

const struct pellet_check pellet_check_inverted = {
    .id = "inverted",
    .bench_word = "blank at fault",
    .quantity = "inverted_absorbance",
    .unit = PELLET_UNIT_ABSORBANCE,
    .outcome = PELLET_WAIT,
    .roles = PELLET_FOR(PELLET_SAMPLE),
    .stage = PELLET_STAGE_TRUST,
    .meaning = "depth of the deepest narrow band that points the wrong way",
    .source = "the project's own",
    .parameter =
        {
            PELLET_QUANTITY("limit", ABSORBANCE, 0.02, 0.0001, 1.0, "deepest inverted band"),
            PELLET_QUANTITY("width", WAVENUMBER, 60, 5, 200, "only minima narrower than this count"),
        },
    .run = run_inverted,
};
