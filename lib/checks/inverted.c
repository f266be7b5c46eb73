// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Inverted: a narrow band that points the wrong way: something is in the blank that is not in the sample.
 *
 * Method:    the fitted ripple, and the fitted water where the blank holds more of it, are taken out of
 *            A. What then lies below the baseline, turned over, is searched for bands as the sample is.
 *            Counted are those narrower than the rule's width and deeper than 5 sigma of their place,
 *            outside 2380-2300, beside carbon dioxide's bend at 667 where deeper than its stretch explains,
 *            in the regions of vapour only when clearly deeper than the vapour's own lines, no trough that
 *            the ripple left, and none that the sample's bands can feign (feigned.h). The value is the
 *            deepest.
 * Limits:    what lies under the sample's bands is not seen: there the curve stays above its baseline. A band
 *            of the blank that is also in the sample cancels. The baseline gives way to a deep dip by a few
 *            per cent of its depth. In a pellet of coarse grains a band of the blank within about three
 *            widths of the sample's is taken for a trough. A good check of the blank catches it first.
 * Source:    the project's own.
 */
#include "checks/feigned.h"
#include "checks/ripple_curve.h"
#include "checks/vapour.h"
#include "checks/view.h"
#include "pellet/reference.h"

#include <math.h>
#include <stdlib.h>

enum { LIMIT, WIDTH };

static const double SIGNIFICANT = 5.0;
/* A line may stand above the fitted pattern by this factor, and neighbouring ones make a dip as wide as so many
 * resolutions and as this (cm-1). */
static const double VAPOUR_ALLOWANCE = 1.5, VAPOUR_RESOLUTIONS = 3.0, VAPOUR_WIDTH = 8.0;
/* The Q branch of carbon dioxide's bend, and how wide a coarse resolution makes it (cm-1). */
static const double CO2_BEND_HALF = 8.0, CO2_BEND_WIDTH = 25.0;
/* How far its other branches and the hot bands beside it reach (cm-1), and how deep they are at most beside
 * the stretch: 0.05 to 0.17 of it, the more the blacker the lines (HITRAN's strengths of the two
 * bands, 9.5e-17 and 8.0e-18, in the model of lib/synth/air.c at 1 to 16 cm-1, a metre and less of room air).
 */
static const double CO2_BRANCHES = 60.0, CO2_BRANCH_SHARE = 0.2;
/* What a minimum makes untrustworthy, to each side (cm-1). */
static const double AROUND = 50.0;
static const double LN_10 = 2.302585092994046;

/* 1 sigma of A at one point. */
static double sigma_at(const struct pellet_measurement *measurement, size_t i)
{
    const double sigma = measurement->sigma[i] / (LN_10 * measurement->transmittance[i]);

    return isfinite(sigma) && sigma > 0.0 ? sigma : isnan(measurement->noise) ? 0.0 : measurement->noise;
}

/* What points the wrong way; all owned. */
struct dips {
    double *calm;            /* A without its ripple */
    double *curve, *sigma;   /* how far that, dry, lies below the baseline, 0 above it; 1 sigma of A */
    struct pellet_band *dip; /* turned over, deepest first */
    size_t count;
};

static void dips_clear(struct dips *dips)
{
    free(dips->calm);
    free(dips->curve);
    free(dips->sigma);
    free(dips->dip);
}

static bool turn_over(const struct pellet_measurement *measurement, struct dips *dips)
{
    const struct pellet_measurement *m = measurement;

    dips->calm = checks_without_ripple(m);
    dips->curve =
        dips->calm == NULL
            ? NULL
            : pellet_measurement_without(m, dips->calm,
                                         PELLET_POINT_UNUSABLE | PELLET_POINT_LOWER_BOUND | PELLET_POINT_CO2);
    dips->sigma = malloc((m->n ? m->n : 1) * sizeof *dips->sigma);
    if (dips->curve == NULL || dips->sigma == NULL)
        return false;
    for (size_t i = 0; i < m->n; i++) {
        const double dry = dips->curve[i] - fmin(m->residual_water[i], 0.0);
        dips->curve[i] = dry > m->baseline[i] ? 0.0 : m->baseline[i] - dry; /* NaN stays NaN */
        dips->sigma[i] = sigma_at(m, i);
    }
    return true;
}

static pellet_status find_dips(const struct pellet_measurement *measurement, struct dips *dips)
{
    double *flat = calloc(measurement->n ? measurement->n : 1, sizeof *flat);
    pellet_status status = PELLET_E_MEMORY;
    size_t usable = 0;

    if (flat != NULL && turn_over(measurement, dips)) {
        for (size_t i = 0; i < measurement->n; i++)
            usable += isnan(dips->curve[i]) ? 0 : 1;
        status = usable == 0 ? PELLET_E_SHORT
                             : pellet_bands_find_sigma(pellet_measurement_grid(measurement), dips->curve,
                                                       flat, dips->sigma, NULL, &dips->dip, &dips->count);
    }
    free(flat);
    return status;
}

static bool in_vapour(double nu)
{
    return (nu >= PELLET_VAPOUR_BEND_LOW && nu <= PELLET_VAPOUR_BEND_HIGH) ||
           (nu >= PELLET_VAPOUR_STRETCH_LOW && nu <= PELLET_VAPOUR_STRETCH_HIGH);
}

/* Carbon dioxide, more of it in the blank's air by `stretch` (A): the stretch, the Q branch of the bend, or
 * what stands beside that. */
static bool is_carbon_dioxide(const struct pellet_band *dip, double stretch)
{
    const double away = fabs(dip->at_cm1 - PELLET_CO2_BEND);

    return (dip->at_cm1 >= PELLET_CO2_LOW && dip->at_cm1 <= PELLET_CO2_HIGH) ||
           (away <= CO2_BEND_HALF && dip->width_cm1 < CO2_BEND_WIDTH) ||
           (away <= CO2_BRANCHES && dip->height <= CO2_BRANCH_SHARE * stretch);
}

/* At an end of the file a dip shows only one of its feet, and the baseline beyond is a guess. */
static bool at_an_end(const struct pellet_measurement *measurement, const struct pellet_band *dip)
{
    const double low = measurement->wavenumber[0];
    const double high = measurement->wavenumber[measurement->n - 1];

    return dip->at_cm1 - low < dip->width_cm1 || high - dip->at_cm1 < dip->width_cm1;
}

/* What the room's air in the blank explains: peak to peak of vapour's lines, depth of CO2's stretch, A. */
struct air {
    double vapour, carbon_dioxide;
};

/* Where the lines or the band cannot be measured there are none to be misled by. E_MEMORY. */
static pellet_status find_air(const struct pellet_measurement *measurement, const double *calm,
                              struct air *air)
{
    struct pellet_vapour lines = {0};
    struct checks_carbon_dioxide gas = {0};
    const pellet_status status = pellet_vapour_fit(measurement, &lines);

    *air = (struct air){0};
    if (status == PELLET_OK)
        air->vapour = fabs(lines.peak_to_peak);
    if (checks_carbon_dioxide_find(measurement, calm, &gas) == PELLET_OK)
        air->carbon_dioxide = fmax(-gas.height, 0.0);
    return status == PELLET_E_MEMORY ? status : PELLET_OK;
}

/* Whether the room's vapour in the blank explains it. */
static bool is_vapour(const struct pellet_measurement *measurement, const struct pellet_band *dip,
                      double vapour)
{
    return in_vapour(dip->at_cm1) && dip->height <= VAPOUR_ALLOWANCE * vapour &&
           !(dip->width_cm1 > VAPOUR_WIDTH &&
             dip->width_cm1 > VAPOUR_RESOLUTIONS * measurement->resolution); /* NaN: may be any */
}

static bool counts(const struct pellet_measurement *measurement, const struct dips *dips,
                   const struct pellet_band *dip, double width_max, const struct air *air)
{
    const double noise = pellet_grid_at(pellet_measurement_grid(measurement), dips->sigma, dip->at_cm1);

    return dip->width_cm1 < width_max && dip->height > SIGNIFICANT * noise &&
           !is_carbon_dioxide(dip, air->carbon_dioxide) && !is_vapour(measurement, dip, air->vapour) &&
           !checks_is_beside_band(measurement, dips->calm, dip) &&
           !checks_is_rest_of_crest(&measurement->ripple, dip) && !at_an_end(measurement, dip);
}

/* The deepest goes into the finding; each that is beyond the limit makes its surroundings untrustworthy, and
 * is looked at once more, since that is dear. */
static void judge_dips(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                       const struct dips *dips, struct pellet_finding *finding)
{
    const double limit = pellet_rule_quantity(rule, LIMIT);
    const struct pellet_band *deepest = NULL, *dip = dips->dip;
    struct air air;

    if (find_air(measurement, dips->calm, &air) != PELLET_OK) {
        pellet_finding_not_checked(finding, PELLET_SAYS_NO_MEMORY);
        return;
    }
    for (size_t i = 0; i < dips->count; i++) {
        if (!counts(measurement, dips, &dip[i], pellet_rule_quantity(rule, WIDTH), &air) ||
            (dip[i].height > limit && checks_is_dispersion(measurement, dips->calm, &dip[i])))
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
    struct dips dips = {0};

    if (measurement->transmittance == NULL) {
        pellet_finding_not_checked(finding, PELLET_SAYS_NEEDS_RATIO);
        return;
    }
    const pellet_status status = find_dips(measurement, &dips);
    if (status == PELLET_OK)
        judge_dips(measurement, rule, &dips, finding);
    else
        pellet_finding_not_checked(finding, status == PELLET_E_MEMORY  ? PELLET_SAYS_NO_MEMORY
                                            : status == PELLET_E_SHORT ? PELLET_SAYS_NO_CLEAR_WINDOW
                                                                       : PELLET_SAYS_NO_FIT);
    dips_clear(&dips);
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
