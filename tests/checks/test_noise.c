// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/measurement.h"

/* +d, -d, +d, ...: the quadratic is next to nothing, so the rms is d sqrt(N/(N-3)); a fitted ripple just
 * short of two points a period takes 1 % of it at most. */
static void alternate(struct bench *bench, double d)
{
    for (size_t i = 0; i < bench->m.n; i++)
        bench->m.absorbance[i] = (i % 2 == 0) ? d : -d;
}

static void alternating_points_have_their_own_rms(void **state)
{
    struct bench bench;
    struct pellet_finding finding;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 2);
    alternate(&bench, 0.001);
    finding = bench_run(&bench, "noise");
    assert_int_equal(finding.outcome, PELLET_PASS);
    assert_int_equal(finding.phrase, PELLET_SAYS_NOISE_WITHIN);
    assert_near(finding.value, 0.001 * sqrt(101.0 / 98.0), 1e-5);
    assert_near(finding.number[0], -1.0, 0.02); /* neighbours are opposite */
    assert_near(finding.from_cm1, 2000.0, 0.0);
    assert_near(finding.to_cm1, 2200.0, 0.0);
    assert_near(finding.rests_low, 2000.0, 0.0);
    bench_clear(&bench);
}

/* A sample with 0.0019 A passes its limit of 0.002; a blank with it does not pass half of that. */
static void a_blank_has_half_the_limit(void **state)
{
    struct bench bench;
    struct pellet_finding finding;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 2);
    alternate(&bench, 0.0019);
    assert_int_equal(bench_run(&bench, "noise").outcome, PELLET_PASS);
    alternate(&bench, 0.0021);
    finding = bench_run(&bench, "noise");
    assert_int_equal(finding.outcome, PELLET_RESCAN);
    assert_int_equal(finding.phrase, PELLET_SAYS_NOISE_HIGH);
    assert_int_equal(finding.distrust_count, 1);
    assert_near(finding.distrust[0].low, 0.0, 0.0);
    assert_true(isinf(finding.distrust[0].high));
    bench_clear(&bench);
    bench_make(&bench, PELLET_BLANK, PELLET_AGAINST_NOTHING, 400, 4000, 2);
    alternate(&bench, 0.0011);
    finding = bench_run(&bench, "noise");
    assert_int_equal(finding.outcome, PELLET_RESCAN);
    assert_near(finding.limit, 0.001, 0.0);
    bench_clear(&bench);
}

/* Normal noise of 1 sigma 5e-4 under a parabola and a ripple of 0.05 A comes back within 15 %: the rms of N
 * points has a relative deviation of 1/sqrt(2 N) = 3.5 % at N = 415. */
static void curvature_and_ripple_are_not_noise(void **state)
{
    struct bench bench;

    (void)state;
    for (uint64_t seed = 1; seed <= 20; seed++) {
        bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 0.482);
        for (size_t i = 0; i < bench.m.n; i++) {
            const double u = (bench.m.wavenumber[i] - 2100.0) / 100.0;
            bench.m.absorbance[i] = 0.1 + 0.02 * u + 0.03 * u * u;
        }
        bench_add(&bench, bench_ripple, 0.05, 2000.0, 7.9);
        bench_noise(&bench, 5e-4, seed);
        assert_near(bench_run(&bench, "noise").value, 5e-4, 0.75e-4);
        bench_clear(&bench);
    }
}

static void bands_move_the_window_or_leave_none(void **state)
{
    struct bench bench;
    struct pellet_finding finding;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 2);
    bench_noise(&bench, 5e-4, 3);
    bench_add(&bench, bench_gauss, 0.3, 2100, 15);
    bench_band(&bench, 2100, 0.3, 15); /* covers 60 of 200 cm-1 */
    finding = bench_run(&bench, "noise");
    assert_near(finding.from_cm1, 2500.0, 0.0);
    assert_near(finding.value, 5e-4, 1.5e-4);
    bench_add(&bench, bench_gauss, 0.3, 2600, 15);
    bench_band(&bench, 2600, 0.3, 15);
    bench_expect(&bench, "noise", PELLET_NOT_CHECKED, PELLET_SAYS_NO_CLEAR_WINDOW);
    bench_clear(&bench);
}

/* One hump of a lone beam's energy, broader than both windows: its curvature is no noise, and hides none. */
static void a_hump_broader_than_the_windows_hides_nothing(void **state)
{
    struct bench bench;
    struct pellet_finding finding;

    (void)state;
    bench_make(&bench, PELLET_BLANK, PELLET_AGAINST_NOTHING, 400, 4000, 2);
    bench_noise(&bench, 5e-4, 5);
    bench_add(&bench, bench_gauss, 0.04, 2350, 400);
    bench_band(&bench, 2350, 0.04, 400);
    finding = bench_run(&bench, "noise");
    assert_int_equal(finding.outcome, PELLET_PASS);
    assert_false(finding.at_most);
    assert_near(finding.value, 5e-4, 1.5e-4);
    bench_noise(&bench, 2e-3, 6);
    assert_int_equal(bench_run(&bench, "noise").outcome, PELLET_RESCAN);
    bench_clear(&bench);
}

/* A band on less than 20 % of the window is left out of it. */
static void a_small_band_is_left_out(void **state)
{
    struct bench bench;
    struct pellet_finding finding;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 1);
    bench_noise(&bench, 5e-4, 4);
    bench_add(&bench, bench_gauss, 0.3, 2100, 8);
    bench_band(&bench, 2100, 0.3, 8);
    finding = bench_run(&bench, "noise");
    assert_near(finding.from_cm1, 2000.0, 0.0);
    assert_near(finding.value, 5e-4, 1.5e-4);
    bench_clear(&bench);
}

static void windows_outside_the_file_are_named(void **state)
{
    struct bench bench;
    struct pellet_finding finding;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 1800, 2);
    finding = bench_run(&bench, "noise");
    assert_int_equal(finding.outcome, PELLET_NOT_CHECKED);
    assert_int_equal(finding.phrase, PELLET_SAYS_OUT_OF_RANGE);
    assert_near(finding.from_cm1, 2000.0, 0.0);
    bench_clear(&bench);
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 2300, 4000, 2);
    assert_near(bench_run(&bench, "noise").from_cm1, 2500.0, 0.0);
    bench_clear(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(alternating_points_have_their_own_rms),
        cmocka_unit_test(a_blank_has_half_the_limit),
        cmocka_unit_test(curvature_and_ripple_are_not_noise),
        cmocka_unit_test(bands_move_the_window_or_leave_none),
        cmocka_unit_test(a_hump_broader_than_the_windows_hides_nothing),
        cmocka_unit_test(a_small_band_is_left_out),
        cmocka_unit_test(windows_outside_the_file_are_named),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
