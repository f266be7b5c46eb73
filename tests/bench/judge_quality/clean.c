// SPDX-License-Identifier: GPL-3.0-or-later
#include "clean.h"

#include <math.h>
#include <stdlib.h>

/* Fine enough that tops are not missed; the resolution stays the file's. */
#define CLEAN_SPACING 0.25

const struct pellet_synth_pellet *bench_reference(const struct bench_case *of)
{
    return of->role == PELLET_SAMPLE || of->is_later_blank ? &of->blank : NULL;
}

const struct pellet_synth_instrument *bench_reference_beam(const struct bench_case *of)
{
    return bench_reference(of) ? &of->blank_beam : &of->open_beam;
}

bool bench_is_lone(const struct bench_case *of)
{
    return !bench_reference(of) && !of->has_open_beam;
}

static pellet_status measure_clean(struct pellet_synth *model, const struct pellet_synth_pellet *pellet,
                                   const struct pellet_synth_instrument *beam, bool carbon_dioxide,
                                   struct pellet_spectrum *spectrum)
{
    struct pellet_synth_instrument quiet = *beam;
    quiet.noise = quiet.vapour_cm2 = 0.0;
    quiet.spacing_cm1 = CLEAN_SPACING;
    if (!carbon_dioxide)
        quiet.carbon_dioxide_cm2 = 0.0;
    if (!pellet)
        return pellet_synth_measure(model, NULL, &quiet, 1, spectrum, NULL, NULL);
    struct pellet_synth_pellet dull = *pellet;
    dull.fringes = 0.0;
    return pellet_synth_measure(model, &dull, &quiet, 1, spectrum, NULL, NULL);
}

pellet_status bench_clean_make(struct pellet_synth *model, const struct bench_case *of,
                               const struct pellet_synth_pellet *subject,
                               const struct pellet_synth_pellet *reference, bool carbon_dioxide,
                               struct bench_clean *clean)
{
    struct pellet_spectrum s = {0}, b = {0};
    struct pellet_synth_instrument same_ends = *bench_reference_beam(of);
    same_ends.low_cm1 = of->beam.low_cm1;
    same_ends.high_cm1 = of->beam.high_cm1;
    pellet_status status = measure_clean(model, subject, &of->beam, carbon_dioxide, &s);
    if (status == PELLET_OK)
        status = measure_clean(model, reference, &same_ends, carbon_dioxide, &b);
    if (status == PELLET_OK) {
        for (size_t i = 0; i < s.n; i++)
            s.y[i] = -log10(s.y[i] / b.y[i]);
        *clean = (struct bench_clean){s.n, s.wavenumber, s.y};
        s.wavenumber = s.y = NULL;
    }
    pellet_spectrum_clear(&s);
    pellet_spectrum_clear(&b);
    return status;
}

void bench_clean_clear(struct bench_clean *clean)
{
    free(clean->wavenumber);
    free(clean->absorbance);
    *clean = (struct bench_clean){0};
}

size_t bench_clean_index(const struct bench_clean *clean, double wavenumber)
{
    const double step = clean->wavenumber[1] - clean->wavenumber[0];
    const double place = floor((wavenumber - clean->wavenumber[0]) / step + 1e-9);
    return (size_t)fmin(fmax(place, 0.0), (double)(clean->n - 1));
}

double bench_clean_difference(const struct bench_clean *one, const struct bench_clean *other)
{
    double most = 0.0;
    for (size_t i = 0; i < one->n && i < other->n; i++)
        most = fmax(most, fabs(one->absorbance[i] - other->absorbance[i]));
    return most;
}

/* ---------------------------------------------------------------- room air */

/* Where the lines are read, with room for the running mean. */
#define VAPOUR_LOW  1370.0
#define VAPOUR_HIGH 1930.0

/* Where less than this share of the light passes, in the depth of a saturated band, what is there came in
 * from beside the band through the instrument's line shape, and lines in it are nobody's measure of the air.
 */
#define LIGHT_LEAST 0.01

/* The lines alone: the spectrum with the case's air less the same without, at the file's own points; 0 where
 * it is dark. */
static pellet_status vapour_lines(struct pellet_synth *model, const struct bench_case *of,
                                  struct bench_clean *lines)
{
    struct pellet_synth_instrument moist[2] = {of->beam, *bench_reference_beam(of)}, dry[2];
    const struct pellet_synth_pellet *pellet[2] = {&of->subject, bench_reference(of)};
    struct pellet_spectrum with[2] = {{0}, {0}}, without[2] = {{0}, {0}};
    const double first = ceil((VAPOUR_LOW - of->beam.low_cm1) / of->beam.spacing_cm1);
    pellet_status status = PELLET_OK;
    for (int i = 0; i < 2 && status == PELLET_OK; i++) {
        moist[i].noise = moist[i].carbon_dioxide_cm2 = 0.0;
        moist[i].low_cm1 = of->beam.low_cm1 + of->beam.spacing_cm1 * first;
        moist[i].high_cm1 = VAPOUR_HIGH;
        dry[i] = moist[i];
        dry[i].vapour_cm2 = 0.0;
        status = pellet_synth_measure(model, pellet[i], &moist[i], 1, &with[i], NULL, NULL);
        if (status == PELLET_OK)
            status = pellet_synth_measure(model, pellet[i], &dry[i], 1, &without[i], NULL, NULL);
    }
    if (status == PELLET_OK) {
        for (size_t i = 0; i < with[0].n; i++)
            with[0].y[i] = without[0].y[i] < LIGHT_LEAST * without[1].y[i]
                               ? 0.0
                               : -log10(with[0].y[i] / without[0].y[i] * without[1].y[i] / with[1].y[i]);
        *lines = (struct bench_clean){with[0].n, with[0].wavenumber, with[0].y};
        with[0].wavenumber = with[0].y = NULL;
    }
    for (int i = 0; i < 2; i++) {
        pellet_spectrum_clear(&with[i]);
        pellet_spectrum_clear(&without[i]);
    }
    return status;
}

/* Less the running mean over `width_cm1`: the definition takes broad structure out. */
static void take_out_broad(struct bench_clean *lines, double width_cm1)
{
    const double spacing = lines->wavenumber[1] - lines->wavenumber[0];
    const size_t half = (size_t)(0.5 * width_cm1 / spacing);
    double *mean = calloc(lines->n, sizeof *mean);
    if (!mean)
        return;
    for (size_t i = 0; i < lines->n; i++) {
        const size_t from = i > half ? i - half : 0, to = i + half < lines->n ? i + half : lines->n - 1;
        for (size_t k = from; k <= to; k++)
            mean[i] += lines->absorbance[k] / (double)(to - from + 1);
    }
    for (size_t i = 0; i < lines->n; i++)
        lines->absorbance[i] -= mean[i];
    free(mean);
}

pellet_status bench_vapour_height(struct pellet_synth *model, const struct bench_case *of, double *height)
{
    struct bench_clean lines = {0};
    const pellet_status status = vapour_lines(model, of, &lines);
    if (status != PELLET_OK)
        return status;
    take_out_broad(&lines, 60.0);
    double up = 0.0, down = 0.0;
    for (size_t i = 0; i < lines.n; i++) {
        if (lines.wavenumber[i] < 1430.0 || lines.wavenumber[i] > 1870.0)
            continue;
        up = fmax(up, lines.absorbance[i]);
        down = fmin(down, lines.absorbance[i]);
    }
    *height = (up > -down ? 1.0 : -1.0) * (up - down);
    bench_clean_clear(&lines);
    return PELLET_OK;
}
