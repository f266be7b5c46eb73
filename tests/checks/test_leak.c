// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/measurement.h"

/* Light past the pellet, a share `stray` of the open beam: T' = (T + s)/(1 + s). */
static void let_light_past(struct bench *bench, double stray)
{
    for (size_t i = 0; i < bench->m.n; i++) {
        const double t = (pow(10.0, -bench->m.absorbance[i]) + stray) / (1.0 + stray);
        bench->m.transmittance[i] = bench->m.single_beam[i] = t;
        bench->m.absorbance[i] = -log10(t);
    }
}

static void two_opaque_bands(struct bench *bench, double stray)
{
    bench_make(bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 1);
    bench_add(bench, bench_gauss, 12.0, 1450, 60);
    bench_add(bench, bench_gauss, 9.0, 1050, 60);
    let_light_past(bench, stray);
    bench_band(bench, 1450, -log10(stray / (1 + stray)), 60)->flat_top = true;
    bench_band(bench, 1050, -log10(stray / (1 + stray)), 60)->flat_top = true;
}

/*
 * Photometry with stray light s: A' = -log10((T + s)/(1 + s)), whose ceiling is 2.004 at 1 % and whose values
 * at A = 2 are 1.703 with 1 % and 1.959 with 0.1 %, at A = 1 0.963 and 0.996 (computed, any text on
 * photometry).
 */
static void the_stray_light_of_the_test_is_that_of_the_texts(void **state)
{
    static const struct {
        double a, stray, read;
    } rows[] = {{1.0, 0.01, 0.963}, {1.0, 0.001, 0.996}, {2.0, 0.01, 1.703},  {2.0, 0.001, 1.959},
                {3.0, 0.01, 1.963}, {3.0, 0.001, 2.699}, {300.0, 0.01, 2.004}};

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct bench bench;
        bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 500, 1);
        bench_add(&bench, bench_flat, rows[i].a, 0, 0);
        let_light_past(&bench, rows[i].stray);
        assert_near(bench.m.absorbance[0], rows[i].read, 0.0006);
        bench_clear(&bench);
    }
}

static void a_common_plateau_is_the_false_zero(void **state)
{
    struct bench bench;
    struct pellet_finding finding;

    (void)state;
    two_opaque_bands(&bench, 0.01);
    finding = bench_run(&bench, "leak");
    assert_int_equal(finding.outcome, PELLET_PASS);
    assert_near(finding.value, 0.01 / 1.01, 1e-4);
    assert_near(-log10(finding.value), 2.004, 0.002);
    assert_false(finding.at_most);
    bench_clear(&bench);
    two_opaque_bands(&bench, 0.06);
    finding = bench_run(&bench, "leak");
    assert_int_equal(finding.outcome, PELLET_RESCAN);
    assert_int_equal(finding.phrase, PELLET_SAYS_LEAK_PLATEAU);
    assert_near(finding.value, 0.06 / 1.06, 2e-4);
    assert_int_equal(finding.distrust_count, 1);
    assert_true(isinf(finding.distrust[0].high));
    bench_clear(&bench);
}

/* A leak is level against the open beam; against a blank that is darker at one band it is not, and only as
 * much as a blank may slope is allowed for. */
static void the_open_beam_is_used_where_it_is_known(void **state)
{
    struct bench bench;

    (void)state;
    two_opaque_bands(&bench, 0.06);
    bench.m.absolute = bench_array(bench.m.n, 0.0);
    for (size_t i = 0; i < bench.m.n; i++) {
        const double blank = bench.m.wavenumber[i] > 1200 ? 0.7 : 0.9;
        bench.m.absolute[i] = bench.m.transmittance[i];
        bench.m.transmittance[i] /= blank;
    }
    assert_near(bench_run(&bench, "leak").value, 0.06 / 1.06, 2e-4);
    free(bench.m.absolute);
    bench.m.absolute = NULL;
    bench_expect(&bench, "leak", PELLET_NOT_CHECKED, PELLET_SAYS_LEAK_UNSEEN);
    for (size_t i = 0; i < bench.m.n; i++)
        bench.m.transmittance[i] *= bench.m.wavenumber[i] > 1200 ? 0.7 / 0.77 : 1.0;
    bench_expect(&bench, "leak", PELLET_RESCAN, PELLET_SAYS_LEAK_PLATEAU);
    bench_clear(&bench);
}

static void noise_on_the_plateau_averages_out(void **state)
{
    struct bench bench;

    (void)state;
    two_opaque_bands(&bench, 0.05);
    uint64_t seed = 5;
    for (size_t i = 0; i < bench.m.n; i++) {
        bench.m.transmittance[i] += 0.002 * bench_normal(&seed);
        bench.m.sigma[i] = 0.002;
    }
    assert_near(bench_run(&bench, "leak").value, 0.05 / 1.05, 0.001);
    bench_clear(&bench);
    /* As noisy as a fifth of the level: the darkest point of all is nobody's floor. */
    two_opaque_bands(&bench, 0.04);
    for (size_t i = 0; i < bench.m.n; i++) {
        bench.m.transmittance[i] += 0.008 * bench_normal(&seed);
        bench.m.sigma[i] = 0.008;
    }
    assert_near(bench_run(&bench, "leak").value, 0.04 / 1.04, 0.003);
    bench_clear(&bench);
}

/* White noise of points two cm-1 apart, seen on a grid of half of that and less: zero-filled. */
static void add_filled_noise(struct bench *bench, double sigma, uint64_t seed)
{
    enum { REACH = 12 };
    const double native = bench->m.resolution / 2.0;
    const size_t count = (size_t)((double)bench->m.n * bench->m.spacing / native) + 2 * REACH + 2;
    double *white = bench_array(count, 0.0);

    for (size_t k = 0; k < count; k++)
        white[k] = bench_normal(&seed);
    for (size_t i = 0; i < bench->m.n; i++) {
        const double at = (double)i * bench->m.spacing / native + REACH;
        for (size_t k = (size_t)at - REACH + 1; k <= (size_t)at + REACH; k++) {
            const double x = M_PI * (at - (double)k);
            bench->m.transmittance[i] += sigma * white[k] * (fabs(x) < 1e-9 ? 1.0 : sin(x) / x);
        }
        bench->m.sigma[i] = sigma;
    }
    free(white);
}

/*
 * Zero-filling makes no more of the noise average out: a floor does not end where four neighbours rise
 * together. Nor is the darkest of many places the floor: it is the lowest by luck.
 */
static void the_noise_of_neighbours_is_alike_after_zero_filling(void **state)
{
    size_t found = 0;

    (void)state;
    for (uint64_t seed = 1; seed <= 20; seed++) {
        struct bench bench;
        struct pellet_finding finding;
        bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 0.5);
        bench_add(&bench, bench_gauss, 12.0, 1450, 30);
        bench_add(&bench, bench_gauss, 9.0, 1050, 20);
        let_light_past(&bench, 0.05);
        bench_band(&bench, 1450, 1.32, 50);
        bench_band(&bench, 1050, 1.32, 32);
        add_filled_noise(&bench, 0.003, seed);
        finding = bench_run(&bench, "leak");
        found += finding.outcome == PELLET_RESCAN;
        if (finding.outcome == PELLET_RESCAN)
            assert_near(finding.value, 0.05 / 1.05, 0.004);
        bench_clear(&bench);
    }
    assert_int_equal(found, 20);
}

/* One opaque band may just end there; two that end at different levels share no false zero; and where a third
 * is darker, what the two share is not zero. */
static void one_plateau_or_two_levels_are_no_leak(void **state)
{
    struct bench bench;

    (void)state;
    two_opaque_bands(&bench, 0.06);
    bench.m.band_count = 1;
    bench_expect(&bench, "leak", PELLET_NOT_CHECKED, PELLET_SAYS_LEAK_UNSEEN);
    bench_clear(&bench);
    two_opaque_bands(&bench, 0.06);
    for (size_t i = 0; i < bench.m.n; i++) {
        if (bench.m.wavenumber[i] < 1200)
            bench.m.transmittance[i] *= 1.3;
    }
    bench_expect(&bench, "leak", PELLET_NOT_CHECKED, PELLET_SAYS_LEAK_UNSEEN);
    bench_clear(&bench);
    two_opaque_bands(&bench, 0.06);
    for (size_t i = 0; i < bench.m.n; i++) {
        if (fabs(bench.m.wavenumber[i] - 700) < 20)
            bench.m.transmittance[i] = 0.03;
    }
    bench_expect(&bench, "leak", PELLET_NOT_CHECKED, PELLET_SAYS_LEAK_UNSEEN);
    bench_clear(&bench);
}

/* Two faint bands with broad tops of one level share bright light, not stray light. */
static void bright_floors_are_no_leak(void **state)
{
    struct bench bench;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 1);
    bench_add(&bench, bench_box, 0.09, 1450, 40);
    bench_add(&bench, bench_box, 0.09, 1050, 40);
    bench_band(&bench, 1450, 0.09, 40)->flat_top = true;
    bench_band(&bench, 1050, 0.09, 40)->flat_top = true;
    bench_expect(&bench, "leak", PELLET_NOT_CHECKED, PELLET_SAYS_LEAK_UNSEEN);
    bench_clear(&bench);
}

static double lorentz(double nu, double at, double width)
{
    const double x = (nu - at) / (width / 2.0);
    return 1.0 / (1.0 + x * x);
}

/*
 * Two bands that a search for bands did not call flat. With 5 % of stray light a Lorentz band of 4 A ends at
 * 1.32 A and is flat; one of 1.32 A without stray light ends there as well, but in a point. The observed full
 * width of the first: T = 10^-0.66 at half height, so the true A is 0.77 there, x = sqrt(4/0.77 - 1) = 2.05.
 */
static void flat_bands_are_told_from_pointed_ones(void **state)
{
    static const double centres[] = {1450, 1050};
    struct bench bench;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 1);
    for (size_t i = 0; i < 2; i++)
        bench_add(&bench, lorentz, 4.0, centres[i], 20);
    let_light_past(&bench, 0.05);
    for (size_t i = 0; i < 2; i++)
        bench_band(&bench, centres[i], 1.32, 20 * 2.05);
    bench_expect(&bench, "leak", PELLET_RESCAN, PELLET_SAYS_LEAK_PLATEAU);
    bench_clear(&bench);
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 1);
    for (size_t i = 0; i < 2; i++) {
        bench_add(&bench, lorentz, 1.32, centres[i], 40);
        bench_band(&bench, centres[i], 1.32, 40);
    }
    bench_expect(&bench, "leak", PELLET_NOT_CHECKED, PELLET_SAYS_LEAK_UNSEEN);
    bench_clear(&bench);
}

static void lorentz_bands(struct bench *bench, const double *height, size_t count, double stray)
{
    bench_make(bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 1);
    for (size_t i = 0; i < count; i++)
        bench_add(bench, lorentz, height[i], 800.0 + 400.0 * (double)i, 20);
    let_light_past(bench, stray);
    for (size_t i = 0; i < count; i++)
        bench_band(bench, 800.0 + 400.0 * (double)i, -log10((pow(10.0, -height[i]) + stray) / (1.0 + stray)),
                   40);
}

/* One floor that is flat and one that hardly is are too little; more of the latter tell. */
static void floors_that_are_less_flat_add_up(void **state)
{
    static const double height[] = {9.0, 2.6, 2.6, 2.6};
    struct bench bench;
    struct pellet_finding finding;

    (void)state;
    lorentz_bands(&bench, height, 4, 0.05);
    finding = bench_run(&bench, "leak");
    assert_int_equal(finding.outcome, PELLET_RESCAN);
    assert_near(finding.value, 0.05 / 1.05, 0.002);
    bench_clear(&bench);
    lorentz_bands(&bench, height, 2, 0.05);
    bench_expect(&bench, "leak", PELLET_NOT_CHECKED, PELLET_SAYS_LEAK_UNSEEN);
    bench_clear(&bench);
}

/*
 * Two floors, one quite flat and one hardly, are a false zero where they are at one level; not against a
 * blank, which slopes, nor further apart.
 */
static void floors_close_together_tell_more(void **state)
{
    static const double close[] = {9.0, 2.65}, apart[] = {9.0, 2.2};
    struct bench bench;

    (void)state;
    lorentz_bands(&bench, close, 2, 0.05);
    bench_expect(&bench, "leak", PELLET_NOT_CHECKED, PELLET_SAYS_LEAK_UNSEEN);
    bench.m.basis = PELLET_AGAINST_OPEN_BEAM;
    bench_expect(&bench, "leak", PELLET_RESCAN, PELLET_SAYS_LEAK_PLATEAU);
    bench_clear(&bench);
    lorentz_bands(&bench, apart, 2, 0.05);
    bench.m.basis = PELLET_AGAINST_OPEN_BEAM;
    bench_expect(&bench, "leak", PELLET_NOT_CHECKED, PELLET_SAYS_LEAK_UNSEEN);
    bench_clear(&bench);
}

/* Two blunt bands of exactly one height, 0.4 A, are no wonder: that more than a third of the light leaks
 * would be one. */
static void faint_bands_of_one_height_are_no_leak(void **state)
{
    struct bench bench;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_OPEN_BEAM, 400, 4000, 1);
    for (size_t i = 0; i < 2; i++) {
        const double at = 800.0 + 400.0 * (double)i;
        bench_add(&bench, bench_gauss, 0.205, at - 4.2, 9);
        bench_add(&bench, bench_gauss, 0.205, at + 4.2, 9);
    }
    let_light_past(&bench, 0.0);
    for (size_t i = 0; i < 2; i++)
        bench_band(&bench, 800.0 + 400.0 * (double)i, 0.41, 20.4);
    bench_expect(&bench, "leak", PELLET_NOT_CHECKED, PELLET_SAYS_LEAK_UNSEEN);
    bench_clear(&bench);
}

/* Two Gauss curves that merge are flat; one such floor is none of stray light, though a pointed band ends at
 * the same T, and though the search for bands lists it twice. */
static void one_floor_of_merged_bands_is_no_leak(void **state)
{
    struct bench bench;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 1);
    bench_add(&bench, bench_gauss, 1.2, 1450, 40);
    bench_add(&bench, bench_gauss, 1.2, 1484, 40);
    bench_add(&bench, bench_gauss, 1.2, 1050, 40);
    bench_band(&bench, 1467, 1.2, 74)->flat_top = true;
    bench_band(&bench, 1460, 1.2, 74)->flat_top = true;
    bench_band(&bench, 1050, 1.2, 40);
    bench_expect(&bench, "leak", PELLET_NOT_CHECKED, PELLET_SAYS_LEAK_UNSEEN);
    bench_clear(&bench);
}

static void a_dark_place_bounds_the_leak(void **state)
{
    struct bench bench;
    struct pellet_finding finding;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 1);
    bench_add(&bench, bench_gauss, 2.0, 1450, 60);
    finding = bench_run(&bench, "leak");
    assert_int_equal(finding.outcome, PELLET_PASS);
    assert_int_equal(finding.phrase, PELLET_SAYS_LEAK_AT_MOST);
    assert_true(finding.at_most);
    assert_near(finding.value, 0.01 + 3e-4 / sqrt(3.0), 5e-5);
    assert_near(finding.at_cm1, 1450.0, 1.0);
    bench_clear(&bench);
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 1);
    bench_add(&bench, bench_gauss, 1.0, 1450, 60);
    bench_add(&bench, bench_gauss, 2.0, 2350, 20); /* carbon dioxide bounds nothing */
    bench_expect(&bench, "leak", PELLET_NOT_CHECKED, PELLET_SAYS_LEAK_UNSEEN);
    bench_clear(&bench);
}

/* A beam that is dark below 650 cm-1 but for a level, as behind a detector's cut-off. */
static void cut_off(struct bench *bench, double level)
{
    for (size_t i = 0; i < bench->m.n; i++) {
        const double nu = bench->m.wavenumber[i];
        bench->m.single_beam[i] =
            40.0 * (nu < 650.0 ? level : level + exp(-(nu - 2000.0) * (nu - 2000.0) / 1e6));
        if (bench->m.reference != NULL)
            bench->m.reference[i] = bench->m.single_beam[i];
    }
}

static void energy_below_the_cutoff_is_a_fraction_of_the_maximum(void **state)
{
    struct bench bench;
    struct pellet_finding finding;

    (void)state;
    bench_make(&bench, PELLET_OPEN_BEAM, PELLET_AGAINST_NOTHING, 400, 4000, 2);
    cut_off(&bench, 0.03);
    finding = bench_run(&bench, "leak");
    assert_int_equal(finding.outcome, PELLET_RESCAN);
    assert_int_equal(finding.phrase, PELLET_SAYS_LEAK_BELOW_CUTOFF);
    assert_near(finding.value, 0.03 / 1.03, 1e-5);
    cut_off(&bench, -0.03); /* a zero that lies too low is as false */
    assert_near(bench_run(&bench, "leak").value, 0.03 / 0.97, 1e-5);
    cut_off(&bench, 0.01);
    finding = bench_run(&bench, "leak");
    assert_int_equal(finding.outcome, PELLET_PASS);
    assert_near(finding.value, 0.01 / 1.01, 1e-5);
    bench_clear(&bench);
}

/* Light that falls off towards the end is not dark, and a dark band of the sample is not the detector's. */
static void light_that_falls_off_is_not_dark(void **state)
{
    struct bench bench;

    (void)state;
    bench_make(&bench, PELLET_BLANK, PELLET_AGAINST_NOTHING, 400, 4000, 2);
    for (size_t i = 0; i < bench.m.n; i++)
        bench.m.single_beam[i] = fmin(1.0, 0.05 * exp((bench.m.wavenumber[i] - 400.0) / 100.0));
    bench_expect(&bench, "leak", PELLET_NOT_CHECKED, PELLET_SAYS_LEAK_UNSEEN);
    bench_clear(&bench);
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 2);
    bench_add(&bench, bench_box, 1.2, 400, 200);
    bench_expect(&bench, "leak", PELLET_NOT_CHECKED, PELLET_SAYS_LEAK_UNSEEN);
    bench_clear(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_stray_light_of_the_test_is_that_of_the_texts),
        cmocka_unit_test(a_common_plateau_is_the_false_zero),
        cmocka_unit_test(the_open_beam_is_used_where_it_is_known),
        cmocka_unit_test(noise_on_the_plateau_averages_out),
        cmocka_unit_test(the_noise_of_neighbours_is_alike_after_zero_filling),
        cmocka_unit_test(one_plateau_or_two_levels_are_no_leak),
        cmocka_unit_test(bright_floors_are_no_leak),
        cmocka_unit_test(flat_bands_are_told_from_pointed_ones),
        cmocka_unit_test(floors_that_are_less_flat_add_up),
        cmocka_unit_test(floors_close_together_tell_more),
        cmocka_unit_test(faint_bands_of_one_height_are_no_leak),
        cmocka_unit_test(one_floor_of_merged_bands_is_no_leak),
        cmocka_unit_test(a_dark_place_bounds_the_leak),
        cmocka_unit_test(energy_below_the_cutoff_is_a_fraction_of_the_maximum),
        cmocka_unit_test(light_that_falls_off_is_not_dark),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
