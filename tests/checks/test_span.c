// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/measurement.h"

/* The station asks for 4000..400, less 50 at each end: 450..3950 is enough, to the point. */
static void a_covered_range_passes(void **state)
{
    struct bench bench;
    struct pellet_finding finding;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 450, 3950, 2);
    finding = bench_run(&bench, "span");
    assert_int_equal(finding.outcome, PELLET_PASS);
    assert_int_equal(finding.phrase, PELLET_SAYS_SPAN_COVERED);
    assert_near(finding.value, 0.0, 0.0);
    assert_near(finding.from_cm1, 450.0, 0.0);
    assert_near(finding.to_cm1, 3950.0, 0.0);
    bench_clear(&bench);
}

static void missing_ends_are_added_up_and_distrusted(void **state)
{
    struct bench bench;
    struct pellet_finding finding;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 2);
    bench_darken(&bench, 0, 649);
    bench_darken(&bench, 3931, 5000);
    finding = bench_run(&bench, "span");
    assert_int_equal(finding.outcome, PELLET_RESCAN);
    assert_int_equal(finding.phrase, PELLET_SAYS_SPAN_SHORT);
    assert_near(finding.value, 200.0 + 20.0, 1e-12);
    assert_near(finding.number[0], 450.0, 0.0);
    assert_near(finding.number[1], 3950.0, 0.0);
    assert_int_equal(finding.distrust_count, 2);
    assert_near(finding.distrust[0].low, 450.0, 0.0);
    assert_near(finding.distrust[0].high, 650.0, 0.0);
    assert_near(finding.distrust[1].low, 3930.0, 0.0);
    assert_near(finding.distrust[1].high, 3950.0, 0.0);
    bench_rule(&bench, "span")->outcome = PELLET_NOTE;
    finding = bench_run(&bench, "span");
    assert_int_equal(finding.outcome, PELLET_NOTE);
    assert_int_equal(finding.distrust_count, 0);
    bench_clear(&bench);
}

/* Two points above 10 sigma in the dark are luck, not range; three in a row are range. */
static void lone_points_at_a_dark_end_do_not_count(void **state)
{
    struct bench bench;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 2);
    bench_darken(&bench, 0, 649);
    bench.m.mark[25] = bench.m.mark[26] = 0;
    assert_near(bench_run(&bench, "span").from_cm1, 650.0, 0.0);
    bench.m.mark[27] = 0;
    assert_near(bench_run(&bench, "span").from_cm1, 450.0, 0.0);
    bench_clear(&bench);
}

static void gaps_are_listed_and_refuse_only_where_required(void **state)
{
    struct bench bench;
    struct pellet_finding finding;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 2);
    bench_darken(&bench, 2000, 2100);
    bench_darken(&bench, 3000, 3002);
    finding = bench_run(&bench, "span");
    assert_int_equal(finding.outcome, PELLET_PASS);
    assert_int_equal(finding.phrase, PELLET_SAYS_SPAN_GAPS);
    assert_string_equal(finding.word, "2000-2100");
    /* noise is required, but its second window still has light */
    bench_rule(&bench, "noise")->required = true;
    assert_int_equal(bench_run(&bench, "span").outcome, PELLET_PASS);
    bench_darken(&bench, 2500, 2600);
    finding = bench_run(&bench, "span");
    assert_int_equal(finding.outcome, PELLET_RESCAN);
    assert_int_equal(finding.phrase, PELLET_SAYS_SPAN_GAP_NEEDED);
    assert_int_equal(finding.distrust_count, 1);
    assert_near(finding.distrust[0].low, 2500.0, 0.0);
    bench_rule(&bench, "noise")->on = false;
    assert_int_equal(bench_run(&bench, "span").outcome, PELLET_PASS);
    bench_clear(&bench);
}

static void a_spectrum_without_light_is_distrusted_as_a_whole(void **state)
{
    struct bench bench;
    struct pellet_finding finding;

    (void)state;
    bench_make(&bench, PELLET_BLANK, PELLET_AGAINST_NOTHING, 400, 4000, 2);
    bench_darken(&bench, 0, 5000);
    finding = bench_run(&bench, "span");
    assert_int_equal(finding.outcome, PELLET_RESCAN);
    assert_int_equal(finding.phrase, PELLET_SAYS_SPAN_NOTHING);
    assert_near(finding.value, 3500.0, 0.0);
    assert_int_equal(finding.distrust_count, 1);
    assert_true(isinf(finding.distrust[0].high));
    bench_clear(&bench);
}

static void a_ratioed_file_is_not_checked(void **state)
{
    struct bench bench;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 2);
    bench_ratioed(&bench);
    bench_expect(&bench, "span", PELLET_NOT_CHECKED, PELLET_SAYS_NEEDS_SINGLE_BEAMS);
    bench_clear(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_covered_range_passes),
        cmocka_unit_test(missing_ends_are_added_up_and_distrusted),
        cmocka_unit_test(lone_points_at_a_dark_end_do_not_count),
        cmocka_unit_test(gaps_are_listed_and_refuse_only_where_required),
        cmocka_unit_test(a_spectrum_without_light_is_distrusted_as_a_whole),
        cmocka_unit_test(a_ratioed_file_is_not_checked),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
