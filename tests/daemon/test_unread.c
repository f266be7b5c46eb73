// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Whoever is shown the lines of verdicts may not read them: a pager that waits, a terminal that was stopped
 * with Control-S. That keeps no pellet waiting, and the program from ending neither.
 */
#include "daemon/running.h"

#include <termios.h>

/* Nothing goes in any more. */
static void fill(int pipe_end)
{
    static const char rubbish[4096] = {0};
    assert_int_equal(fcntl(pipe_end, F_SETFL, O_NONBLOCK), 0);
    while (write(pipe_end, rubbish, sizeof rubbish) > 0)
        ;
    assert_int_equal(errno, EAGAIN);
    assert_int_equal(fcntl(pipe_end, F_SETFL, 0), 0);
}

static void drain(int pipe_end, size_t n)
{
    char bytes[4096];
    while (n > 0) {
        const ssize_t got = read(pipe_end, bytes, n < sizeof bytes ? n : sizeof bytes);
        assert_true(got > 0);
        n -= (size_t)got;
    }
}

/* Started without waiting for what it says. */
static void start(struct running *running)
{
    char *arguments[] = {(char *)PELLETD_PROGRAM, "watch", running->folder, NULL};
    running->pid = running_spawn(running, arguments);
}

static void judge_three(struct running *running)
{
    running_save_first(running);
    running_save(running, "a_p1.csv", 2, 0.7, 3);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
}

static void a_pipe_that_nobody_empties(void **state)
{
    struct running *running = *state;
    int ends[2];
    assert_int_equal(pipe2(ends, O_CLOEXEC), 0);
    fill(ends[1]);
    running->lines = running->messages = ends[1];
    start(running);
    judge_three(running);
    running_stop(running);
    close(ends[0]);
    close(ends[1]);
}

static void a_terminal_that_was_stopped(void **state)
{
    struct running *running = *state;
    const int reader = posix_openpt(O_RDWR | O_NOCTTY | O_CLOEXEC);
    assert_true(reader >= 0);
    assert_int_equal(grantpt(reader), 0);
    assert_int_equal(unlockpt(reader), 0);
    const int terminal = open(ptsname(reader), O_RDWR | O_NOCTTY | O_CLOEXEC);
    assert_true(terminal >= 0);
    assert_int_equal(tcflow(terminal, TCOOFF), 0);
    running->lines = running->messages = terminal;
    start(running);
    judge_three(running);
    running_stop(running);
    close(terminal);
    close(reader);
}

/* What was left out is told, and later lines are there again. */
static void a_reader_that_comes_back(void **state)
{
    struct running *running = *state;
    char text[4096] = "";
    int ends[2];
    int full = 0;
    assert_int_equal(pipe2(ends, O_CLOEXEC), 0);
    fill(ends[1]);
    full = fcntl(ends[1], F_GETPIPE_SZ);
    running->lines = ends[1];
    running_watch(running);
    judge_three(running);
    drain(ends[0], (size_t)full);
    running_save(running, "b_p1.csv", 3, 0.7, 4);
    running_wait_said(running, "nobody read the lines of 3 verdicts, and they are left out");
    running_stop(running);
    assert_true(read(ends[0], text, sizeof text - 1) > 0);
    assert_non_null(strstr(text, "b_p1.csv"));
    assert_null(strstr(text, "a_p1.csv"));
    close(ends[0]);
    close(ends[1]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        running_test(a_pipe_that_nobody_empties),
        running_test(a_terminal_that_was_stopped),
        running_test(a_reader_that_comes_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
