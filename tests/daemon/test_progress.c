// SPDX-License-Identifier: GPL-3.0-or-later
/* What is drawn while long work goes on: the count at once, a rate when there is one. */
#include "testing.h"

#include "progress.h"

#include <string.h>

static void describe(size_t read, size_t done, size_t from, int64_t ms, const char *expected)
{
    const struct progress progress = {.shown = true, .first_ms = 1, .counted_ms = 1000, .counted_from = from};
    char line[120];
    progress_describe(&progress, read, done, 5000, 1000 + ms, line, sizeof line);
    assert_string_equal(line, expected);
}

static void test_words(void **state)
{
    (void)state;
    describe(17, 0, 0, 0, "reading: 17 of 5000");
    describe(5000, 8, 8, 0, "8 of 5000");
    describe(5000, 20, 8, 100, "20 of 5000");
    describe(5000, 1000, 0, 20000, "1000 of 5000, 50 a second, 1 min 20 s left");
    describe(5000, 4990, 4980, 2000, "4990 of 5000, 5.0 a second, 2 s left");
    describe(5000, 10, 0, 10000, "10 of 5000, 1.0 a second, 1 h 23 min left");
    describe(5000, 5000, 0, 10000, "5000 of 5000, 500 a second, 0 s left");
}

/* Whoever pipes the messages into a file finds no drawing there. */
static void test_nothing_is_drawn_where_nobody_looks(void **state)
{
    struct progress progress = {0};
    (void)state;
    for (int64_t ms = 1; ms < 100000; ms += 1000)
        progress_tell(&progress, 1, 1, 2, ms);
    assert_false(progress.drawn);
}

static void test_short_work_draws_nothing(void **state)
{
    struct progress progress = {.shown = true};
    (void)state;
    for (int64_t ms = 1; ms < 1000; ms += 50)
        progress_tell(&progress, 5, 1, 10, ms);
    assert_false(progress.drawn);
    progress_tell(&progress, 5, 2, 10, 1200);
    assert_true(progress.drawn);
    progress_end(&progress);
    assert_false(progress.drawn);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_words),
        cmocka_unit_test(test_nothing_is_drawn_where_nobody_looks),
        cmocka_unit_test(test_short_work_draws_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
