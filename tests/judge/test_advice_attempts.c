// SPDX-License-Identifier: GPL-3.0-or-later
/* What the pellet before predicts, joined with what this one shows. */
#include "testing.h"

#include "judge/advice_attempts.h"

#include <math.h>
#include <string.h>

/* The pellet before: 4 A, known to 3.2..5; this one holds three quarters of its sample. */
struct past {
    struct pellet_verdict verdict;
    struct pellet_attempt attempt;
    struct pellet_lesson lesson;
};

static void remember(struct past *past, bool weighed)
{
    *past = (struct past){.verdict = {.outcome = PELLET_REMAKE}};
    past->verdict.found.true_absorbance = 4.0;
    past->verdict.found.true_absorbance_high = 5.0;
    past->attempt = (struct pellet_attempt){.verdict = &past->verdict, .source = {.pellet = 1}};
    past->lesson = (struct pellet_lesson){
        .before = &past->attempt, .dose_ratio = 0.75, .weighed = weighed, .strength_before = 4.0};
}

static struct pellet_strength seen(enum pellet_strength_from from, double low, double height, double high)
{
    return (struct pellet_strength){.from = from, .height = height, .low = low, .high = high};
}

/* 3 A is what Beer and Lambert predict; this one says 2.5 A: the answer lies between, surer than either. */
static void test_both_count(void **state)
{
    (void)state;
    struct past past;
    struct pellet_strength s = seen(PELLET_STRENGTH_FLANKS, 1.9, 2.5, 3.3);

    remember(&past, true);
    pellet_lesson_apply(&past.lesson, &s);
    const double told = hypot(log(5.0 / 4.0) / 1.645, 0.15), shown = log(3.3 / 1.9) / (2.0 * 1.645);
    const double a = 1.0 / (told * told), b = 1.0 / (shown * shown);
    assert_near(s.height, exp((a * log(3.0) + b * log(2.5)) / (a + b)), 1e-9);
    assert_true(log(s.high / s.low) < log(3.3 / 1.9));
    assert_int_equal(s.pellet, 1); /* and the instruction says so */
}

/* What was weighed counts for more than what was only advised. */
static void test_weighed_counts_for_more(void **state)
{
    (void)state;
    struct past past;
    struct pellet_strength by_advice = seen(PELLET_STRENGTH_FLANKS, 1.9, 2.5, 3.3), by_balance = by_advice;

    remember(&past, false);
    pellet_lesson_apply(&past.lesson, &by_advice);
    remember(&past, true);
    pellet_lesson_apply(&past.lesson, &by_balance);
    assert_true(2.5 < by_advice.height && by_advice.height < by_balance.height && by_balance.height < 3.0);
}

/* A bound becomes a figure. */
static void test_a_bound_is_lifted(void **state)
{
    (void)state;
    struct past past;
    struct pellet_strength s = seen(PELLET_STRENGTH_BOUND, 2.2, 3.4, INFINITY);

    remember(&past, true);
    pellet_lesson_apply(&past.lesson, &s);
    assert_int_equal(s.from, PELLET_STRENGTH_FLANKS);
    assert_true(s.low < 3.0 && 3.0 < s.high && s.high <= 2.0 * s.low);
}

/* What light proves stands against any prediction, and a band on scale needs none. */
static void test_light_is_believed(void **state)
{
    (void)state;
    struct past past;
    struct pellet_strength off = seen(PELLET_STRENGTH_BOUND, 3.5, 4.0, INFINITY);
    struct pellet_strength on = seen(PELLET_STRENGTH_SEEN, 0.9, 1.0, 1.1);
    const struct pellet_strength off_before = off, on_before = on;

    remember(&past, true);
    pellet_lesson_apply(&past.lesson, &off);
    pellet_lesson_apply(&past.lesson, &on);
    assert_near(off.height, off_before.height, 0.0);
    assert_near(on.height, on_before.height, 0.0);
    assert_int_equal(off.pellet, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_both_count),
        cmocka_unit_test(test_weighed_counts_for_more),
        cmocka_unit_test(test_a_bound_is_lifted),
        cmocka_unit_test(test_light_is_believed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
