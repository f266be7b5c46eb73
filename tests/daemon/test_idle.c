// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Nothing happens: then nobody wakes but for the page that says we live (each minute while a session is
 * open), the slow scan and the service manager's watchdog. Counted by what the kernel says of each thread:
 * how often it gave its processor away, which it does once for each time that it wakes. The long form
 * (PELLETD_LONG) watches for some minutes, and sees the page being written.
 */
#include "daemon/running.h"

#define QUIET_S     10 /* of these nobody may wake ... */
#define TRIES       12 /* ... within the first two minutes: a record follows the last verdict by 15 s */
#define THREADS_MAX 64
#define WAKES_A_BEAT                                                                                         \
    20 /* a worker for the page, one for the record, and the station's thread before and after */

/* ThreadSanitizer has a thread of its own that wakes ten times a second. */
#if defined(__SANITIZE_THREAD__)
#define WAKES_BY_ITSELF true
#else
#define WAKES_BY_ITSELF false
#endif

struct waking {
    long thread[THREADS_MAX];
    unsigned long times[THREADS_MAX];
    size_t n;
    unsigned long all;
};

static unsigned long switches_of(const char *status)
{
    const char *line = strstr(status, "\nvoluntary_ctxt_switches:");
    assert_non_null(line);
    return strtoul(line + strlen("\nvoluntary_ctxt_switches:"), NULL, 10);
}

static struct waking waking_of(pid_t pid)
{
    struct waking waking = {0};
    char path[100];
    snprintf(path, sizeof path, "/proc/%d/task", (int)pid);
    DIR *tasks = opendir(path);
    assert_non_null(tasks);
    for (const struct dirent *task = readdir(tasks); task; task = readdir(tasks)) {
        char status[4096] = "";
        if (*task->d_name == '.')
            continue;
        assert_true(waking.n < THREADS_MAX);
        snprintf(path, sizeof path, "/proc/%d/task/%.20s/status", (int)pid, task->d_name);
        FILE *file = fopen(path, "r");
        assert_non_null(file);
        assert_true(fread(status, 1, sizeof status - 1, file) > 0);
        fclose(file);
        waking.thread[waking.n] = strtol(task->d_name, NULL, 10);
        waking.times[waking.n] = switches_of(status);
        waking.all += waking.times[waking.n++];
    }
    closedir(tasks);
    return waking;
}

/* How often thread `id` woke between the two; all threads live as long as the program. */
static unsigned long woke(const struct waking *before, const struct waking *after, long id)
{
    for (size_t i = 0; i < after->n; i++) {
        if (after->thread[i] == id)
            return after->times[i] - before->times[i];
    }
    fail_msg("no thread %ld", id);
    return 0;
}

static pellet_ns page_written(const struct running *running)
{
    struct stat st;
    assert_int_equal(stat(running_path(running, "reports/bench.html"), &st), 0);
    return pellet_ns_of_file(st.st_mtim);
}

static void nobody_wakes_for_nothing(void **state)
{
    struct running *running = *state;
    running_begin(running);
    running_save(running, "a_p1.csv", 2, 0.7, 3);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
    struct waking before = waking_of(running->pid);
    struct waking after = before;
    int tries = 0;
    do {
        before = after;
        running_sleep(QUIET_S * 1000);
        after = waking_of(running->pid);
    } while (after.all != before.all && ++tries < TRIES);
    assert_int_equal(after.all - before.all, 0);
    running_stop(running);
}

static void a_page_each_minute_and_no_more(void **state)
{
    struct running *running = *state;
    const int minutes = 3;
    unsigned long pages = 0;
    if (!getenv("PELLETD_LONG")) {
        printf("skipped: takes some minutes, so it belongs to the long form\n");
        skip();
    }
    running_begin(running);
    running_save(running, "a_p1.csv", 2, 0.7, 3);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
    running_sleep(30000);
    const struct waking before = waking_of(running->pid);
    pellet_ns written = page_written(running);
    for (int s = 0; s < 60 * minutes; s++) {
        running_sleep(1000);
        const pellet_ns now = page_written(running);
        pages += now != written;
        written = now;
    }
    const struct waking after = waking_of(running->pid);
    printf("%d min: %lu pages, %lu wakings\n", minutes, pages, after.all - before.all);
    for (size_t i = 0; i < after.n; i++)
        printf("  thread %zu: %lu\n", i, woke(&before, &after, after.thread[i]));
    assert_true(pages > 0);
    assert_true(after.all - before.all <= WAKES_A_BEAT * pages);
    /* The thread of signals and of the service manager has nothing to do at all. */
    assert_int_equal(woke(&before, &after, running->pid), 0);
    running_stop(running);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        running_test(nobody_wakes_for_nothing),
        running_test(a_page_each_minute_and_no_more),
    };
    if (WAKES_BY_ITSELF) {
        printf("skipped: ThreadSanitizer wakes by itself\n");
        return 77;
    }
    return cmocka_run_group_tests(tests, NULL, NULL);
}
