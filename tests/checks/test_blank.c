// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/measurement.h"

#define MINUTE (60 * PELLET_NS_PER_S)

struct pair {
    struct bench bench;
    struct pellet_source blank;
    struct pellet_spectrum beam;
};

/* A sample measured `age_min` after its blank. */
static void make(struct pair *pair, int age_min)
{
    bench_make(&pair->bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 2);
    memset(&pair->beam, 0, sizeof pair->beam);
    pair->beam.ordinate = PELLET_ORDINATE_SINGLE_BEAM;
    pair->blank = (struct pellet_source){
        .file = "blank-0900.csv", .spectrum = &pair->beam, .state = PELLET_BLANK_ACCEPTED};
    pair->bench.inputs.blank = &pair->blank;
    pair->bench.inputs.subject.measured = age_min * MINUTE;
}

static void an_age_within_the_limit_passes(void **state)
{
    struct pair pair;
    struct pellet_finding finding;

    (void)state;
    make(&pair, 60);
    finding = bench_run(&pair.bench, "blank");
    assert_int_equal(finding.outcome, PELLET_PASS);
    assert_int_equal(finding.phrase, PELLET_SAYS_BLANK_USED);
    assert_near(finding.value, 60.0, 1e-12);
    assert_near(finding.limit, 60.0, 0.0);
    assert_int_equal(finding.unit, PELLET_UNIT_MINUTE);
    assert_string_equal(finding.word, "blank-0900.csv");
    assert_string_equal(finding.basis, "accepted");
    pair.bench.inputs.skipped_count = 2;
    finding = bench_run(&pair.bench, "blank");
    assert_int_equal(finding.phrase, PELLET_SAYS_BLANK_PASSED_OVER);
    assert_near(finding.number[0], 2.0, 0.0);
    pair.blank.state = PELLET_BLANK_REFUSED;
    finding = bench_run(&pair.bench, "blank");
    assert_int_equal(finding.phrase, PELLET_SAYS_BLANK_REFUSED_USED);
    assert_string_equal(finding.basis, "refused");
    pair.blank.state = PELLET_BLANK_PROVISIONAL;
    pair.blank.file = "b\tk";
    finding = bench_run(&pair.bench, "blank");
    assert_string_equal(finding.basis, "provisional");
    assert_string_equal(finding.word, "b\\x09k");
    bench_clear(&pair.bench);
}

static void an_old_blank_waits(void **state)
{
    struct pair pair;

    (void)state;
    make(&pair, 61);
    bench_expect(&pair.bench, "blank", PELLET_WAIT, PELLET_SAYS_BLANK_TOO_OLD);
    bench_rule(&pair.bench, "blank")->outcome = PELLET_NOTE;
    bench_expect(&pair.bench, "blank", PELLET_NOTE, PELLET_SAYS_BLANK_TOO_OLD);
    bench_clear(&pair.bench);
}

static void a_later_blank_serves_up_to_look_ahead(void **state)
{
    struct pair pair;
    struct pellet_finding finding;

    (void)state;
    make(&pair, -15);
    finding = bench_run(&pair.bench, "blank");
    assert_int_equal(finding.outcome, PELLET_PASS);
    assert_int_equal(finding.phrase, PELLET_SAYS_BLANK_LATER);
    assert_near(finding.value, -15.0, 1e-12);
    assert_near(finding.number[0], 15.0, 1e-12);
    bench_clear(&pair.bench);
    make(&pair, -16);
    bench_expect(&pair.bench, "blank", PELLET_WAIT, PELLET_SAYS_BLANK_TOO_LATE);
    bench_clear(&pair.bench);
}

static void times_of_different_kinds_are_not_compared(void **state)
{
    struct pair pair;
    struct pellet_finding finding;

    (void)state;
    make(&pair, 600);
    pair.blank.measured_from = PELLET_TIME_FROM_MTIME;
    finding = bench_run(&pair.bench, "blank");
    assert_int_equal(finding.outcome, PELLET_PASS);
    assert_int_equal(finding.phrase, PELLET_SAYS_BLANK_AGE_UNKNOWN);
    assert_true(isnan(finding.value));
    pair.blank.measured_from = PELLET_TIME_FROM_FILE;
    pair.blank.measured = PELLET_NO_TIME;
    bench_expect(&pair.bench, "blank", PELLET_PASS, PELLET_SAYS_BLANK_AGE_UNKNOWN);
    bench_clear(&pair.bench);
}

static void no_blank_waits_and_says_why(void **state)
{
    struct bench bench;
    struct pellet_finding finding;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_NOTHING, 400, 4000, 2);
    bench.inputs.no_blank = PELLET_NO_BLANK_YET;
    bench_expect(&bench, "blank", PELLET_WAIT, PELLET_SAYS_BLANK_NONE);
    bench.inputs.no_blank = PELLET_NO_BLANK_ALL_REFUSED;
    bench_expect(&bench, "blank", PELLET_WAIT, PELLET_SAYS_BLANK_ALL_REFUSED);
    bench.inputs.no_blank = PELLET_NO_BLANK_TOO_OLD;
    bench.inputs.no_blank_age_min = 75.0;
    finding = bench_run(&bench, "blank");
    assert_int_equal(finding.outcome, PELLET_WAIT);
    assert_int_equal(finding.phrase, PELLET_SAYS_BLANK_TOO_OLD);
    assert_near(finding.value, 75.0, 0.0);
    bench_clear(&bench);
}

static void a_conflict_is_a_rescan_whatever_the_rule(void **state)
{
    struct pair pair;
    struct pellet_finding finding;

    (void)state;
    make(&pair, 10);
    snprintf(pair.bench.m.conflict, sizeof pair.bench.m.conflict, "resolution 4 and 8 cm-1");
    finding = bench_run(&pair.bench, "blank");
    assert_int_equal(finding.outcome, PELLET_RESCAN);
    assert_int_equal(finding.phrase, PELLET_SAYS_BLANK_CONFLICT);
    assert_string_equal(finding.word, "resolution 4 and 8 cm-1");
    bench_clear(&pair.bench);
}

static void a_ratioed_blank_does_not_serve_a_single_beam(void **state)
{
    struct pair pair;

    (void)state;
    make(&pair, 10);
    pair.beam.ordinate = PELLET_ORDINATE_TRANSMITTANCE;
    bench_expect(&pair.bench, "blank", PELLET_WAIT, PELLET_SAYS_BLANK_KIND);
    pair.blank.spectrum = NULL;
    bench_expect(&pair.bench, "blank", PELLET_WAIT, PELLET_SAYS_BLANK_KIND);
    bench_clear(&pair.bench);
}

static void a_ratioed_file_never_waits(void **state)
{
    struct bench bench;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 2);
    bench_ratioed(&bench);
    bench_expect(&bench, "blank", PELLET_PASS, PELLET_SAYS_BLANK_NOT_NEEDED);
    bench_clear(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_age_within_the_limit_passes),
        cmocka_unit_test(an_old_blank_waits),
        cmocka_unit_test(a_later_blank_serves_up_to_look_ahead),
        cmocka_unit_test(times_of_different_kinds_are_not_compared),
        cmocka_unit_test(no_blank_waits_and_says_why),
        cmocka_unit_test(a_conflict_is_a_rescan_whatever_the_rule),
        cmocka_unit_test(a_ratioed_blank_does_not_serve_a_single_beam),
        cmocka_unit_test(a_ratioed_file_never_waits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
