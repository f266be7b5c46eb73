// SPDX-License-Identifier: GPL-3.0-or-later
#include "testing.h"

#include "outlet.h"

#include <fcntl.h>
#include <signal.h>
#include <string.h>
#include <sys/wait.h>

#define LONG_N ((size_t)300000) /* several times what a pipe holds */

static void a_full_pipe_is_given_up(void **state)
{
    (void)state;
    static char bytes[LONG_N];
    int ends[2];
    assert_int_equal(pipe2(ends, O_CLOEXEC), 0);
    outlet_never_block(ends[1]);
    assert_false(outlet_write(ends[1], bytes, sizeof bytes, 10));
    assert_false(outlet_write(ends[1], "line\n", 5, 0));
    /* With room again it is written again. */
    assert_true(read(ends[0], bytes, 65536) > 0);
    assert_true(outlet_write(ends[1], "line\n", 5, 0));
    close(ends[0]);
    close(ends[1]);
}

static void nobody_else_is_kept_from_waiting(void **state)
{
    (void)state;
    int ends[2];
    assert_int_equal(pipe2(ends, O_CLOEXEC), 0);
    const int other = dup(ends[1]);
    outlet_never_block(ends[1]);
    assert_true((fcntl(ends[1], F_GETFL) & O_NONBLOCK) != 0);
    assert_int_equal(fcntl(other, F_GETFL) & O_NONBLOCK, 0);
    close(other);
    close(ends[0]);
    close(ends[1]);
}

/* A reader that is slow gets all of it. */
static void a_slow_reader_is_waited_for(void **state)
{
    (void)state;
    static char bytes[LONG_N];
    int ends[2];
    int status = 0;
    assert_int_equal(pipe2(ends, O_CLOEXEC), 0);
    memset(bytes, 'x', sizeof bytes);
    fflush(stdout);
    const pid_t reader = fork();
    assert_true(reader >= 0);
    if (reader == 0) {
        size_t n = 0;
        close(ends[1]);
        for (ssize_t got = 0; (got = read(ends[0], bytes, 30000)) > 0; n += (size_t)got)
            usleep(10000);
        _exit(n == LONG_N ? 0 : 1);
    }
    outlet_never_block(ends[1]);
    assert_true(outlet_write(ends[1], bytes, sizeof bytes, 60000 * (int)testing_patience()));
    close(ends[1]);
    assert_int_equal(waitpid(reader, &status, 0), reader);
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
    close(ends[0]);
}

/* Opened anew it would be written over from its start. */
static void a_file_is_left_as_it_is(void **state)
{
    (void)state;
    char path[] = "/tmp/pelletd-test-XXXXXX";
    char text[20] = "";
    const int file = mkstemp(path);
    assert_true(file >= 0);
    assert_true(outlet_write(file, "first\n", 6, 0));
    outlet_never_block(file);
    assert_true(outlet_write(file, "second\n", 7, 0));
    assert_int_equal(pread(file, text, sizeof text, 0), 13);
    assert_string_equal(text, "first\nsecond\n");
    close(file);
    unlink(path);
}

static void no_reader_at_all(void **state)
{
    (void)state;
    int ends[2];
    assert_int_equal(pipe2(ends, O_CLOEXEC), 0);
    outlet_never_block(ends[1]);
    close(ends[0]);
    signal(SIGPIPE, SIG_IGN);
    assert_false(outlet_write(ends[1], "line\n", 5, 60000));
    assert_false(outlet_write(-1, "line\n", 5, 60000));
    close(ends[1]);
}

/* None of them is given to a file that is opened later. */
static void closed_descriptors_are_reserved(void **state)
{
    (void)state;
    int status = 0;
    fflush(stdout);
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        close(STDIN_FILENO);
        close(STDOUT_FILENO);
        close(STDERR_FILENO);
        outlet_reserve();
        const int next = open("/dev/null", O_WRONLY | O_CLOEXEC);
        _exit(next > STDERR_FILENO && write(STDOUT_FILENO, "x", 1) < 0 ? 0 : 1);
    }
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
    /* Those that are open stay as they are. */
    outlet_reserve();
    assert_int_equal(write(STDOUT_FILENO, "\n", 1), 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_full_pipe_is_given_up),
        cmocka_unit_test(nobody_else_is_kept_from_waiting),
        cmocka_unit_test(a_slow_reader_is_waited_for),
        cmocka_unit_test(a_file_is_left_as_it_is),
        cmocka_unit_test(no_reader_at_all),
        cmocka_unit_test(closed_descriptors_are_reserved),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
