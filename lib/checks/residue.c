// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Carry-over: an earlier sample in the mortar, the die or the KBr.
 *
 * Method:    Second derivatives, which leave narrow bands and drop baselines. Around each band of the earlier
 *            sample that this spectrum does not share, its pattern is fitted to this one by least squares;
 * the coefficient times the earlier sample's strongest height is what it would stand here. It counts from the
 * rule's correlation on, over at least three bands. A band is shared where this spectrum has more there than
 * carry-over can explain; bands that are missing here are never shared and so speak against it. Which: The
 * last samples of other names whose strongest band is on scale, neither too faint nor too strong nor flat: a
 * distorted pattern proves nothing. Limits:    Two alkyl chains have the same C-H bands: below the stronger
 * correlation a sample gets only a note. A residue of which fewer than three bands stand clear, or whose
 * bands are below the noise, is not seen. What is left of more than about a third of the earlier pellet is
 * not looked for. Source:    A. Savitzky, M. J. E. Golay, Anal. Chem. 36, 1627 (1964) for the derivative; the
 * measure and the limits are the project's own.
 */
#include "checks/view.h"

#include "pellet/judge.h"
#include "pellet/reference.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { LIMIT, MATCH, STRONG_MATCH };

#define BANDS_LEAST      3
#define HEIGHT_SHARE     0.1   /* of the strongest: lower bands of the earlier sample add mostly noise */
#define WIDTH_MAX        60.0  /* cm-1: broad bands have no second derivative to speak of */
#define SHARED_SHARE     0.35  /* of the earlier band's height: more is not carry-over */
#define OWN_FACTOR       2.5   /* of the median over the bands: more is this sample's own band */
#define DERIVATIVE_WIDTH 10.0  /* cm-1: about the median width of bands of solids, 11 (Proc. SPIE 13056) */
#define BASELINE_WIDTH   700.0 /* cm-1 */
#define NOISE_UNKNOWN    1e-3  /* A */
#define SIGMAS_LEAST     4.0   /* of the coefficient */

/* A spectrum as absorbance with its bands; owns its memory. */
struct curve {
    size_t n;
    double *wavenumber, *absorbance;
    size_t band_count;
    struct pellet_band *band;
};

/* What the comparison with one earlier sample came to. */
struct match {
    const char *name;
    size_t bands;
    double height, r;
    double low_cm1, high_cm1;
};

/* Scratch on the grid of the measurement. */
struct scratch {
    double *pattern, *here, *there;
    unsigned char *use;
    size_t *chosen; /* indices of the earlier sample's bands that are compared */
};

static void curve_clear(struct curve *curve)
{
    free(curve->wavenumber);
    free(curve->absorbance);
    free(curve->band);
    *curve = (struct curve){0};
}

/* Absorbance of the earlier spectrum on its own grid, ratioed over its blank where it is a single beam. */
static pellet_status take_absorbance(const struct pellet_earlier *earlier, struct curve *curve)
{
    const struct pellet_spectrum *s = earlier->source.spectrum, *blank = earlier->blank;
    const struct pellet_grid grid = {s->n, s->wavenumber};
    const bool beams = s->ordinate == PELLET_ORDINATE_SINGLE_BEAM;
    pellet_status status = PELLET_OK;

    if (beams ? blank == NULL || blank->ordinate != PELLET_ORDINATE_SINGLE_BEAM
              : s->ordinate != PELLET_ORDINATE_TRANSMITTANCE && s->ordinate != PELLET_ORDINATE_ABSORBANCE)
        return PELLET_E_USAGE;
    curve->n = s->n;
    curve->wavenumber = malloc(s->n * sizeof *curve->wavenumber);
    curve->absorbance = malloc(s->n * sizeof *curve->absorbance);
    if (curve->wavenumber == NULL || curve->absorbance == NULL)
        return PELLET_E_MEMORY;
    memcpy(curve->wavenumber, s->wavenumber, s->n * sizeof *curve->wavenumber);
    if (beams)
        status = pellet_grid_resample((struct pellet_grid){blank->n, blank->wavenumber}, blank->y, grid,
                                      curve->absorbance);
    for (size_t i = 0; status == PELLET_OK && i < s->n; i++) {
        const double t = beams ? s->y[i] / curve->absorbance[i] : s->y[i];
        if (s->ordinate == PELLET_ORDINATE_ABSORBANCE)
            curve->absorbance[i] = s->y[i];
        else
            curve->absorbance[i] = t > 0.0 && isfinite(t) ? -log10(t) : NAN;
    }
    return status;
}

static pellet_status find_bands(struct curve *curve)
{
    const struct pellet_grid grid = {curve->n, curve->wavenumber};
    struct pellet_noise noise = {.rms = NOISE_UNKNOWN};
    double *baseline = malloc(curve->n * sizeof *baseline);
    pellet_status status;

    if (baseline == NULL)
        return PELLET_E_MEMORY;
    if (pellet_noise_window(grid, curve->absorbance, 2000.0, 2200.0, &noise) != PELLET_OK)
        (void)pellet_noise_window(grid, curve->absorbance, 2500.0, 2700.0, &noise);
    status = pellet_baseline(grid, curve->absorbance, noise.rms, BASELINE_WIDTH, baseline);
    if (status == PELLET_OK)
        status = pellet_bands_find(grid, curve->absorbance, baseline, noise.rms, NULL, &curve->band,
                                   &curve->band_count);
    free(baseline);
    return status;
}

static pellet_status curve_open(const struct pellet_earlier *earlier, struct curve *curve)
{
    pellet_status status;

    *curve = (struct curve){0};
    status = take_absorbance(earlier, curve);
    if (status == PELLET_OK)
        status = find_bands(curve);
    if (status != PELLET_OK)
        curve_clear(curve);
    return status;
}

/* Room air and liquid water are no pattern of a sample. */
static bool is_everywhere(const struct pellet_band *band)
{
    return (band->at_cm1 >= PELLET_CO2_LOW && band->at_cm1 <= PELLET_CO2_HIGH) ||
           (band->at_cm1 >= PELLET_VAPOUR_STRETCH_LOW && band->at_cm1 <= PELLET_VAPOUR_STRETCH_HIGH);
}

/* The strongest band that may serve as a scale, or NULL where the curve is off scale. */
static const struct pellet_band *scale_of(const struct pellet_measurement *measurement,
                                          const struct curve *curve)
{
    const double weak = checks_rule_quantity(measurement, &pellet_check_weak, 0);
    const double strong = checks_rule_quantity(measurement, &pellet_check_saturation, 0);
    const struct pellet_band *strongest = NULL;

    for (size_t i = 0; i < curve->band_count; i++) {
        const struct pellet_band *band = &curve->band[i];
        if (is_everywhere(band))
            continue;
        if (band->flat_top || band->at_least || band->top > strong)
            return NULL;
        if (strongest == NULL)
            strongest = band;
    }
    return strongest != NULL && strongest->height >= weak ? strongest : NULL;
}

/* Whether this spectrum has more at a band of the earlier sample than carry-over can explain. */
static bool is_shared(const struct pellet_measurement *measurement, const struct pellet_band *band)
{
    for (size_t i = 0; i < measurement->band_count; i++) {
        const struct pellet_band *own = &measurement->band[i];
        if (fabs(own->at_cm1 - band->at_cm1) <= 0.5 * (own->width_cm1 + band->width_cm1) &&
            own->height > SHARED_SHARE * band->height)
            return true;
    }
    return false;
}

static void mark_use(const struct pellet_measurement *measurement, const struct pellet_band *band,
                     unsigned char *use)
{
    size_t first, last;

    pellet_grid_window(pellet_measurement_grid(measurement), band->at_cm1 - band->width_cm1,
                       band->at_cm1 + band->width_cm1, &first, &last);
    memset(use + first, 1, last - first);
}

/* The earlier sample's bands that are compared: narrow, covered here, not shared. Returns their number. */
static size_t choose_bands(const struct pellet_measurement *measurement, const struct curve *curve,
                           const struct pellet_band *scale, size_t *chosen)
{
    size_t count = 0;

    for (size_t i = 0; i < curve->band_count; i++) {
        const struct pellet_band *band = &curve->band[i];
        if (band->height < HEIGHT_SHARE * scale->height || band->width_cm1 > WIDTH_MAX ||
            is_everywhere(band) || is_shared(measurement, band))
            continue;
        if (checks_covers(measurement, band->at_cm1 - band->width_cm1, band->at_cm1 + band->width_cm1))
            chosen[count++] = i;
    }
    return count;
}

/* Least-squares share of one band's pattern in this spectrum. */
static double share_of_band(const struct pellet_measurement *measurement, const struct scratch *scratch,
                            const struct pellet_band *band)
{
    size_t first, last;
    double product = 0.0, square = 0.0;

    pellet_grid_window(pellet_measurement_grid(measurement), band->at_cm1 - band->width_cm1,
                       band->at_cm1 + band->width_cm1, &first, &last);
    for (size_t i = first; i < last; i++) {
        if (!isfinite(scratch->here[i]) || !isfinite(scratch->there[i]))
            continue;
        product += scratch->here[i] * scratch->there[i];
        square += scratch->there[i] * scratch->there[i];
    }
    return square > 0.0 ? product / square : 0.0;
}

static int rising(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/*
 * Drop the bands where this spectrum holds far more of the pattern than at the median band: it has one of its
 * own there. Those with less stay, since they speak against carry-over.
 */
static size_t drop_own_bands(const struct pellet_measurement *measurement, const struct curve *curve,
                             struct scratch *scratch, size_t count)
{
    double *share = malloc(2 * count * sizeof *share);
    size_t kept = 0;

    if (share == NULL)
        return count;
    for (size_t i = 0; i < count; i++)
        share[i] = share[count + i] = share_of_band(measurement, scratch, &curve->band[scratch->chosen[i]]);
    qsort(share, count, sizeof *share, rising);
    const double median = 0.5 * (share[(count - 1) / 2] + share[count / 2]);
    for (size_t i = 0; i < count; i++) {
        if (median <= 0.0 || share[count + i] <= OWN_FACTOR * median)
            scratch->chosen[kept++] = scratch->chosen[i];
    }
    free(share);
    return kept;
}

static pellet_status derive(const struct pellet_measurement *measurement, const struct curve *curve,
                            struct scratch *scratch)
{
    const struct pellet_grid grid = pellet_measurement_grid(measurement);
    pellet_status status = pellet_grid_resample((struct pellet_grid){curve->n, curve->wavenumber},
                                                curve->absorbance, grid, scratch->pattern);

    if (status == PELLET_OK)
        status = pellet_second_derivative(grid, scratch->pattern, DERIVATIVE_WIDTH, scratch->there);
    if (status == PELLET_OK)
        status = pellet_second_derivative(grid, measurement->absorbance, DERIVATIVE_WIDTH, scratch->here);
    return status;
}

/* Fit the pattern around the chosen bands; height 0 where it is not there. */
static void fit_pattern(const struct pellet_measurement *measurement, const struct curve *curve,
                        const struct pellet_band *scale, struct scratch *scratch, struct match *match)
{
    struct pellet_pattern fit;

    memset(scratch->use, 0, measurement->n);
    match->low_cm1 = INFINITY;
    match->high_cm1 = -INFINITY;
    for (size_t i = 0; i < match->bands; i++) {
        const struct pellet_band *band = &curve->band[scratch->chosen[i]];
        mark_use(measurement, band, scratch->use);
        match->low_cm1 = fmin(match->low_cm1, band->at_cm1 - band->width_cm1);
        match->high_cm1 = fmax(match->high_cm1, band->at_cm1 + band->width_cm1);
    }
    if (pellet_pattern_fit(pellet_measurement_grid(measurement), scratch->here, scratch->there, scratch->use,
                           match->low_cm1, match->high_cm1, 0.0, &fit) != PELLET_OK)
        return;
    match->r = fit.r;
    if (fit.coefficient > SIGMAS_LEAST * fit.sigma)
        match->height = fit.coefficient * scale->height;
}

static bool scratch_open(struct scratch *scratch, size_t n, size_t bands)
{
    *scratch = (struct scratch){.pattern = malloc(n * sizeof(double)),
                                .here = malloc(n * sizeof(double)),
                                .there = malloc(n * sizeof(double)),
                                .use = malloc(n),
                                .chosen = malloc((bands + 1) * sizeof(size_t))};
    return scratch->pattern != NULL && scratch->here != NULL && scratch->there != NULL &&
           scratch->use != NULL && scratch->chosen != NULL;
}

static void scratch_close(struct scratch *scratch)
{
    free(scratch->pattern);
    free(scratch->here);
    free(scratch->there);
    free(scratch->use);
    free(scratch->chosen);
}

/* Compare with one earlier sample. False where it cannot serve: same name, not readable, off scale. */
static bool compare(const struct pellet_measurement *measurement, const struct pellet_earlier *earlier,
                    struct match *match)
{
    const char *own = measurement->inputs->subject.sample, *name = earlier->source.sample;
    struct scratch scratch = {0};
    struct curve curve;
    bool serves = false;

    *match = (struct match){.name = name != NULL ? name : earlier->source.file};
    if (earlier->source.spectrum == NULL || (own != NULL && name != NULL && strcmp(own, name) == 0))
        return false;
    if (curve_open(earlier, &curve) != PELLET_OK)
        return false;
    const struct pellet_band *scale = scale_of(measurement, &curve);
    if (scale != NULL && scratch_open(&scratch, measurement->n, curve.band_count) &&
        derive(measurement, &curve, &scratch) == PELLET_OK) {
        serves = true;
        match->bands = choose_bands(measurement, &curve, scale, scratch.chosen);
        if (match->bands >= BANDS_LEAST)
            match->bands = drop_own_bands(measurement, &curve, &scratch, match->bands);
        if (match->bands >= BANDS_LEAST)
            fit_pattern(measurement, &curve, scale, &scratch, match);
    }
    scratch_close(&scratch);
    curve_clear(&curve);
    return serves;
}

static void judge_match(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                        const struct match *match, struct pellet_finding *finding)
{
    const bool matches = match->r >= pellet_rule_quantity(rule, MATCH);

    pellet_finding_above(finding, rule, matches ? match->height : 0.0, pellet_rule_quantity(rule, LIMIT),
                         PELLET_SAYS_CARRY_OVER);
    pellet_finding_range(finding, match->low_cm1, match->high_cm1);
    finding->number[0] = match->r;
    finding->number[1] = (double)match->bands;
    if (measurement->role == PELLET_SAMPLE && pellet_finding_refuses(finding) &&
        match->r < pellet_rule_quantity(rule, STRONG_MATCH))
        finding->outcome = PELLET_NOTE;
}

static void run_residue(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                        struct pellet_finding *finding)
{
    const struct pellet_inputs *inputs = measurement->inputs;
    const double least = pellet_rule_quantity(rule, MATCH);
    struct match best = {0};
    bool any = false;

    if (!checks_has_bands(measurement, finding))
        return;
    for (size_t i = 0; i < inputs->earlier_count; i++) {
        struct match match;
        if (!compare(measurement, &inputs->earlier[i], &match))
            continue;
        const bool worse = match.r >= least && (best.r < least || match.height > best.height);
        const bool says_more = best.bands < BANDS_LEAST && match.bands >= BANDS_LEAST;
        if (!any || worse || says_more)
            best = match;
        any = true;
    }
    snprintf(finding->word, sizeof finding->word, "%s", any ? best.name : "");
    if (!any)
        pellet_finding_not_checked(finding, PELLET_SAYS_CARRY_OVER_NONE);
    else if (best.bands < BANDS_LEAST)
        pellet_finding_not_checked(finding, PELLET_SAYS_CARRY_OVER_FEW);
    else
        judge_match(measurement, rule, &best, finding);
}

const struct pellet_check pellet_check_residue = {
    .id = "residue",
    .bench_word = "carry-over",
    .quantity = "residue_height",
    .unit = PELLET_UNIT_ABSORBANCE,
    .outcome = PELLET_REMAKE,
    .roles = PELLET_FOR(PELLET_SAMPLE) | PELLET_FOR(PELLET_BLANK),
    .stage = PELLET_STAGE_PELLET,
    .meaning = "an earlier sample's pattern, at its strongest band",
    .source = "the project's own",
    .parameter =
        {
            PELLET_QUANTITY("limit", ABSORBANCE, 0.02, 0.0005, 1.0, "largest residue"),
            PELLET_QUANTITY("match", NONE, 0.9, 0.5, 1.0, "lowest correlation of the patterns that counts"),
            PELLET_QUANTITY("strong_match", NONE, 0.95, 0.5, 1.0,
                            "from this correlation on a sample is to be made again"),
        },
    .run = run_residue,
};
