// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/measurement.h"
#include "checks/ripple_curve.h"

/* A triangle over 2300..2380 with its top at 2340 on a sloping line: the height over the chord is exact. */
static double triangle(double nu, double at, double width)
{
    const double u = fabs(nu - at) / (width / 2.0);
    return u < 1.0 ? 1.0 - u : 0.0;
}

static double line(double nu, double at, double width)
{
    return (nu - at) / width;
}

static void the_extreme_over_the_chord_is_signed(void **state)
{
    static const struct {
        double height;
        enum pellet_outcome outcome;
        enum pellet_phrase phrase;
    } rows[] = {
        {0.05, PELLET_PASS, PELLET_SAYS_WITHIN},  {0.0501, PELLET_NOTE, PELLET_SAYS_CO2_SEEN},
        {-0.05, PELLET_PASS, PELLET_SAYS_WITHIN}, {-0.0501, PELLET_NOTE, PELLET_SAYS_CO2_NEGATIVE},
        {0.8, PELLET_NOTE, PELLET_SAYS_CO2_SEEN},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct bench bench;
        struct pellet_finding finding;
        bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 1);
        bench_add(&bench, line, 0.1, 2000, 1000);
        bench_add(&bench, triangle, rows[i].height, 2340, 70); /* ends clear of the ends' means */
        finding = bench_run(&bench, "carbon_dioxide");
        assert_near(finding.value, rows[i].height, 1e-12);
        assert_near(finding.at_cm1, 2340.0, 1e-9);
        assert_int_equal(finding.outcome, rows[i].outcome);
        assert_int_equal(finding.phrase, rows[i].phrase);
        assert_near(finding.rests_low, 2300.0, 0.0);
        assert_near(finding.rests_high, 2380.0, 0.0);
        bench_clear(&bench);
    }
}

/* Fringes of 0.04 A, a crest in the window, neither add to the band nor make one. */
static void a_ripple_is_taken_out(void **state)
{
    static const double heights[] = {0.0, 0.03};

    (void)state;
    for (size_t i = 0; i < sizeof heights / sizeof heights[0]; i++) {
        struct bench bench;
        bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 1);
        bench.m.ripple = (struct pellet_ripple){
            .amplitude = 0.02, .period_cm1 = 30, .low_cm1 = 1900, .high_cm1 = 2500, .significance = 1e3};
        for (size_t k = 0; k < bench.m.n; k++)
            bench.m.absorbance[k] = checks_ripple_at(&bench.m.ripple, bench.m.wavenumber[k]);
        bench_add(&bench, triangle, heights[i], 2340, 70);
        assert_near(bench_run(&bench, "carbon_dioxide").value, heights[i], 1e-12);
        bench_clear(&bench);
    }
}

static void where_the_light_is_gone_it_is_a_lower_bound(void **state)
{
    struct bench bench;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 1);
    bench_add(&bench, triangle, 3.0, 2340, 70);
    bench_mark(&bench, 2339, 2341, PELLET_POINT_LOWER_BOUND);
    assert_true(bench_run(&bench, "carbon_dioxide").at_least);
    bench_clear(&bench);
}

static void what_cannot_be_checked_says_why(void **state)
{
    struct bench bench;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_NOTHING, 400, 4000, 1);
    bench_expect(&bench, "carbon_dioxide", PELLET_NOT_CHECKED, PELLET_SAYS_NEEDS_RATIO);
    bench_clear(&bench);
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 2350, 1);
    bench_expect(&bench, "carbon_dioxide", PELLET_NOT_CHECKED, PELLET_SAYS_OUT_OF_RANGE);
    bench_clear(&bench);
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 1);
    bench_darken(&bench, 2320, 2360);
    bench_expect(&bench, "carbon_dioxide", PELLET_NOT_CHECKED, PELLET_SAYS_TOO_FEW_POINTS);
    bench_clear(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_extreme_over_the_chord_is_signed),
        cmocka_unit_test(a_ripple_is_taken_out),
        cmocka_unit_test(where_the_light_is_gone_it_is_a_lower_bound),
        cmocka_unit_test(what_cannot_be_checked_says_why),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
