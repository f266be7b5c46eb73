// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * A measurement made of exact algebra, for the tests of the checks: a flat T of 1 on an even grid, to which a
 * test adds what it is about. Everything that the judge would derive (marks, bands, water) is set by hand.
 */
#ifndef PELLET_TESTS_CHECKS_MEASUREMENT_H
#define PELLET_TESTS_CHECKS_MEASUREMENT_H

#include "testing.h"

#include "checks/checks.h"
#include "pellet/judge.h"

#include <string.h>

#define BENCH_BANDS_MAX 16

struct bench {
    struct pellet_measurement m;
    struct pellet_inputs inputs;
    struct pellet_settings settings;
    struct pellet_rules rules;
    struct pellet_rule rule[32]; /* all checks' entries */
    struct pellet_spectrum spectrum;
    struct pellet_band band[BENCH_BANDS_MAX];
};

static inline double *bench_array(size_t n, double value)
{
    double *array = malloc(n * sizeof *array);

    assert_non_null(array);
    for (size_t i = 0; i < n; i++)
        array[i] = value;
    return array;
}

/* low..high with points every `step`; T 1 and A 0 everywhere, sigma of T 1e-4, both beams 1. */
static inline void bench_make(struct bench *bench, enum pellet_role role, enum pellet_basis basis, double low,
                              double high, double step)
{
    const size_t n = (size_t)lround((high - low) / step) + 1;
    struct pellet_measurement *m = &bench->m;

    memset(bench, 0, sizeof *bench);
    m->role = role;
    m->basis = basis;
    m->single_beams = basis != PELLET_AGAINST_NOTHING;
    m->n = n;
    m->wavenumber = bench_array(n, 0.0);
    for (size_t i = 0; i < n; i++)
        m->wavenumber[i] = low + step * (double)i;
    m->single_beam = bench_array(n, 1.0);
    m->reference = m->single_beams ? bench_array(n, 1.0) : NULL;
    m->transmittance = m->single_beams ? bench_array(n, 1.0) : NULL;
    m->absorbance = bench_array(n, 0.0);
    m->sigma = bench_array(n, 1e-4);
    m->baseline = bench_array(n, 0.0);
    m->residual_water = bench_array(n, 0.0);
    m->mark = calloc(n, 1);
    assert_non_null(m->mark);
    m->spacing = step;
    m->resolution = 4.0;
    m->noise = 1e-4;
    m->band = bench->band;
    m->inputs = &bench->inputs;
    for (size_t i = 0; i < n; i++) {
        const double nu = m->wavenumber[i];
        if ((nu >= 1400 && nu <= 1900) || (nu >= 3550 && nu <= 3900))
            m->mark[i] |= PELLET_POINT_VAPOUR;
        if (nu >= 2300 && nu <= 2380)
            m->mark[i] |= PELLET_POINT_CO2;
    }
    for (size_t i = 0; i < pellet_check_count(); i++)
        pellet_rule_standard(pellet_check_at(i), &bench->rule[i]);
    bench->rules = (struct pellet_rules){
        .name = "test",
        .rule_count = pellet_check_count(),
        .rule = bench->rule,
        .blank_max_age_min = 60.0,
        .blank_look_ahead_min = 15.0,
    };
    bench->settings = (struct pellet_settings){.range_low = 400.0, .range_high = 4000.0};
    bench->spectrum.ordinate = PELLET_ORDINATE_SINGLE_BEAM;
    bench->inputs.settings = &bench->settings;
    bench->inputs.rules = &bench->rules;
    bench->inputs.subject.role = role;
    bench->inputs.subject.spectrum = &bench->spectrum;
}

static inline void bench_clear(struct bench *bench)
{
    free(bench->m.wavenumber);
    free(bench->m.single_beam);
    free(bench->m.reference);
    free(bench->m.transmittance);
    free(bench->m.absorbance);
    free(bench->m.sigma);
    free(bench->m.baseline);
    free(bench->m.residual_water);
    free(bench->m.mark);
    free(bench->m.absolute);
}

/* As a file that came ratioed: no beams. */
static inline void bench_ratioed(struct bench *bench)
{
    free(bench->m.single_beam);
    free(bench->m.reference);
    bench->m.single_beam = bench->m.reference = NULL;
    bench->m.single_beams = false;
}

/* Add `height` in A times a shape; T and the subject's beam follow. */
static inline void bench_add(struct bench *bench, double (*shape)(double, double, double), double height,
                             double at, double width)
{
    struct pellet_measurement *m = &bench->m;

    for (size_t i = 0; i < m->n; i++) {
        m->absorbance[i] += height * shape(m->wavenumber[i], at, width);
        if (m->transmittance != NULL)
            m->transmittance[i] = pow(10.0, -m->absorbance[i]);
        if (m->single_beam != NULL)
            m->single_beam[i] = pow(10.0, -m->absorbance[i]);
    }
}

static inline double bench_flat(double nu, double at, double width)
{
    (void)nu, (void)at, (void)width;
    return 1.0;
}

/* Gauss curve of full width `width` at half height. */
static inline double bench_gauss(double nu, double at, double width)
{
    const double u = (nu - at) / width;
    return exp(-4.0 * M_LN2 * u * u);
}

/* 1 inside, 0 outside. */
static inline double bench_box(double nu, double at, double width)
{
    return fabs(nu - at) <= width / 2.0 ? 1.0 : 0.0;
}

/* cos(2 pi nu / width). */
static inline double bench_ripple(double nu, double at, double width)
{
    return cos(2.0 * M_PI * (nu - at) / width);
}

/* Name a band of the sample and mark its points, feet two widths away. */
static inline struct pellet_band *bench_band(struct bench *bench, double at, double height, double width)
{
    struct pellet_measurement *m = &bench->m;
    struct pellet_band *band = &bench->band[m->band_count++];

    *band = (struct pellet_band){
        .at_cm1 = at,
        .height = height,
        .top = height,
        .width_cm1 = width,
        .low_cm1 = at - 2.0 * width,
        .high_cm1 = at + 2.0 * width,
        .kind = PELLET_BAND_SAMPLE,
    };
    for (size_t i = 0; i < m->n; i++) {
        if (m->wavenumber[i] >= band->low_cm1 && m->wavenumber[i] <= band->high_cm1)
            m->mark[i] |= PELLET_POINT_BAND;
    }
    return band;
}

static inline void bench_mark(struct bench *bench, double low, double high, unsigned char mark)
{
    for (size_t i = 0; i < bench->m.n; i++) {
        if (bench->m.wavenumber[i] >= low && bench->m.wavenumber[i] <= high)
            bench->m.mark[i] |= mark;
    }
}

/* As the judge does with points of no light. */
static inline void bench_darken(struct bench *bench, double low, double high)
{
    bench_mark(bench, low, high, PELLET_POINT_UNUSABLE);
    for (size_t i = 0; i < bench->m.n; i++) {
        if (bench->m.wavenumber[i] < low || bench->m.wavenumber[i] > high)
            continue;
        bench->m.absorbance[i] = NAN;
        if (bench->m.transmittance != NULL)
            bench->m.transmittance[i] = NAN;
    }
}

static inline struct pellet_rule *bench_rule(struct bench *bench, const char *id)
{
    return &bench->rule[pellet_check_index(pellet_check_find(id))];
}

static inline struct pellet_finding bench_run(struct bench *bench, const char *id)
{
    const struct pellet_check *check = pellet_check_find(id);
    struct pellet_finding finding;

    pellet_finding_init(check, &finding);
    check->run(&bench->m, bench_rule(bench, id), &finding);
    return finding;
}

/* Run a check and expect an outcome and a phrase. */
#define bench_expect(bench, id, expected_outcome, expected_phrase)                                           \
    do {                                                                                                     \
        const struct pellet_finding bench_finding = bench_run(bench, id);                                    \
        assert_int_equal(bench_finding.outcome, expected_outcome);                                           \
        assert_int_equal(bench_finding.phrase, expected_phrase);                                             \
    } while (0)

/* Seeded numbers of a normal distribution, by the sum of twelve uniform ones. */
static inline double bench_normal(uint64_t *seed)
{
    double sum = -6.0;

    for (int i = 0; i < 12; i++) {
        *seed = *seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
        sum += (double)(*seed >> 11) / 9007199254740992.0;
    }
    return sum;
}

/* Normal noise of A. */
static inline void bench_noise(struct bench *bench, double sigma, uint64_t seed)
{
    struct pellet_measurement *m = &bench->m;

    for (size_t i = 0; i < m->n; i++) {
        m->absorbance[i] += sigma * bench_normal(&seed);
        if (m->transmittance != NULL)
            m->transmittance[i] = pow(10.0, -m->absorbance[i]);
        if (m->single_beam != NULL)
            m->single_beam[i] = pow(10.0, -m->absorbance[i]);
        m->sigma[i] = 2.302585 * sigma * pow(10.0, -m->absorbance[i]);
    }
    m->noise = sigma;
}

/* A spectrum below ../shared with the ordinate that is meant; false, with a line that says so, where it is
 * missing. The caller clears `spectra`. */
static inline bool bench_read_shared(const char *below, enum pellet_ordinate ordinate,
                                     struct pellet_spectra *spectra)
{
    const struct pellet_read_options options = {.ordinate = ordinate};
    char path[512];
    FILE *file;
    char *bytes;
    size_t n;

    if (testing_shared(below, path, sizeof path) == NULL)
        return false;
    file = fopen(path, "rb");
    bytes = malloc((size_t)8 << 20);
    assert_non_null(file);
    assert_non_null(bytes);
    n = fread(bytes, 1, (size_t)8 << 20, file);
    fclose(file);
    assert_int_equal(pellet_spectra_read(bytes, n, &options, spectra, NULL), PELLET_OK);
    free(bytes);
    return true;
}

/* A measurement on a spectrum's own grid: A is `absorbance`, n points. */
static inline void bench_take(struct bench *bench, enum pellet_role role, enum pellet_basis basis,
                              const double *wavenumber, const double *absorbance, size_t n, double resolution)
{
    bench_make(bench, role, basis, 400.0, 400.0 + (double)(n - 1), 1.0);
    for (size_t i = 0; i < n; i++) {
        bench->m.wavenumber[i] = wavenumber[i];
        bench->m.absorbance[i] = absorbance[i];
        bench->m.transmittance[i] = pow(10.0, -absorbance[i]);
        bench->m.mark[i] = 0;
        if (isfinite(absorbance[i]))
            continue;
        bench->m.mark[i] = PELLET_POINT_UNUSABLE;
        bench->m.absorbance[i] = bench->m.transmittance[i] = NAN;
    }
    bench->m.spacing = (wavenumber[n - 1] - wavenumber[0]) / (double)(n - 1);
    bench->m.resolution = resolution;
}

#endif
