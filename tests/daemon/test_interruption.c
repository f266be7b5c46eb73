// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Killed without warning at random moments while files arrive in every way: after the last start each
 * spectrum has exactly one valid verdict that follows from what it names, with all its derived files and
 * nothing else. The long form (PELLETD_LONG): 500 files and 200 kills instead of 50 and 12.
 */
#include "daemon/feeding.h"

#define PAUSE_MAX_MS 1500 /* between a start and the kill; a file needs half a second to settle */

static void start(struct running *running)
{
    char path[PATH_MAX + 20];
    char *arguments[] = {(char *)PELLETD_PROGRAM, "watch", "--config", path, NULL};
    snprintf(path, sizeof path, "%s/pelletd.yaml", running->around);
    running->pid = running_spawn(running, arguments);
}

/* A process of its own, so that files come while the program starts, works and dies. */
static pid_t start_feeding(struct feeding *feeding, int files, int total_ms)
{
    const pid_t pid = fork();
    assert_true(pid >= 0);
    if (pid > 0)
        return pid;
    for (int i = 0; i < files; i++) {
        feeding_feed(feeding, i);
        running_sleep(total_ms / files);
    }
    _exit(0);
}

static void killed_at_random(void **state)
{
    struct running *running = *state;
    struct feeding feeding = {.running = running, .spacing = 2};
    unsigned short seed[3] = {7, 7, 7};
    const int files = getenv("PELLETD_LONG") ? 500 : 50;
    const int kills = getenv("PELLETD_LONG") ? 200 : 12;
    int status = 0;
    running_configure(running, "depth: 1");
    const pid_t feeder = start_feeding(&feeding, files, kills * PAUSE_MAX_MS / 2);
    for (int k = 0; k < kills; k++) {
        start(running);
        running_sleep((int)(nrand48(seed) % PAUSE_MAX_MS));
        (void)running_end(running, SIGKILL);
    }
    assert_int_equal(waitpid(feeder, &status, 0), feeder);
    assert_int_equal(status, 0);
    start(running);
    (void)feeding_expect_verdicts(&feeding, files, feeding_name);
    running_stop(running);
    const size_t derived = feeding_expect_verdicts(&feeding, files, feeding_name);
    feeding_verify(running);
    feeding_expect_nothing_else(&feeding, files, derived);
    feeding_free(&feeding);
}

/* Ending it in the ordinary way loses nothing either. */
static void ended_in_the_middle(void **state)
{
    struct running *running = *state;
    struct feeding feeding = {.running = running, .spacing = 2};
    running_configure(running, "depth: 1");
    start(running);
    for (int i = 0; i < 20; i++)
        feeding_feed(&feeding, i);
    running_sleep(600);
    running_stop(running);
    start(running);
    /* A first verdict may be a wait that is resolved later, so they are counted when all is quiet. */
    (void)feeding_expect_verdicts(&feeding, 20, feeding_name);
    running_stop(running);
    const size_t derived = feeding_expect_verdicts(&feeding, 20, feeding_name);
    feeding_verify(running);
    feeding_expect_nothing_else(&feeding, 20, derived);
    feeding_free(&feeding);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        running_test(killed_at_random),
        running_test(ended_in_the_middle),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
