// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/measurement.h"
#include "checks/ripple_curve.h"
#include "checks/vapour.h"
#include "pellet/reference.h"

/* The slow, obvious pattern: each listed line a Gauss curve of 0.9 resolutions, the highest point 1. */
static double *make_pattern(const struct bench *bench, double resolution)
{
    double *pattern = bench_array(bench->m.n, 0.0), highest = 0.0;

    for (size_t i = 0; i < bench->m.n; i++) {
        for (size_t k = 0; k < pellet_vapour_line_count; k++)
            pattern[i] +=
                pellet_vapour_lines[k].intensity *
                bench_gauss(bench->m.wavenumber[i], pellet_vapour_lines[k].wavenumber, 0.9 * resolution);
        highest = fmax(highest, pattern[i]);
    }
    for (size_t i = 0; i < bench->m.n; i++)
        pattern[i] /= highest;
    return pattern;
}

static void add_vapour(struct bench *bench, double height, double resolution)
{
    double *pattern = make_pattern(bench, resolution);

    for (size_t i = 0; i < bench->m.n; i++) {
        bench->m.absorbance[i] += height * pattern[i];
        bench->m.transmittance[i] = pow(10.0, -bench->m.absorbance[i]);
    }
    bench->m.resolution = resolution;
    free(pattern);
}

/* Highest less lowest of the pattern, freed of structure broader than 24 cm-1, within the regions. */
static double pattern_span(const struct bench *bench, double resolution)
{
    const struct pellet_grid whole = {bench->m.n, bench->m.wavenumber};
    static const double ends[2][2] = {{1400, 1900}, {3550, 3900}};
    double *pattern = make_pattern(bench, resolution), *smooth = bench_array(bench->m.n, 0.0), span = 0.0;

    for (size_t k = 0; k < 2; k++) {
        size_t first, last;
        double low = 1.0, high = -1.0;
        pellet_grid_window(whole, ends[k][0], ends[k][1], &first, &last);
        const struct pellet_grid part = {last - first, bench->m.wavenumber + first};
        if (part.n < 10)
            continue;
        assert_int_equal(pellet_smooth_quadratic(part, pattern + first, 24.0, smooth), PELLET_OK);
        for (size_t i = 0; i < part.n; i++) {
            low = fmin(low, pattern[first + i] - smooth[i]);
            high = fmax(high, pattern[first + i] - smooth[i]);
        }
        span = fmax(span, high - low);
    }
    free(pattern);
    free(smooth);
    return span;
}

/* The height between the extremes of what was added; lines of 1 cm-1 stand apart and keep theirs. */
static void what_was_added_comes_back(void **state)
{
    static const double resolutions[] = {1.0, 4.0};

    (void)state;
    for (size_t i = 0; i < 2; i++) {
        struct bench bench;
        struct pellet_finding finding;
        bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 0.25);
        add_vapour(&bench, 0.03, resolutions[i]);
        finding = bench_run(&bench, "vapour");
        assert_near(finding.value, 0.03 * pattern_span(&bench, resolutions[i]), 1e-4);
        assert_near(finding.value, 0.03, 0.006);
        assert_int_equal(finding.outcome, PELLET_RESCAN);
        assert_int_equal(finding.phrase, PELLET_SAYS_VAPOUR_LINES);
        assert_int_equal(finding.distrust_count, 2);
        assert_near(finding.distrust[0].low, 1400.0, 0.0);
        assert_near(finding.distrust[0].high, 1900.0, 0.0);
        assert_near(finding.distrust[1].low, 3550.0, 0.0);
        assert_near(finding.distrust[1].high, 3900.0, 0.0);
        bench_clear(&bench);
    }
}

/* The value is linear in the vapour and changes its sign with it. */
static void the_value_is_linear_and_signed(void **state)
{
    struct bench bench;
    struct pellet_finding finding;
    double once;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 2);
    bench_expect(&bench, "vapour", PELLET_PASS, PELLET_SAYS_WITHIN);
    add_vapour(&bench, 0.01, 4.0);
    once = bench_run(&bench, "vapour").value;
    assert_true(once > 0.005 && once < 0.02);
    add_vapour(&bench, -0.06, 4.0);
    finding = bench_run(&bench, "vapour");
    assert_near(finding.value, -5.0 * once, 2e-3 * 5.0 * once);
    assert_int_equal(finding.outcome, PELLET_RESCAN);
    assert_int_equal(finding.phrase, PELLET_SAYS_VAPOUR_NEGATIVE);
    bench_clear(&bench);
}

/* Bands of the sample all over 1900-1400, two for each seed, do not feign vapour nor hide it. */
static void bands_of_the_sample_do_not_feign_vapour(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 10; seed++) {
        struct bench bench;
        uint64_t s = seed;
        bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 2);
        bench_noise(&bench, 3e-4, seed);
        for (int k = 0; k < 8; k++)
            bench_add(&bench, bench_gauss, 0.3 + 0.1 * fabs(bench_normal(&s)), 1650 + 90 * bench_normal(&s),
                      12 + 4 * fabs(bench_normal(&s)));
        bench.m.resolution = 4.0;
        assert_true(bench_run(&bench, "vapour").outcome != PELLET_RESCAN);
        add_vapour(&bench, 0.08, 4.0);
        assert_int_equal(bench_run(&bench, "vapour").outcome, PELLET_RESCAN);
        bench_clear(&bench);
    }
}

static void a_resolution_that_is_not_stated_is_found_by_the_pattern(void **state)
{
    static const double resolutions[] = {1.0, 2.0, 4.0, 8.0};

    (void)state;
    for (size_t i = 0; i < sizeof resolutions / sizeof resolutions[0]; i++) {
        struct bench bench;
        struct pellet_vapour stated, found;
        bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 0.5);
        bench_noise(&bench, 1e-4, 7);
        add_vapour(&bench, 0.03, resolutions[i]);
        assert_int_equal(pellet_vapour_fit(&bench.m, &stated), PELLET_OK);
        bench.m.resolution = NAN;
        assert_int_equal(pellet_vapour_fit(&bench.m, &found), PELLET_OK);
        assert_near(found.resolution, resolutions[i], 0.0);
        assert_near(found.peak_to_peak, stated.peak_to_peak, 1e-12);
        bench_clear(&bench);
    }
}

static void what_cannot_be_checked_says_why(void **state)
{
    struct bench bench;
    struct pellet_vapour vapour = {.peak_to_peak = 42.0};

    (void)state;
    bench_make(&bench, PELLET_BLANK, PELLET_AGAINST_NOTHING, 400, 4000, 2);
    bench_expect(&bench, "vapour", PELLET_NOT_CHECKED, PELLET_SAYS_NEEDS_RATIO);
    bench_clear(&bench);
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 1300, 2);
    bench_expect(&bench, "vapour", PELLET_NOT_CHECKED, PELLET_SAYS_OUT_OF_RANGE);
    assert_int_equal(pellet_vapour_fit(&bench.m, &vapour), PELLET_E_RANGE);
    assert_near(vapour.peak_to_peak, 42.0, 0.0);
    bench_clear(&bench);
}

/* One region is enough. */
static void one_region_is_enough(void **state)
{
    struct bench bench;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 2000, 0.25);
    add_vapour(&bench, 0.03, 1.0);
    assert_near(bench_run(&bench, "vapour").value, 0.03 * pattern_span(&bench, 1.0), 1e-4);
    bench_clear(&bench);
}

/*
 * Real air: the beam of one bench with lines of its room in it. At 1 cm-1 the log beam itself holds them,
 * and the pattern of the list is recognised in both regions (HITRAN's lines on a measured spectrum).
 */
static void the_lines_of_real_air_are_recognised(void **state)
{
    static const char *const names[] = {
        "data/singlebeam/2022-01-21_run05_1.0res_argon_0kPa_sample_rows_1400-1900.CSV",
        "data/singlebeam/2022-01-21_run05_1.0res_argon_0kPa_sample_rows_3500-3950.CSV"};

    (void)state;
    for (size_t k = 0; k < 2; k++) {
        struct pellet_spectra beam = {0};
        struct bench bench;
        struct pellet_vapour vapour;
        if (!bench_read_shared(names[k], PELLET_ORDINATE_SINGLE_BEAM, &beam))
            skip();
        for (size_t i = 0; i < beam.item[0].n; i++)
            beam.item[0].y[i] = -log10(beam.item[0].y[i]);
        bench_take(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, beam.item[0].wavenumber, beam.item[0].y,
                   beam.item[0].n, 1.0);
        assert_int_equal(pellet_vapour_fit(&bench.m, &vapour), PELLET_OK);
        assert_true(vapour.r > 0.5);
        assert_true(vapour.peak_to_peak > 5.0 * vapour.sigma);
        bench_clear(&bench);
        pellet_spectra_clear(&beam);
    }
}

/* A real pair at 4 cm-1: room air let into the cell over the cell pumped out, and the other way round. */
static void a_real_pair_has_the_sign_of_its_air(void **state)
{
    struct pellet_spectra air = {0}, vacuum = {0};
    struct bench bench;
    struct pellet_finding there, back;

    (void)state;
    if (!bench_read_shared("data/singlebeam/2022-02-15_run02_4.0res_2scans_evac_to_air_185s.CSV",
                           PELLET_ORDINATE_SINGLE_BEAM, &air) ||
        !bench_read_shared("data/singlebeam/2022-02-15_run02_4.0res_2scans_evac_-93kPa.CSV",
                           PELLET_ORDINATE_SINGLE_BEAM, &vacuum)) {
        pellet_spectra_clear(&air);
        skip();
    }
    assert_int_equal(air.item[0].n, vacuum.item[0].n);
    for (size_t i = 0; i < air.item[0].n; i++)
        air.item[0].y[i] = -log10(air.item[0].y[i] / vacuum.item[0].y[i]);
    bench_take(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, air.item[0].wavenumber, air.item[0].y,
               air.item[0].n, 4.0);
    there = bench_run(&bench, "vapour");
    for (size_t i = 0; i < bench.m.n; i++)
        bench.m.absorbance[i] = -bench.m.absorbance[i];
    back = bench_run(&bench, "vapour");
    assert_int_equal(there.outcome, PELLET_RESCAN);
    assert_int_equal(there.phrase, PELLET_SAYS_VAPOUR_LINES);
    assert_int_equal(back.phrase, PELLET_SAYS_VAPOUR_NEGATIVE);
    assert_near(back.value, -there.value, 1e-9);
    bench_clear(&bench);
    pellet_spectra_clear(&air);
    pellet_spectra_clear(&vacuum);
}

/* Fringes as high as the lines and with a period like their distance do not hide them. */
static void a_ripple_is_taken_out(void **state)
{
    struct bench bench;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 1);
    bench.m.ripple = (struct pellet_ripple){
        .amplitude = 0.03, .period_cm1 = 14, .low_cm1 = 1900, .high_cm1 = 2500, .significance = 1e3};
    for (size_t i = 0; i < bench.m.n; i++)
        bench.m.absorbance[i] = checks_ripple_at(&bench.m.ripple, bench.m.wavenumber[i]);
    add_vapour(&bench, 0.06, 4.0);
    const struct pellet_finding finding = bench_run(&bench, "vapour");
    assert_int_equal(finding.outcome, PELLET_RESCAN);
    assert_near(finding.value, 0.06 * pattern_span(&bench, 4.0), 1e-3);
    bench_clear(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_was_added_comes_back),
        cmocka_unit_test(a_ripple_is_taken_out),
        cmocka_unit_test(the_value_is_linear_and_signed),
        cmocka_unit_test(bands_of_the_sample_do_not_feign_vapour),
        cmocka_unit_test(a_resolution_that_is_not_stated_is_found_by_the_pattern),
        cmocka_unit_test(one_region_is_enough),
        cmocka_unit_test(what_cannot_be_checked_says_why),
        cmocka_unit_test(the_lines_of_real_air_are_recognised),
        cmocka_unit_test(a_real_pair_has_the_sign_of_its_air),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
