// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Three ways, the surest that can be gone: the band is seen; weaker bands are on scale and an earlier attempt
 * at the same sample shows how much stronger this one is; the flanks.
 */
#include "judge/advice_strength.h"

#include <math.h>
#include <stdlib.h>
#include <strings.h>

/* What is read of a band above this absorbance depends on the false zero: at 2 A, 0.1 % of it takes 2 %. */
#define SEEN_UP_TO_A 1.2
/* A band that is less than this share of what stands at its top rests on a dark baseline. */
#define BASELINE_SHARE 0.5
/* Reading a band that is on scale is worth this share of it, resolution and chord included. */
#define SEEN_ERROR 0.08
/* Other bands that are off scale may be the truly strongest: so many are looked at. */
#define CANDIDATES_MAX 4
/* Beyond this ratio of its ends an interval is only a lower bound. */
#define INTERVAL_MAX 2.0
/* The heights between which a band is fit to be compared with the same one of another pellet. */
#define PATTERN_LEAST_A 0.03
#define PATTERN_MOST_A  1.2
#define PATTERN_BANDS   3
/* How far apart (in widths) the same band may stand in two pellets. */
#define SAME_PLACE            0.3
#define PATTERN_MAX           PELLET_VERDICT_BANDS_MAX
#define LIKELY_RESOLUTION_CM1 4.0 /* where the file states none; common practice, no source */

static struct pellet_grid grid_of(const struct pellet_measurement *m)
{
    return (struct pellet_grid){m->n, m->wavenumber};
}

static double baseline_at(const struct pellet_measurement *m, double wavenumber)
{
    const double level = pellet_grid_at(grid_of(m), m->baseline, wavenumber);
    return isfinite(level) ? level : 0.0;
}

/* On a dark baseline a false zero takes as much from below the band as from its top. */
static bool is_seen(const struct pellet_band *band)
{
    return !band->at_least && !band->flat_top &&
           (band->top <= SEEN_UP_TO_A || band->height < BASELINE_SHARE * band->top);
}

/* ---------------------------------------------------------------- from the flanks */

static enum pellet_line line_of(const struct pellet_measurement *m)
{
    static const struct {
        const char *word;
        enum pellet_line line;
    } lines[] = {
        {"happ-genzel", PELLET_LINE_HAPP_GENZEL},
        {"happ genzel", PELLET_LINE_HAPP_GENZEL},
        {"triangular", PELLET_LINE_TRIANGULAR},
        {"triangle", PELLET_LINE_TRIANGULAR},
    };
    const char *word = m->inputs->subject.spectrum->setting[PELLET_SETTING_APODISATION];

    for (size_t i = 0; word != NULL && i < sizeof lines / sizeof lines[0]; i++) {
        if (strcasecmp(word, lines[i].word) == 0)
            return lines[i].line;
    }
    return PELLET_LINE_UNKNOWN;
}

/* What one band's flanks say; what is left of light at its top bounds it from below whatever they say. */
static pellet_status from_flanks(const struct pellet_measurement *m, size_t which,
                                 struct pellet_strength *strength)
{
    const struct pellet_band *band = &m->band[which];
    const double resolution = isfinite(m->resolution) ? m->resolution : LIKELY_RESOLUTION_CM1;
    struct pellet_flank flank = {0};
    const pellet_status status =
        pellet_flank_fit(grid_of(m), m->transmittance, m->sigma, m->baseline, m->band, m->band_count, which,
                         line_of(m), resolution, &flank);

    *strength = (struct pellet_strength){.from = PELLET_STRENGTH_BOUND,
                                         .at_cm1 = band->at_cm1,
                                         .height = band->height,
                                         .low = band->height,
                                         .high = INFINITY,
                                         .baseline = baseline_at(m, band->at_cm1)};
    if (status != PELLET_OK)
        return status == PELLET_E_MEMORY ? status : PELLET_OK;
    strength->height = fmax(flank.height, band->height);
    strength->low = fmax(flank.low, 0.9 * band->height);
    strength->high = fmax(flank.high, strength->height);
    return PELLET_OK;
}

/* The greatest of the bands that are off scale, and of the strongest one: no lower than any is at least, no
 * higher than all are at most. */
static pellet_status greatest_from_flanks(const struct pellet_measurement *m,
                                          const struct pellet_band *strongest,
                                          struct pellet_strength *strength)
{
    size_t tried = 0;
    double low = 0.0, high = 0.0;

    strength->from = PELLET_STRENGTH_NONE;
    for (size_t i = 0; i < m->band_count && tried < CANDIDATES_MAX; i++) {
        struct pellet_strength one;
        if (m->band[i].kind != PELLET_BAND_SAMPLE || (&m->band[i] != strongest && is_seen(&m->band[i])))
            continue;
        tried++;
        if (from_flanks(m, i, &one) != PELLET_OK)
            return PELLET_E_MEMORY;
        if (strength->from == PELLET_STRENGTH_NONE || one.height > strength->height)
            *strength = one;
        low = fmax(low, one.low);
        high = fmax(high, one.high);
    }
    strength->low = low;
    strength->high = high;
    strength->from = high <= INTERVAL_MAX * low ? PELLET_STRENGTH_FLANKS : PELLET_STRENGTH_BOUND;
    if (pellet_strength_is_bound(strength))
        strength->high = INFINITY;
    return PELLET_OK;
}

/* ---------------------------------------------------------------- from weaker bands */

/* The attempt's height of the band at this place; NaN where it has none fit to be compared. */
static double height_then(const struct pellet_verdict *then, double at_cm1, double width_cm1)
{
    for (size_t i = 0; i < then->band_count; i++) {
        const struct pellet_rendered_band *band = &then->band[i];
        if (fabs(band->at_cm1 - at_cm1) <= SAME_PLACE * fmin(band->width_cm1, width_cm1) &&
            band->height >= PATTERN_LEAST_A && band->height <= PATTERN_MOST_A)
            return band->height;
    }
    return NAN;
}

static int rising(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* By how much this pellet's bands are higher than that one's: median and spread of the logarithm. */
static bool compare_bands(const struct pellet_measurement *m, const struct pellet_verdict *then,
                          double *middle, double *spread)
{
    double ratio[PATTERN_MAX];
    size_t n = 0;

    for (size_t i = 0; i < m->band_count && n < PATTERN_MAX; i++) {
        const struct pellet_band *band = &m->band[i];
        const double before = height_then(then, band->at_cm1, band->width_cm1);
        if (band->kind == PELLET_BAND_SAMPLE && is_seen(band) && band->height >= PATTERN_LEAST_A &&
            band->height <= PATTERN_MOST_A && isfinite(before))
            ratio[n++] = log(band->height / before);
    }
    if (n < PATTERN_BANDS)
        return false;
    qsort(ratio, n, sizeof ratio[0], rising);
    *middle = 0.5 * (ratio[(n - 1) / 2] + ratio[n / 2]);
    for (size_t i = 0; i < n; i++)
        ratio[i] = fabs(ratio[i] - *middle);
    qsort(ratio, n, sizeof ratio[0], rising);
    *spread = 1.4826 * ratio[n / 2] / sqrt((double)n); /* from the median deviation to sigma, of the mean */
    return true;
}

/* An attempt whose strongest band is on scale knows how it compares with the weaker ones. */
static bool from_pattern(const struct pellet_measurement *m, const struct pellet_band *strongest,
                         struct pellet_strength *strength)
{
    const struct pellet_inputs *in = m->inputs;

    for (size_t i = 0; i < in->attempt_count; i++) {
        const struct pellet_verdict *then = in->attempt[i].verdict;
        double middle, spread;
        /* Coarse grains level the bands out: their ratios are not those of finer ones. */
        if (then == NULL || in->attempt[i].source.pellet == in->subject.pellet || then->advice.regrind ||
            then->advice.lower_bound)
            continue;
        const double height = height_then(then, strongest->at_cm1, strongest->width_cm1);
        if (!isfinite(height) || !compare_bands(m, then, &middle, &spread))
            continue;
        const double error = 1.645 * hypot(spread, SEEN_ERROR);
        if (height * exp(middle + error) < strongest->height) /* two spectra of different things */
            continue;
        *strength = (struct pellet_strength){.from = PELLET_STRENGTH_PATTERN,
                                             .at_cm1 = strongest->at_cm1,
                                             .height = height * exp(middle),
                                             .low = height * exp(middle - error),
                                             .high = height * exp(middle + error),
                                             .baseline = baseline_at(m, strongest->at_cm1),
                                             .pellet = in->attempt[i].source.pellet};
        return true;
    }
    return false;
}

pellet_status pellet_strength_find(const struct pellet_measurement *m, struct pellet_strength *strength)
{
    const struct pellet_band *band = pellet_strongest_band(m);

    *strength = (struct pellet_strength){PELLET_STRENGTH_NONE, NAN, NAN, NAN, NAN, NAN, 0};
    if (band == NULL)
        return PELLET_OK;
    bool all_seen = true;
    for (size_t i = 0; i < m->band_count; i++)
        all_seen &= m->band[i].kind != PELLET_BAND_SAMPLE || is_seen(&m->band[i]);
    if (all_seen || m->transmittance == NULL) {
        *strength = (struct pellet_strength){.from = PELLET_STRENGTH_SEEN,
                                             .at_cm1 = band->at_cm1,
                                             .height = band->height,
                                             .low = band->height * (1.0 - SEEN_ERROR),
                                             .high = band->height * (1.0 + SEEN_ERROR),
                                             .baseline = band->top - band->height};
        return PELLET_OK;
    }
    return from_pattern(m, band, strength) ? PELLET_OK : greatest_from_flanks(m, band, strength);
}
