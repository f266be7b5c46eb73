// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Carry-over: an earlier sample in the mortar, the die or the KBr.
 *
 * Method:    Second derivatives, which leave narrow bands and drop baselines. One share of the earlier
 *            spectrum after another is supposed to be here; bands where this spectrum has more than that are
 *            its own and are left out, bands that are missing here stay in and speak against it. Around the
 *            rest the pattern is fitted by least squares, and the fit is believed that bears its supposition
 *            out and correlates best. Its coefficient times the earlier sample's strongest height is what
 *            would stand here. It counts from the rule's correlation on, over at least three bands.
 * Which:     The last samples of other names whose strongest band is on scale, neither too faint nor too
 *            strong nor flat: a distorted pattern proves nothing.
 * Limits:    Two alkyl chains have the same C-H bands: below the stronger correlation a sample gets only a
 *            note. A residue of which fewer than three bands stand clear, or whose bands are below the noise,
 *            is not seen. More than about a third of the earlier pellet is not looked for.
 * Source:    A. Savitzky, M. J. E. Golay, Anal. Chem. 36, 1627 (1964) for the derivative; the measure and
 *            the limits are the project's own.
 */
#include "checks/earlier.h"
#include "checks/view.h"

#include "pellet/judge.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { LIMIT, MATCH, STRONG_MATCH };

#define BANDS_LEAST      3
#define HEIGHT_SHARE     0.1   /* of the strongest: lower bands of the earlier sample add mostly noise */
#define WIDTH_MAX        100.0 /* cm-1: broad bands have no second derivative to speak of */
#define SHARED_SHARE     0.35  /* of the earlier band's height: more is not carry-over */
#define SHARE_LEAST      0.015 /* of the earlier sample: below it 0.7 A leave half the usual limit */
#define OWN_FACTOR       1.0   /* of the residue's curvature: more than that much unexplained disturbs */
#define DERIVATIVES      2
#define DERIVATIVE_WIDTH 10.0 /* cm-1: about the median width of bands of solids, 11 (Proc. SPIE 13056) */
#define WINDOW_WIDTHS    0.75 /* of the comparison, full widths to each side */
#define SIGMAS_LEAST     4.0  /* of the coefficient */

/* In typical widths of the bands: the narrow one for crowded spectra, the wide one for noisy ones. */
static const double derivative_widths[DERIVATIVES] = {1.2, 2.0};

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
    double width; /* of the derivative, cm-1 */
    unsigned char *use;
    size_t candidates;
    size_t *candidate, *chosen; /* indices of the earlier sample's bands: narrow and covered; compared */
};

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

    pellet_grid_window(pellet_measurement_grid(measurement), band->at_cm1 - WINDOW_WIDTHS * band->width_cm1,
                       band->at_cm1 + WINDOW_WIDTHS * band->width_cm1, &first, &last);
    memset(use + first, 1, last - first);
}

/* The earlier sample's bands that are compared: narrow, covered here, not shared. Returns their number. */
static size_t choose_bands(const struct pellet_measurement *measurement, const struct checks_earlier *curve,
                           const struct pellet_band *scale, size_t *chosen)
{
    size_t count = 0;

    for (size_t i = 0; i < curve->band_count; i++) {
        const struct pellet_band *band = &curve->band[i];
        if (band->height < HEIGHT_SHARE * scale->height || band->width_cm1 > WIDTH_MAX ||
            checks_is_everywhere(band) || is_shared(measurement, band))
            continue;
        if (checks_covers(measurement, band->at_cm1 - WINDOW_WIDTHS * band->width_cm1,
                          band->at_cm1 + band->width_cm1))
            chosen[count++] = i;
    }
    return count;
}

/*
 * What a band's second derivative over `window` goes by: height over the square of the width. A band narrower
 * than the window is smeared over it.
 */
static double curvature(const struct pellet_band *band, double window)
{
    const double width = fmax(band->width_cm1, window);

    return band->height * fmin(band->width_cm1 / window, 1.0) / (width * width);
}

/* The curvature that the residue, by its share, would give a band of this spectrum: of the earlier sample's
 * band at the same place. */
static double explained(const struct checks_earlier *curve, const struct pellet_band *own, double share,
                        double window)
{
    double most = 0.0;

    for (size_t i = 0; i < curve->band_count; i++) {
        const struct pellet_band *band = &curve->band[i];
        if (fabs(band->at_cm1 - own->at_cm1) <= 0.5 * fmax(band->width_cm1, own->width_cm1))
            most = fmax(most, share * curvature(band, window));
    }
    return most;
}

/* Whether a band of this spectrum reaches into the window of a compared one and is more than the residue. */
static bool is_disturbed(const struct pellet_measurement *measurement, const struct checks_earlier *curve,
                         const struct pellet_band *band, double share, double window)
{
    for (size_t i = 0; i < measurement->band_count; i++) {
        const struct pellet_band *own = &measurement->band[i];
        if (fabs(own->at_cm1 - band->at_cm1) <
                fmax(own->width_cm1, window) + WINDOW_WIDTHS * band->width_cm1 &&
            curvature(own, window) - explained(curve, own, share, window) >
                OWN_FACTOR * share * curvature(band, window))
            return true;
    }
    return false;
}

/*
 * The bands to compare on the supposition that this spectrum holds `share` of the earlier one: those without
 * a band here that is more than that. Bands that are missing here stay and speak against it.
 */
static size_t keep_undisturbed(const struct pellet_measurement *measurement,
                               const struct checks_earlier *curve, double share, struct scratch *scratch)
{
    size_t kept = 0;

    for (size_t i = 0; i < scratch->candidates; i++) {
        const size_t k = scratch->candidate[i];
        if (!is_disturbed(measurement, curve, &curve->band[k], share, scratch->width))
            scratch->chosen[kept++] = k;
    }
    return kept;
}

/* The mean width of the candidates, by height. */
static double typical_width(const struct checks_earlier *curve, const struct scratch *scratch)
{
    double sum = 0.0, weight = 0.0;

    for (size_t i = 0; i < scratch->candidates; i++) {
        const struct pellet_band *band = &curve->band[scratch->candidate[i]];
        sum += band->height * band->width_cm1;
        weight += band->height;
    }
    return weight > 0.0 ? sum / weight : 0.0;
}

static pellet_status derive(const struct pellet_measurement *measurement, const struct checks_earlier *curve,
                            struct scratch *scratch)
{
    const struct pellet_grid grid = pellet_measurement_grid(measurement);
    pellet_status status = pellet_grid_resample((struct pellet_grid){curve->n, curve->wavenumber},
                                                curve->absorbance, grid, scratch->pattern);

    if (status == PELLET_OK)
        status = pellet_second_derivative(grid, scratch->pattern, scratch->width, scratch->there);
    if (status == PELLET_OK)
        status = pellet_second_derivative(grid, measurement->absorbance, scratch->width, scratch->here);
    return status;
}

/* Fit the pattern around the chosen bands; false where it cannot be fitted. */
static bool fit_pattern(const struct pellet_measurement *measurement, const struct checks_earlier *curve,
                        struct scratch *scratch, struct match *match, struct pellet_pattern *fit)
{
    memset(scratch->use, 0, measurement->n);
    match->low_cm1 = INFINITY;
    match->high_cm1 = -INFINITY;
    for (size_t i = 0; i < match->bands; i++) {
        const struct pellet_band *band = &curve->band[scratch->chosen[i]];
        mark_use(measurement, band, scratch->use);
        match->low_cm1 = fmin(match->low_cm1, band->at_cm1 - band->width_cm1);
        match->high_cm1 = fmax(match->high_cm1, band->at_cm1 + band->width_cm1);
    }
    return pellet_pattern_fit(pellet_measurement_grid(measurement), scratch->here, scratch->there,
                              scratch->use, match->low_cm1, match->high_cm1, 0.0, fit) == PELLET_OK;
}

/*
 * Suppose one share after another, and believe the fit that bears its own supposition out within a factor of
 * two and matches best.
 */
static void try_shares(const struct pellet_measurement *measurement, const struct checks_earlier *curve,
                       const struct pellet_band *scale, struct scratch *scratch, struct match *best)
{
    for (double share = SHARE_LEAST; share < SHARED_SHARE; share *= 2.0) {
        struct match match = {.name = best->name};
        struct pellet_pattern fit;

        match.bands = keep_undisturbed(measurement, curve, share, scratch);
        if (match.bands < BANDS_LEAST || !fit_pattern(measurement, curve, scratch, &match, &fit))
            continue;
        if (fit.coefficient > SIGMAS_LEAST * fit.sigma && fit.coefficient >= 0.5 * share &&
            fit.coefficient <= 2.0 * share) {
            match.r = fit.r;
            match.height = fit.coefficient * scale->height;
        }
        if (best->bands < BANDS_LEAST || match.r > best->r)
            *best = match;
    }
}

static bool scratch_open(struct scratch *scratch, size_t n, size_t bands)
{
    *scratch = (struct scratch){.pattern = malloc(n * sizeof(double)),
                                .here = malloc(n * sizeof(double)),
                                .there = malloc(n * sizeof(double)),
                                .use = malloc(n),
                                .candidate = malloc((bands + 1) * sizeof(size_t)),
                                .chosen = malloc((bands + 1) * sizeof(size_t))};
    return scratch->pattern != NULL && scratch->here != NULL && scratch->there != NULL &&
           scratch->use != NULL && scratch->candidate != NULL && scratch->chosen != NULL;
}

static void scratch_close(struct scratch *scratch)
{
    free(scratch->pattern);
    free(scratch->here);
    free(scratch->there);
    free(scratch->use);
    free(scratch->candidate);
    free(scratch->chosen);
}

/* Compare with one earlier sample. False where it cannot serve: same name, not readable, off scale. */
static bool compare(const struct pellet_measurement *measurement, const struct pellet_earlier *earlier,
                    struct match *match)
{
    const char *own = measurement->inputs->subject.sample, *name = earlier->source.sample;
    struct scratch scratch = {0};
    struct checks_earlier curve;
    bool serves = false;

    *match = (struct match){.name = name != NULL ? name : earlier->source.file};
    if (earlier->source.spectrum == NULL || (own != NULL && name != NULL && strcmp(own, name) == 0))
        return false;
    if (checks_earlier_open(earlier, &curve) != PELLET_OK)
        return false;
    const struct pellet_band *scale = checks_earlier_scale(measurement, &curve);
    if (scale != NULL && scratch_open(&scratch, measurement->n, curve.band_count)) {
        serves = true;
        scratch.candidates = choose_bands(measurement, &curve, scale, scratch.candidate);
        for (size_t i = 0; i < DERIVATIVES; i++) {
            scratch.width = fmax(DERIVATIVE_WIDTH, derivative_widths[i] * typical_width(&curve, &scratch));
            if (derive(measurement, &curve, &scratch) == PELLET_OK)
                try_shares(measurement, &curve, scale, &scratch, match);
        }
    }
    scratch_close(&scratch);
    checks_earlier_close(&curve);
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

/* The match to report of two: one that can be judged, one that counts, then by height or correlation, and by
 * name, so that the order of the list does not matter. */
static bool is_worse(const struct match *one, const struct match *other, double least)
{
    const bool judged = one->bands >= BANDS_LEAST, counts = one->r >= least;

    if (judged != (other->bands >= BANDS_LEAST))
        return judged;
    if (counts != (other->r >= least))
        return counts;
    const double key = counts ? one->height : one->r, other_key = counts ? other->height : other->r;
    return key != other_key ? key > other_key : strcmp(one->name, other->name) < 0;
}

static void run_residue(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                        struct pellet_finding *finding)
{
    const struct pellet_inputs *inputs = measurement->inputs;
    struct match worst = {.name = NULL};

    if (!checks_has_bands(measurement, finding))
        return;
    for (size_t i = 0; i < inputs->earlier_count; i++) {
        struct match match;
        if (compare(measurement, &inputs->earlier[i], &match) &&
            (worst.name == NULL || is_worse(&match, &worst, pellet_rule_quantity(rule, MATCH))))
            worst = match;
    }
    if (worst.name == NULL) {
        pellet_finding_not_checked(finding, PELLET_SAYS_CARRY_OVER_NONE);
        return;
    }
    snprintf(finding->word, sizeof finding->word, "%s", worst.name);
    if (worst.bands < BANDS_LEAST)
        pellet_finding_not_checked(finding, PELLET_SAYS_CARRY_OVER_FEW);
    else
        judge_match(measurement, rule, &worst, finding);
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
