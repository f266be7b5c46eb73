// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The clock on the wall is set forward and back while the program runs and while it does not (faketime, of
 * the package of that name): nothing is lost, nothing is judged again, and settling does not notice.
 */
#include "daemon/running.h"

#include <glob.h>

#define DAY_NS (86400 * PELLET_NS_PER_S)

/* Sanitizers want to be the first library, and so does faketime. */
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
#define SANITIZED true
#else
#define SANITIZED false
#endif

static void set_clock(const struct running *running, const char *offset)
{
    char path[PATH_MAX + 20];
    char aside[PATH_MAX + 30];
    snprintf(path, sizeof path, "%s/clock", running->around);
    snprintf(aside, sizeof aside, "%s.new", path);
    running_write(aside, offset, strlen(offset));
    assert_int_equal(rename(aside, path), 0);
    setenv("FAKETIME_TIMESTAMP_FILE", path, 1);
}

/* Only for what is started later: the test itself was linked long ago. */
static bool prepare_fake_clock(const struct running *running)
{
    glob_t found = {0};
    if (SANITIZED || glob("/usr/lib/*/faketime/libfaketimeMT.so.1", 0, NULL, &found) != 0) {
        printf("skipped: %s\n",
               SANITIZED ? "sanitizers do not go with faketime" : "faketime is not installed");
        return false;
    }
    setenv("LD_PRELOAD", found.gl_pathv[0], 1);
    setenv("FAKETIME_NO_CACHE", "1", 1);
    setenv("FAKETIME_DONT_FAKE_MONOTONIC", "1", 1);
    setenv("NO_FAKE_STAT", "1", 1);
    globfree(&found);
    set_clock(running, "+0d");
    return true;
}

static pellet_ns judged_at(const struct running *running, const char *name)
{
    struct pellet_verdict verdict = running_wait_verdict(running, name);
    const pellet_ns judged = verdict.judged;
    assert_int_equal(verdict.outcome, PELLET_PASS);
    pellet_verdict_clear(&verdict);
    return judged;
}

static pellet_ns real_now(void)
{
    struct timespec now;
    clock_gettime(CLOCK_REALTIME, &now);
    return (pellet_ns)now.tv_sec * PELLET_NS_PER_S;
}

static void set_forward_and_back(void **state)
{
    struct running *running = *state;
    if (!prepare_fake_clock(running))
        skip();
    running_begin(running);
    running_save(running, "a_p1.csv", 2, 0.7, 3);
    (void)judged_at(running, "a_p1.csv");
    set_clock(running, "+2d");
    running_save(running, "b_p1.csv", 3, 0.7, 4);
    /* The faked clock is really the one that it sees. */
    assert_true(judged_at(running, "b_p1.csv") > real_now() + DAY_NS);
    set_clock(running, "-3d");
    running_save(running, "c_p1.csv", 4, 0.7, 5);
    assert_true(judged_at(running, "c_p1.csv") < real_now() - DAY_NS);
    running_stop(running);
    char *before = running_lines(running);
    /* Verdicts of a time to come and spectra younger than the clock: valid all the same. */
    running_watch(running);
    running_save(running, "d_p1.csv", 5, 0.7, 6);
    (void)judged_at(running, "d_p1.csv");
    running_stop(running);
    char *after = running_lines(running);
    assert_int_equal(strncmp(after, before, strlen(before)), 0);
    assert_null(strstr(after + strlen(before), "a_p1.csv"));
    assert_null(strstr(after + strlen(before), "b_p1.csv"));
    assert_null(strstr(after + strlen(before), "c_p1.csv"));
    free(before);
    free(after);
    running_verify(running);
}

/* A minute's step in the middle of settling neither shortens nor lengthens it. */
static void set_while_a_file_settles(void **state)
{
    struct running *running = *state;
    if (!prepare_fake_clock(running))
        skip();
    running_begin(running);
    struct pellet_text text = {0};
    running_spectrum(running, 2, 0.7, 3, &text);
    int file = open(running_path(running, "a_p1.csv"), O_WRONLY | O_CREAT, 0666);
    for (size_t i = 0; i < 4; i++) {
        const size_t from = text.length * i / 4;
        const size_t to = text.length * (i + 1) / 4;
        assert_int_equal(write(file, text.data + from, to - from), (ssize_t)(to - from));
        set_clock(running, i % 2 ? "-1h" : "+1h");
        running_sleep(700);
        assert_false(running_there(running, "a_p1.csv.verdict.yaml"));
    }
    close(file);
    (void)judged_at(running, "a_p1.csv");
    pellet_text_free(&text);
    running_stop(running);
}

static int forget_fake_clock(void **state)
{
    unsetenv("LD_PRELOAD");
    return running_clean_up(state);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(set_forward_and_back, running_prepare, forget_fake_clock),
        cmocka_unit_test_setup_teardown(set_while_a_file_settles, running_prepare, forget_fake_clock),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
