// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Skewed: the Christiansen effect of grains that are not small against the wavelength.
 *
 * Method:    (a + d x)/(1 + x^2), x = (v - v0)/gamma, on a straight line, is fitted to each band of the
 *            sample in the shape's own window, three half widths gamma to each side of its own centre v0
 *            (pellet_band_shape_fit), in A without its ripple, whose slopes would skew the bands on them.
 *            Those count that it describes, whose absorbing part a is within the rule's heights, that are
 *            narrow, and isolated: carried on by a third of its window to each side, the fit still holds to a
 *            tenth of a. The value is the median of -d/a, positive where the flank towards high wavenumbers
 *            is the steep one. Beyond the limit it refuses when at least three bands agree, or when the
 *            baseline slopes as well; else it is a note.
 * Limits:    Unresolved shoulders and hydrogen-bonded bands are skewed by themselves: hence isolated and
 *            narrow bands only, and several that agree. The shape holds for particles of one material in a
 *            matrix of another index, as long as d is not much greater than a; -d/a grows with the
 *            wavenumber and the grains' size, by a factor that their shape and the optics set.
 * Source:    High flank steep, low flank shallow: C. Prost, Clays Clay Miner. 21, 363 (1973). The measure and
 *            the limit are the project's own.
 */
#include "checks/ripple_curve.h"
#include "checks/view.h"

#include <math.h>
#include <stdlib.h>

enum { LIMIT, HEIGHTS };

#define BANDS_MAX     64
#define AGREE_LEAST   3
#define WINDOW_WIDTHS 1.5  /* of the fit, full widths to each side */
#define WIDTH_MAX     60.0 /* cm-1: hydrogen-bonded and overlapping bands are wider */
#define LOOKED_AT     0.5  /* of the height, and of the width: what looks further off is not fitted */
#define WIDTH_POINTS  3.0  /* a band narrower than so many spacings has no shape */
#define BESIDE_MOST   0.1  /* of a: what the fit may leave just beyond its window, or others are near */
#define SIGMA_MAX     0.1  /* a skew that is known worse than this, */
#define SIGMA_SHARE   0.25 /* and worse than this share of itself, is not used */
#define SLOPING_LEAST 0.5  /* of the limit of `tilt`: a slope that speaks for coarse grains as well */

struct skews {
    size_t n;
    double skew[BANDS_MAX]; /* rising after skews_median */
    double low_cm1, high_cm1;
    bool no_memory; /* for one of the fits */
};

/* Whether a band of the sample is seen whole, and may turn out to be one that counts. */
static bool is_worth_a_fit(const struct pellet_band *band, struct pellet_limit heights)
{
    return band->kind == PELLET_BAND_SAMPLE && !band->flat_top && !band->at_least &&
           band->height >= LOOKED_AT * heights.low && band->width_cm1 <= WIDTH_MAX / LOOKED_AT;
}

/* Whether what a band absorbs is of the wanted height, and neither too broad, too narrow nor in company. */
static bool counts(const struct pellet_measurement *measurement, const struct pellet_band_shape *shape,
                   struct pellet_limit heights)
{
    const double width = 2.0 * shape->gamma_cm1, half = WINDOW_WIDTHS * width;

    return shape->a >= heights.low && shape->a <= heights.high && width <= WIDTH_MAX &&
           width >= WIDTH_POINTS * measurement->spacing &&
           shape->skew_sigma <= fmax(SIGMA_MAX, SIGMA_SHARE * fabs(shape->skew)) &&
           checks_covers(measurement, shape->at_cm1 - half, shape->at_cm1 + half) &&
           shape->beyond < BESIDE_MOST * shape->a;
}

/*
 * The top of a very skewed band is not its centre: where the fit does not hold from the top it is begun half
 * a width to either side. E_FIT where it holds from nowhere.
 */
static pellet_status fit_shape(const struct pellet_measurement *measurement, const double *calm,
                               const struct pellet_band *band, struct pellet_band_shape *shape)
{
    static const double starts[] = {0.0, 0.5, -0.5};

    for (size_t i = 0; i < sizeof starts / sizeof starts[0]; i++) {
        struct pellet_band from = *band;
        from.at_cm1 += starts[i] * band->width_cm1;
        const pellet_status status = pellet_band_shape_fit(pellet_measurement_grid(measurement), calm, &from,
                                                           WINDOW_WIDTHS, 0.0, HUGE_VAL, shape);
        if (status == PELLET_E_MEMORY || (status == PELLET_OK && shape->ok))
            return status;
    }
    return PELLET_E_FIT;
}

static void skews_add(struct skews *skews, const struct pellet_measurement *measurement, const double *calm,
                      const struct pellet_band *band, struct pellet_limit heights)
{
    struct pellet_band_shape shape;

    if (skews->n == BANDS_MAX || !is_worth_a_fit(band, heights))
        return;
    const pellet_status status = fit_shape(measurement, calm, band, &shape);
    skews->no_memory = skews->no_memory || status == PELLET_E_MEMORY;
    if (status != PELLET_OK || !counts(measurement, &shape, heights))
        return;
    const double half = WINDOW_WIDTHS * 2.0 * shape.gamma_cm1;
    skews->skew[skews->n++] = shape.skew;
    skews->low_cm1 = fmin(skews->low_cm1, shape.at_cm1 - half);
    skews->high_cm1 = fmax(skews->high_cm1, shape.at_cm1 + half);
}

static int rising(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double skews_median(struct skews *skews)
{
    qsort(skews->skew, skews->n, sizeof skews->skew[0], rising);
    return 0.5 * (skews->skew[(skews->n - 1) / 2] + skews->skew[skews->n / 2]);
}

/* How many bands are skewed the same way and about as much as the median, within half of it. */
static size_t skews_agreeing(const struct skews *skews, double median)
{
    size_t count = 0;

    for (size_t i = 0; i < skews->n; i++) {
        if (fabs(skews->skew[i] - median) <= 0.5 * fabs(median))
            count++;
    }
    return count;
}

/* Whether the baseline slopes enough to bear out what one or two bands say. */
static bool slopes_as_well(const struct pellet_measurement *measurement)
{
    if (measurement->basis == PELLET_AGAINST_UNKNOWN)
        return false;
    const double limit = checks_rule_quantity(measurement, &pellet_check_tilt, 0);
    return checks_tilt(measurement) >= SLOPING_LEAST * limit;
}

static void skews_find(struct skews *skews, const struct pellet_measurement *measurement,
                       struct pellet_limit heights)
{
    double *calm = checks_without_ripple(measurement);

    *skews = (struct skews){.low_cm1 = INFINITY, .high_cm1 = -INFINITY, .no_memory = calm == NULL};
    for (size_t i = 0; calm != NULL && i < measurement->band_count; i++)
        skews_add(skews, measurement, calm, &measurement->band[i], heights);
    free(calm);
}

static void run_asymmetry(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                          struct pellet_finding *finding)
{
    struct skews skews;

    if (!checks_has_ratio(measurement, finding))
        return;
    skews_find(&skews, measurement, rule->parameter[HEIGHTS]);
    if (skews.no_memory) {
        pellet_finding_not_checked(finding, PELLET_SAYS_NO_MEMORY);
        return;
    }
    if (skews.n == 0) {
        pellet_finding_not_checked(finding, PELLET_SAYS_NO_ISOLATED_BANDS);
        return;
    }
    const double median = skews_median(&skews);
    const size_t agreeing = skews_agreeing(&skews, median);
    pellet_finding_above(finding, rule, median, pellet_rule_quantity(rule, LIMIT), PELLET_SAYS_SKEWED);
    pellet_finding_range(finding, skews.low_cm1, skews.high_cm1);
    finding->number[0] = (double)skews.n;
    finding->number[1] = (double)agreeing;
    if (pellet_finding_refuses(finding) && agreeing < AGREE_LEAST && !slopes_as_well(measurement)) {
        finding->outcome = PELLET_NOTE;
        finding->phrase = PELLET_SAYS_SKEWED_UNSURE;
    }
}

const struct pellet_check pellet_check_asymmetry = {
    .id = "asymmetry",
    .bench_word = PELLET_BENCH_ASYMMETRY,
    .quantity = "skew",
    .unit = PELLET_UNIT_NONE,
    .outcome = PELLET_REMAKE,
    .roles = PELLET_FOR(PELLET_SAMPLE),
    .stage = PELLET_STAGE_PELLET,
    .meaning = "median skew of isolated bands: the Christiansen effect of coarse grains",
    .source = "C. Prost, Clays Clay Miner. 21, 363 (1973), for the effect; the measure is the project's own",
    .parameter =
        {
            PELLET_QUANTITY("limit", NONE, 0.35, 0.01, 3.0, "largest skew"),
            PELLET_RANGE("heights", ABSORBANCE, 0.2, 1.2, 0.01, 3.0, "the bands that are fitted"),
        },
    .run = run_asymmetry,
};
