// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/measurement.h"

static void the_brightest_place_is_compared(void **state)
{
    struct bench bench;
    struct pellet_finding finding;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 2);
    bench_band(&bench, 1000, 0.5, 10);
    bench_add(&bench, bench_box, -log10(1.0504), 2800, 60);
    finding = bench_run(&bench, "overcompensation");
    assert_int_equal(finding.outcome, PELLET_PASS); /* written as 1.05 */
    assert_near(finding.value, 1.05, 1e-12);
    bench_add(&bench, bench_box, -log10(1.06 / 1.0504), 2800, 60);
    finding = bench_run(&bench, "overcompensation");
    assert_int_equal(finding.outcome, PELLET_WAIT);
    assert_int_equal(finding.phrase, PELLET_SAYS_OVER_BRIGHT);
    assert_near(finding.value, 1.06, 1e-12);
    assert_true(fabs(finding.at_cm1 - 2800.0) <= 20.0);
    assert_int_equal(finding.distrust_count, 1);
    assert_true(isinf(finding.distrust[0].high));
    bench_clear(&bench);
}

/* A spike of 10 cm-1 counts with half its height over 20 cm-1, by the trapezoid: 11 points of 2 cm-1. */
static void a_spike_is_smoothed(void **state)
{
    struct bench bench;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 2);
    for (size_t i = 0; i < bench.m.n; i++) {
        if (fabs(bench.m.wavenumber[i] - 2800.0) <= 4.0)
            bench.m.transmittance[i] = 1.08;
    }
    /* five points of 1.08 between points of 1: area 20 + 0.08 (8 + 2) */
    assert_near(bench_run(&bench, "overcompensation").value, 1.04, 1e-12);
    bench_clear(&bench);
}

static void air_and_water_are_left_out(void **state)
{
    struct bench bench;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 2);
    bench_band(&bench, 1000, 0.5, 10);
    bench_add(&bench, bench_box, -0.2, 1650, 100);
    bench_add(&bench, bench_box, -0.2, 3700, 100);
    bench_add(&bench, bench_box, -0.2, 2340, 60);
    bench_add(&bench, bench_box, -0.2, 667, 60);
    /* the blank is damper than the sample: its water lifts T near 3400, and `moisture` says so */
    bench_add(&bench, bench_gauss, -0.15, 3400, 100);
    for (size_t i = 0; i < bench.m.n; i++)
        bench.m.residual_water[i] = -0.15 * bench_gauss(bench.m.wavenumber[i], 3400, 100);
    assert_near(bench_run(&bench, "overcompensation").value, 1.0, 1e-9);
    bench_clear(&bench);
}

/* Water of crystallisation that is taken for water in the sample brightens nothing. */
static void water_of_the_sample_is_not_added_back(void **state)
{
    struct bench bench;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 2);
    for (size_t i = 0; i < bench.m.n; i++)
        bench.m.residual_water[i] = 0.1 * bench_gauss(bench.m.wavenumber[i], 900, 200);
    assert_near(bench_run(&bench, "overcompensation").value, 1.0, 1e-9);
    bench_clear(&bench);
}

/* A noisy end does not speak by luck: 1.122 over means whose deviation is 0.09 sqrt(2/20) = 0.028 is 4.3 of
 * them; with 0.07 it is 5.5 of them and speaks. */
static void noisy_places_do_not_count(void **state)
{
    struct bench bench;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 2);
    bench_add(&bench, bench_box, -0.05, 430, 60);
    for (size_t i = 0; bench.m.wavenumber[i] <= 470.0; i++)
        bench.m.sigma[i] = 0.09;
    assert_near(bench_run(&bench, "overcompensation").value, 1.0, 1e-9);
    for (size_t i = 0; bench.m.wavenumber[i] <= 470.0; i++)
        bench.m.sigma[i] = 0.07;
    assert_near(bench_run(&bench, "overcompensation").value, pow(10.0, 0.05), 1e-3);
    bench_clear(&bench);
}

/* 1/0.915 = 1.093: the empty beam over a clear plate of KBr. A band of the sample, or a slope, speaks
 * against it. */
static void nothing_in_the_beam_is_said(void **state)
{
    struct bench bench;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 2);
    bench_add(&bench, bench_flat, -log10(1.093), 0, 0);
    bench_expect(&bench, "overcompensation", PELLET_WAIT, PELLET_SAYS_OVER_EMPTY);
    bench_add(&bench, bench_box, 0.02, 1000, 60);
    bench_expect(&bench, "overcompensation", PELLET_WAIT, PELLET_SAYS_OVER_BRIGHT);
    bench_add(&bench, bench_box, -0.02, 1000, 60);
    bench_band(&bench, 2900, 0.3, 10);
    bench_expect(&bench, "overcompensation", PELLET_WAIT, PELLET_SAYS_OVER_BRIGHT);
    bench_clear(&bench);
}

static void what_cannot_be_checked_says_why(void **state)
{
    struct bench bench;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_NOTHING, 400, 4000, 2);
    bench_expect(&bench, "overcompensation", PELLET_NOT_CHECKED, PELLET_SAYS_NEEDS_RATIO);
    bench_clear(&bench);
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 1400, 1900, 2);
    bench_expect(&bench, "overcompensation", PELLET_NOT_CHECKED, PELLET_SAYS_NO_CLEAR_WINDOW);
    bench_clear(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_brightest_place_is_compared),
        cmocka_unit_test(a_spike_is_smoothed),
        cmocka_unit_test(air_and_water_are_left_out),
        cmocka_unit_test(noisy_places_do_not_count),
        cmocka_unit_test(water_of_the_sample_is_not_added_back),
        cmocka_unit_test(nothing_in_the_beam_is_said),
        cmocka_unit_test(what_cannot_be_checked_says_why),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
