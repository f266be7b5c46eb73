// SPDX-License-Identifier: GPL-3.0-or-later
/* Which verdicts go into a page: all of them into a record, few of them onto the bench. */
#include "daemon/bench.h"

#include "reports_pick.h"

#include <stdio.h>

#define MANY 5000

static struct entry *sample(struct bench *bench, int i, enum pellet_outcome outcome)
{
    char name[32];
    char of[32];
    snprintf(name, sizeof name, "s%05d_p1.csv", i);
    snprintf(of, sizeof of, "s%05d", i);
    struct entry *entry = bench_sample(bench, name, of, i);
    entry->outcome = outcome;
    entry->verdict_at = START + i * MINUTE;
    return entry;
}

static void borrow(struct station *station, const struct bench *bench)
{
    *station = (struct station){.index = bench->index};
}

static bool has(const struct report_job *job, const char *name)
{
    for (size_t i = 0; i < job->n; i++) {
        if (strcmp(job->source[i].name, name) == 0)
            return true;
    }
    return false;
}

static void test_bench_stays_small(void **state)
{
    static const char *const sessions[] = {"s"};
    struct bench bench = {0};
    struct station station;
    (void)state;
    bench_blank(&bench, "blank.csv", 0, PELLET_BLANK_ACCEPTED);
    for (int i = 1; i <= MANY; i++)
        sample(&bench, i, i % 100 == 0 ? PELLET_WAIT : i % 2 ? PELLET_PASS : PELLET_REMAKE);
    borrow(&station, &bench);
    struct report_job *job = report_pick_bench(&station, sessions, 1);
    assert_non_null(job);
    assert_in_range(job->n, 31, 100);
    assert_true(has(job, "s05000_p1.csv"));
    assert_true(has(job, "s04970_p1.csv"));
    assert_true(has(job, "s02000_p1.csv")); /* it waits */
    assert_false(has(job, "s02001_p1.csv"));
    assert_true(has(job, "blank.csv"));
    assert_int_equal(job->tally[PELLET_WAIT], MANY / 100);
    assert_int_equal(job->tally[PELLET_PASS], MANY / 2);
    assert_int_equal(job->tally[PELLET_REMAKE], MANY / 2 - MANY / 100);
    report_job_free(job);
    bench_free(&bench);
}

/* A spectrum of this morning that was exported again now stands large, however many came after it. */
static void test_bench_has_what_was_judged_last(void **state)
{
    static const char *const sessions[] = {"s"};
    struct bench bench = {0};
    struct station station;
    (void)state;
    for (int i = 1; i <= 200; i++)
        sample(&bench, i, PELLET_PASS);
    bench.index.item[2]->verdict_at = START + 900 * MINUTE;
    borrow(&station, &bench);
    struct report_job *job = report_pick_bench(&station, sessions, 1);
    assert_true(has(job, "s00003_p1.csv"));
    assert_false(has(job, "s00004_p1.csv"));
    report_job_free(job);
    bench_free(&bench);
}

static void test_bench_shows_sessions_side_by_side(void **state)
{
    static const char *const sessions[] = {"s", "t"};
    struct bench bench = {0};
    struct station station;
    (void)state;
    sample(&bench, 1, PELLET_PASS);
    assert_true(entry_set_string(&sample(&bench, 2, PELLET_PASS)->session, "t"));
    assert_true(entry_set_string(&sample(&bench, 3, PELLET_PASS)->session, "u"));
    borrow(&station, &bench);
    struct report_job *job = report_pick_bench(&station, sessions, 2);
    assert_int_equal(job->n, 2);
    assert_string_equal(job->session, "s");
    report_job_free(job);
    job = report_pick_bench(&station, NULL, 0);
    assert_int_equal(job->n, 0);
    report_job_free(job);
    bench_free(&bench);
}

static void test_record_has_all_in_the_order_of_time(void **state)
{
    struct bench bench = {0};
    struct station station;
    (void)state;
    for (int i = 100; i >= 1; i--)
        sample(&bench, i, PELLET_PASS);
    borrow(&station, &bench);
    struct report_job *job = report_pick_record(&station, "s");
    assert_int_equal(job->n, 100);
    assert_string_equal(job->source[0].name, "s00001_p1.csv");
    assert_string_equal(job->source[99].name, "s00100_p1.csv");
    report_job_free(job);
    bench_free(&bench);
}

static void basis_of(const struct bench *bench, char basis[PELLET_SHA256_HEX])
{
    struct station station;
    borrow(&station, bench);
    struct report_job *job = report_pick_record(&station, "s");
    memcpy(basis, job->basis, PELLET_SHA256_HEX);
    report_job_free(job);
}

static void test_basis_changes_with_what_the_record_says(void **state)
{
    struct bench bench = {0};
    char first[PELLET_SHA256_HEX];
    char other[PELLET_SHA256_HEX];
    (void)state;
    struct entry *a = sample(&bench, 1, PELLET_PASS);
    struct entry *b = sample(&bench, 2, PELLET_WAIT);
    basis_of(&bench, first);
    basis_of(&bench, other);
    assert_string_equal(first, other);

    b->outcome = PELLET_PASS;
    basis_of(&bench, other);
    assert_string_not_equal(first, other);
    b->outcome = PELLET_WAIT;
    b->verdict_at += PELLET_NS_PER_S;
    basis_of(&bench, other);
    assert_string_not_equal(first, other);
    b->verdict_at -= PELLET_NS_PER_S;
    a->present = false;
    basis_of(&bench, other);
    assert_string_not_equal(first, other);
    /* All are gone: an archive, not a loss. */
    b->present = false;
    basis_of(&bench, other);
    assert_string_equal(first, other);
    bench_free(&bench);
}

static void test_names_of_sessions(void **state)
{
    (void)state;
    assert_true(report_session_is_good("2026-03-04T0900-bench-1"));
    assert_true(report_session_is_good("2026-03-04T0900-IR_2.a"));
    assert_false(report_session_is_good(NULL));
    assert_false(report_session_is_good(""));
    assert_false(report_session_is_good("bench"));
    assert_false(report_session_is_good("2026/../../x"));
    assert_false(report_session_is_good("2026 x"));
    assert_false(report_session_is_good("2026\xc3\xa4"));
    char longest[200];
    memset(longest, '2', sizeof longest);
    longest[199] = '\0';
    assert_false(report_session_is_good(longest));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_bench_stays_small),
        cmocka_unit_test(test_bench_has_what_was_judged_last),
        cmocka_unit_test(test_bench_shows_sessions_side_by_side),
        cmocka_unit_test(test_record_has_all_in_the_order_of_time),
        cmocka_unit_test(test_basis_changes_with_what_the_record_says),
        cmocka_unit_test(test_names_of_sessions),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
