// SPDX-License-Identifier: GPL-3.0-or-later
/* Waiting for a blank, its end, and all of it across restarts. */
#include "daemon/running.h"

static void resolved_by_a_later_blank(void **state)
{
    struct running *running = *state;
    running_watch(running);
    running_save(running, "open-beam.csv", 0, -1, 1);
    running_save(running, "a_p1.csv", 2, 0.7, 3);
    running_wait_outcome(running, "a_p1.csv", PELLET_WAIT);
    running_save(running, "blank.csv", 10, 0, 2);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
    struct pellet_verdict verdict = running_wait_verdict(running, "a_p1.csv");
    assert_string_equal(running_blank_of(&verdict), "blank.csv");
    /* The content is the same: nothing is previous. */
    assert_int_equal(verdict.previous_count, 0);
    pellet_verdict_clear(&verdict);
    running_stop(running);
    running_verify(running);
}

/* A blank later than look_ahead does not serve, and neither does the sample wait any longer. */
static void ended_by_what_comes_later(void **state)
{
    struct running *running = *state;
    running_watch(running);
    running_save(running, "open-beam.csv", 0, -1, 1);
    running_save(running, "a_p1.csv", 2, 0.7, 3);
    running_wait_outcome(running, "a_p1.csv", PELLET_WAIT);
    running_save(running, "blank.csv", 18, 0, 2);
    running_wait_outcome(running, "a_p1.csv", PELLET_RESCAN);
    struct pellet_verdict verdict = running_wait_verdict(running, "a_p1.csv");
    assert_string_equal(verdict.reason[0].check->id, "blank");
    pellet_verdict_clear(&verdict);
    running_stop(running);
    running_verify(running);
}

static void resolved_across_a_restart(void **state)
{
    struct running *running = *state;
    running_watch(running);
    running_save(running, "open-beam.csv", 0, -1, 1);
    running_save(running, "a_p1.csv", 2, 0.7, 3);
    running_wait_outcome(running, "a_p1.csv", PELLET_WAIT);
    running_stop(running);
    running_save(running, "blank.csv", 10, 0, 2);
    running_watch(running);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
    running_stop(running);
    running_verify(running);
}

/* A folder that is judged is a session that is closed. */
static void judge_ends_it(void **state)
{
    struct running *running = *state;
    char *arguments[] = {(char *)PELLETD_PROGRAM, "judge", running->folder, NULL};
    running_save(running, "a_p1.csv", 2, 0.7, 3);
    assert_int_equal(running_run(running, arguments), 1);
    assert_true(running_outcome_is(running, "a_p1.csv", PELLET_RESCAN));
    /* What has its verdict keeps it. */
    assert_int_equal(running_run(running, arguments), 1);
    running_verify(running);
}

static void a_session_goes_on_after_a_restart(void **state)
{
    struct running *running = *state;
    running_begin(running);
    struct pellet_verdict before = running_wait_verdict(running, "blank.csv");
    running_stop(running);
    running_watch(running);
    running_save(running, "a_p1.csv", 60, 0.7, 3);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
    struct pellet_verdict after = running_wait_verdict(running, "a_p1.csv");
    assert_string_equal(before.session, "2026-03-04T0900-bench");
    assert_string_equal(after.session, before.session);
    pellet_verdict_clear(&before);
    pellet_verdict_clear(&after);
    running_stop(running);
}

/* What turns up late does not change verdicts that were given. */
static void a_late_blank_changes_nothing(void **state)
{
    struct running *running = *state;
    running_begin(running);
    running_save(running, "a_p1.csv", 10, 0.7, 3);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
    running_save(running, "blank-2.csv", 5, 0, 4);
    running_wait_outcome(running, "blank-2.csv", PELLET_PASS);
    running_save(running, "b_p1.csv", 11, 0.7, 5);
    running_wait_outcome(running, "b_p1.csv", PELLET_PASS);
    struct pellet_verdict first = running_wait_verdict(running, "a_p1.csv");
    struct pellet_verdict second = running_wait_verdict(running, "b_p1.csv");
    assert_string_equal(running_blank_of(&first), "blank.csv");
    assert_string_equal(running_blank_of(&second), "blank-2.csv");
    pellet_verdict_clear(&first);
    pellet_verdict_clear(&second);
    running_stop(running);
    running_verify(running);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        running_test(resolved_by_a_later_blank),         running_test(ended_by_what_comes_later),
        running_test(resolved_across_a_restart),         running_test(judge_ends_it),
        running_test(a_session_goes_on_after_a_restart), running_test(a_late_blank_changes_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
