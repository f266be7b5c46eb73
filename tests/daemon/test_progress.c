// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * What is drawn while long work goes on: the count at once, a rate when there is one; on a pseudo-terminal as
 * a terminal shows it, and nowhere else.
 */
#include "testing.h"

#include "log.h"
#include "progress.h"

#include <pty.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#define SCREEN_MAX 8192

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

/* ---------------------------------------------------------------- on a terminal */

/* What a terminal of `columns` has got in the end from a program that draws, speaks, draws and is done. */
static void read_terminal(unsigned short columns, char *got)
{
    const struct winsize size = {.ws_row = 24, .ws_col = columns};
    int terminal;
    size_t n = 0;
    const pid_t pid = forkpty(&terminal, NULL, NULL, &size);
    assert_true(pid >= 0);
    if (pid == 0) {
        struct progress progress = progress_begin();
        unsetenv("JOURNAL_STREAM");
        progress_tell(&progress, 3, 0, 5000, 1);
        progress_tell(&progress, 17, 0, 5000, 2000); /* "reading: 17 of 5000" */
        log_say(LOG_LEVEL_WARNING, "a.csv", "left as it is");
        progress_tell(&progress, 5000, 8, 5000, 3000);
        progress_tell(&progress, 5000, 1008, 5000, 23000);
        progress_end(&progress);
        _exit(progress.shown ? 0 : 1);
    }
    for (ssize_t r = 1; r > 0 && n<SCREEN_MAX - 1; n += r> 0 ? (size_t)r : 0)
        r = read(terminal, got + n, SCREEN_MAX - 1 - n);
    got[n] = '\0';
    int status = -1;
    assert_int_equal(waitpid(pid, &status, 0), pid);
    assert_int_equal(status, 0);
    close(terminal);
}

/* Each line is wiped before the next, so that only messages stay; the terminal adds the carriage returns. */
static void test_a_terminal_keeps_only_messages(void **state)
{
    char got[SCREEN_MAX];
    (void)state;
    read_terminal(80, got);
    assert_string_equal(got,
                        LOG_WIPE "reading: 17 of 5000" LOG_WIPE "pelletd: a.csv: left as it is\r\n" LOG_WIPE
                                 "8 of 5000" LOG_WIPE "1008 of 5000, 50 a second, 1 min 20 s left" LOG_WIPE);
}

/* A line that broke would leave its first part on the screen. */
static void test_a_narrow_terminal_gets_short_lines(void **state)
{
    char got[SCREEN_MAX];
    (void)state;
    read_terminal(20, got);
    assert_non_null(strstr(got, LOG_WIPE "1008 of 5000, 50 a " LOG_WIPE));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_words),
        cmocka_unit_test(test_nothing_is_drawn_where_nobody_looks),
        cmocka_unit_test(test_short_work_draws_nothing),
        cmocka_unit_test(test_a_terminal_keeps_only_messages),
        cmocka_unit_test(test_a_narrow_terminal_gets_short_lines),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
