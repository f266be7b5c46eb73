// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Inverted: a narrow band that points the wrong way: something is in the blank that is not in the sample.
 *
 * Method:    the fitted ripple, and the fitted water where the blank holds more of it, are taken out of
 *            A. What then lies below the baseline, turned over, is searched for bands as the sample is.
 *            Counted are those narrower than the rule's width and deeper than 5 sigma of their place,
 *            outside 2380-2300 and carbon dioxide's bend at 667, in the regions of vapour only when
 *            clearly deeper than the vapour's own lines, no trough that the ripple left, and none that a
 *            band of the sample can feign. The value is the deepest.
 *            By side lobes a band feigns dips within 3 of its widths that is hardly wider than the
 *            resolution: the lobes of a Lorentz curve of width w at the resolution r go as exp(-pi w/r).
 *            By dispersion in coarse grains (Christiansen) a band takes away scatter beside it: then there
 *            is as much scatter as the dip is deep, up to the blank's own haze; and the dip is as far from
 *            the band as (1 - s x)/(1 + x^2) of that depth and height has its extremes apart, or as wide as
 *            dispersion, which goes as 1/x, makes it at that distance. A dip that takes little of much
 *            scatter may come from many bands and from further away. Either must be a band, which stands
 *            above the higher of its feet: what stands above the lower one only is the rim of the dip.
 *            Where nine tenths of the light are scattered the bands of coarse grains themselves turn over,
 * and a dip that takes less than a third of the scatter is not told. Limits:    what lies under the sample's
 * bands is not seen: there the curve stays above its baseline. A band of the blank that is also in the sample
 * cancels. The baseline gives way to a deep dip by a few per cent of its depth. In a pellet of coarse grains
 * a band of the blank within about three widths of the sample's is taken for a trough. A good check of the
 * blank catches it first. Source:    the project's own; the dispersive profile is the definition of
 * `asymmetry`, its extremes and the interferogram of a Lorentz curve are algebra.
 */
#include "checks/checks.h"
#include "checks/ripple_curve.h"
#include "checks/vapour.h"
#include "checks/view.h"
#include "pellet/reference.h"

#include <math.h>
#include <stdlib.h>

enum { LIMIT, WIDTH };

static const double SIGNIFICANT = 5.0;
static const double NEAR_WIDTHS = 3.0;
/* Of a dispersive band's height between its extremes half and more is above the baseline (algebra). */
static const double STANDING_SHARE = 0.45;
/* Side lobes of a Lorentz curve, relative to its top, are exp(-pi w/r) at a width w and a resolution r:
 * at 1.5 resolutions below one per cent. A file that states no resolution may have 16 cm-1. */
static const double SHARP_RESOLUTIONS = 1.5, SHARP_UNSTATED = 24.0;
/*
 * The trough that dispersion makes beside a band: how much of its depth may lie below a clear pellet, since
 * the blank is not quite clear; how deep, as a multiple of the band's height; how far away, as a multiple of
 * the distance that goes with the depth, since where two troughs meet each is half as deep; or, since
 * dispersion falls off as the distance, how wide, as a share of it: one alone is 1.7 times as wide and more.
 */
static const double BELOW_CLEAR = 0.3, TROUGH_DEPTH = 2.0, TROUGH_REACH = 1.5, TROUGH_WIDTH = 0.5;
/* A dip that takes less than this share of the scatter asks for a sixth of the difference of indices, which
 * bands make together from afar: then one this wide, as a share of the distance, may be a trough as well, and
 * one broader than the bands of what a blank holds (cm-1) is one. */
static const double FAR_SHARE = 1.0 / 3.0, FAR_WIDTH = 0.2, FAR_BROAD = 40.0;
/* A line may stand above the fitted pattern by this factor. */
static const double VAPOUR_ALLOWANCE = 1.5;
/* The Q branch of carbon dioxide's bend, and how wide a coarse resolution makes it (cm-1). */
static const double CO2_BEND_HALF = 8.0, CO2_BEND_WIDTH = 25.0;
/* What a minimum makes untrustworthy, to each side (cm-1). */
static const double AROUND = 50.0;
static const double LN_10 = 2.302585092994046;

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
            (*curve)[i] - fmin(m->residual_water[i], 0.0) - checks_ripple_at(&m->ripple, m->wavenumber[i]);
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

/*
 * A band of the sample stands above the higher of its feet. What only stands above the lower one, the bottom
 * of the dip, is the dip's own rim.
 */
static bool stands(const struct pellet_measurement *measurement, const struct pellet_band *band)
{
    const struct pellet_grid grid = pellet_measurement_grid(measurement);
    const double low = pellet_grid_at(grid, measurement->absorbance, band->low_cm1);
    const double high = pellet_grid_at(grid, measurement->absorbance, band->high_cm1);

    return !(band->top - fmax(low, high) < STANDING_SHARE * band->height);
}

static bool feigns_by_side_lobe(const struct pellet_measurement *measurement, const struct pellet_band *band,
                                const struct pellet_band *dip)
{
    const double sharp =
        isnan(measurement->resolution) ? SHARP_UNSTATED : SHARP_RESOLUTIONS * measurement->resolution;

    return band->width_cm1 < sharp && band->height >= dip->height &&
           fabs(band->at_cm1 - dip->at_cm1) <= NEAR_WIDTHS * band->width_cm1;
}

/* Height and depth of (1 - s x)/(1 + x^2) stand to each other as 1 to r, its extremes (1 + r)/sqrt(r) half
 * widths apart (algebra): the shallower, the further away. */
static double trough_distance(const struct pellet_band *band, const struct pellet_band *dip)
{
    const double r = dip->height / band->height;

    return 0.5 * band->width_cm1 * (1.0 + r) / sqrt(r);
}

/* `scatter`: what the pellet scatters at the dip, A. */
static bool is_shallow(const struct pellet_band *dip, double scatter)
{
    return dip->height <= FAR_SHARE * scatter;
}

static bool feigns_by_dispersion(const struct pellet_band *band, const struct pellet_band *dip,
                                 double scatter)
{
    const double away = fabs(band->at_cm1 - dip->at_cm1);

    if (dip->height * (1.0 - BELOW_CLEAR) > scatter || dip->height > TROUGH_DEPTH * band->height)
        return false;
    if (away <= TROUGH_REACH * trough_distance(band, dip) || dip->width_cm1 >= TROUGH_WIDTH * away)
        return true;
    return is_shallow(dip, scatter) &&
           (away <= NEAR_WIDTHS * band->width_cm1 || dip->width_cm1 >= FAR_WIDTH * away);
}

static bool beside_band(const struct pellet_measurement *measurement, const struct pellet_band *dip)
{
    const double scatter =
        pellet_grid_at(pellet_measurement_grid(measurement), measurement->baseline, dip->at_cm1);

    if (is_shallow(dip, scatter) && (dip->width_cm1 >= FAR_BROAD || checks_is_dark(measurement, dip->at_cm1)))
        return true;
    for (size_t i = 0; i < measurement->band_count; i++) {
        const struct pellet_band *band = &measurement->band[i];
        if (band->kind == PELLET_BAND_SAMPLE && stands(measurement, band) &&
            (feigns_by_side_lobe(measurement, band, dip) || feigns_by_dispersion(band, dip, scatter)))
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
           !beside_band(measurement, dip) && !checks_is_rest_of_crest(&measurement->ripple, dip) &&
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
    .bench_word = PELLET_BENCH_INVERTED,
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
