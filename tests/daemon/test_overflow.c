// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * More happens in the folder than the queue of events holds: the program is stopped while others fill the
 * queue, so that the spectra that come after that raise no event any more. Lost events make it look through
 * the folder at once; the slow rescan would come minutes later than this test waits.
 */
#include "daemon/running.h"

static long queue_length(void)
{
    char text[40] = "";
    FILE *file = fopen("/proc/sys/fs/inotify/max_queued_events", "re");
    if (!file)
        return 0;
    const bool good = fgets(text, sizeof text, file) != NULL;
    fclose(file);
    return good ? strtol(text, NULL, 10) : 0;
}

/* Each file is told of at least twice: it came, and it went. One name after the other, so that none are
 * merged. */
static void fill_queue(const struct running *running, long events)
{
    for (long i = 0; i < events / 2 + 1; i++) {
        char name[40];
        snprintf(name, sizeof name, "noise-%ld.tmp", i);
        running_write(running_path(running, name), "", 0);
        assert_int_equal(unlink(running_path(running, name)), 0);
    }
}

static void stopped_while_much_happens(void **state)
{
    struct running *running = *state;
    const long events = queue_length();
    if (events <= 0 || events > 200000) {
        printf("skipped: a queue of %ld events cannot be filled here\n", events);
        skip();
    }
    running_begin(running);
    running_save(running, "a_p1.csv", 2, 0.7, 3);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
    for (int turn = 0; turn < 2; turn++) {
        const double minute = 3 + 2 * turn;
        const char *changed = turn == 0 ? "a_p1.csv" : "b_p1.csv";
        const char *fresh = turn == 0 ? "b_p1.csv" : "c_p1.csv";
        assert_int_equal(kill(running->pid, SIGSTOP), 0);
        fill_queue(running, events);
        running_save(running, changed, minute, 3.0, (unsigned long)turn + 4);
        running_save(running, fresh, minute + 1, 0.7, (unsigned long)turn + 6);
        assert_int_equal(kill(running->pid, SIGCONT), 0);
        running_wait_outcome(running, fresh, PELLET_PASS);
        running_wait_outcome(running, changed, PELLET_REMAKE);
    }
    running_stop(running);
    running_verify(running);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        running_test(stopped_while_much_happens),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
