// SPDX-License-Identifier: GPL-3.0-or-later
#include "daemon/bench.h"

#include "session.h"

static const struct entry *find(struct bench *bench, const struct entry *entry, char id[SESSION_ID_MAX])
{
    const struct entry *like = NULL;
    session_find(&bench->time.all, entry, 3, "bench-1", "UTC", &like, id);
    return like;
}

static struct entry *add(struct bench *bench, const char *name, double minute, const char *session)
{
    struct entry *entry = bench_add(bench, name, PELLET_SAMPLE, minute);
    assert_true(entry_set_string(&entry->session, session));
    return entry;
}

static void a_new_one_is_called_after_its_first_file(void **state)
{
    (void)state;
    struct bench bench = {0};
    char id[SESSION_ID_MAX];
    struct entry *first = add(&bench, "a", 0, NULL);
    assert_null(find(&bench, first, id));
    assert_string_equal(id, "2026-03-04T0900-bench-1");
    const struct entry *like = NULL;
    /* 9 o'clock in Greenwich is 10 in Berlin. */
    session_find(&bench.time.all, first, 3, "bench-1", "Europe/Berlin", &like, id);
    assert_string_equal(id, "2026-03-04T1000-bench-1");
    bench_free(&bench);
}

static void a_gap_ends_it(void **state)
{
    (void)state;
    struct bench bench = {0};
    char id[SESSION_ID_MAX];
    struct entry *first = add(&bench, "a", 0, "one");
    struct entry *same = add(&bench, "b", 180, NULL);
    assert_ptr_equal(find(&bench, same, id), first);
    assert_string_equal(id, "one");
    struct entry *other = add(&bench, "c", 180 + 1.0 / 60, NULL);
    assert_null(find(&bench, other, id));
    bench_free(&bench);
}

static void one_that_turns_up_late_joins_what_follows(void **state)
{
    (void)state;
    struct bench bench = {0};
    char id[SESSION_ID_MAX];
    struct entry *late = add(&bench, "a", 0, NULL);
    add(&bench, "b", 20, "one");
    find(&bench, late, id);
    assert_string_equal(id, "one");
    bench_free(&bench);
}

static void other_settings_are_another_session(void **state)
{
    (void)state;
    struct bench bench = {0};
    char id[SESSION_ID_MAX];
    struct entry *four = add(&bench, "a", 0, "four");
    struct entry *eight = add(&bench, "b", 5, "eight");
    struct entry *next = add(&bench, "c", 10, NULL);
    four->settings.resolution = 4;
    eight->settings.resolution = 8;
    next->settings.resolution = 4;
    assert_ptr_equal(find(&bench, next, id), four);
    assert_string_equal(id, "four");
    bench_free(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_new_one_is_called_after_its_first_file),
        cmocka_unit_test(a_gap_ends_it),
        cmocka_unit_test(one_that_turns_up_late_joins_what_follows),
        cmocka_unit_test(other_settings_are_another_session),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
