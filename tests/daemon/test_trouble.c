// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The folder's file system makes trouble: full, unmounted, more events than fit. What needs a mount runs in a
 * mount namespace of its own, and is skipped where that cannot be had.
 */
#include "daemon/running.h"

static void fill_up(const struct running *running)
{
    static const char zeros[4096];
    int file = open(running_path(running, "ballast.bin"), O_WRONLY | O_CREAT | O_APPEND, 0666);
    assert_true(file >= 0);
    while (write(file, zeros, sizeof zeros) > 0)
        continue;
    while (write(file, zeros, 1) > 0)
        continue;
    close(file);
}

static void full_and_freed(void **state)
{
    struct running *running = *state;
    if (!running_enter_namespace())
        skip();
    assert_int_equal(mount("none", running->folder, "tmpfs", 0, "size=2m"), 0);
    running_begin(running);
    /* Stopped, so that all is full by the time it looks. */
    kill(running->pid, SIGSTOP);
    for (int i = 0; i < 3; i++) {
        char name[32];
        snprintf(name, sizeof name, "s%d_p1.csv", i);
        running_save(running, name, 2 + i, 0.7, (unsigned long)(3 + i));
    }
    fill_up(running);
    kill(running->pid, SIGCONT);
    running_wait_said(running, "writing is tried again until it works");
    running_sleep(2500);
    /* Said once, whatever the number of files and tries. */
    assert_int_equal(running_count_said(running, "writing is tried again"), 1);
    assert_int_equal(running_count_files(running->folder, ".tmp"), 0);
    assert_int_equal(unlink(running_path(running, "ballast.bin")), 0);
    for (int i = 0; i < 3; i++) {
        char name[32];
        snprintf(name, sizeof name, "s%d_p1.csv", i);
        running_wait_outcome(running, name, PELLET_PASS);
    }
    running_wait_said(running, "writing works again");
    running_stop(running);
    running_verify(running);
    assert_int_equal(umount2(running->folder, MNT_DETACH), 0);
}

/* A share that drops out leaves an empty folder, which is no deletion and nothing to write into. */
static void unmounted_and_mounted_again(void **state)
{
    struct running *running = *state;
    char share[PATH_MAX + 20];
    char keys[PATH_MAX + 20];
    if (!running_enter_namespace())
        skip();
    snprintf(share, sizeof share, "%s/share", running->around);
    snprintf(keys, sizeof keys, "mount: %s", running->folder);
    assert_int_equal(mkdir(share, 0777), 0);
    assert_int_equal(mount(share, running->folder, "none", MS_BIND, NULL), 0);
    running_watch_configured(running, keys);
    running_save_first(running);
    assert_int_equal(umount2(running->folder, MNT_DETACH), 0);
    /* Somebody writes into the mount point meanwhile: nothing is judged there. */
    running_save(running, "lost_p1.csv", 2, 0.7, 3);
    running_wait_said(running, "away: nothing is mounted there");
    assert_int_equal(mount(share, running->folder, "none", MS_BIND, NULL), 0);
    running_wait_said(running, "is back");
    running_save(running, "a_p1.csv", 3, 0.7, 4);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
    char *lines = running_lines(running);
    char *first = strstr(lines, "blank.csv");
    assert_null(strstr(first + 1, "\tblank.csv"));
    free(lines);
    running_stop(running);
    assert_int_equal(umount2(running->folder, MNT_DETACH), 0);
    assert_false(running_there(running, "lost_p1.csv.verdict.yaml"));
}

static int queue_limit(void)
{
    char *text = running_read("/proc/sys/fs/inotify/max_queued_events");
    int limit = text ? atoi(text) : 16384;
    free(text);
    return limit;
}

/* More events than the queue holds, while the program cannot take them. */
static void more_events_than_fit(void **state)
{
    struct running *running = *state;
    static const char text[] = "not a spectrum\n";
    const int limit = queue_limit();
    const int files = limit / 3 + 500; /* each raises at least a creation, a modification and a close */
    if (limit > 40000) {
        printf("skipped: the queue holds %d events\n", limit);
        skip();
    }
    running_begin(running);
    kill(running->pid, SIGSTOP);
    for (int i = 0; i < files; i++) {
        char name[32];
        snprintf(name, sizeof name, "n%05d.csv", i);
        running_write(running_path(running, name), text, sizeof text - 1);
    }
    kill(running->pid, SIGCONT);
    running_until(running_count_files(running->folder, ".verdict.yaml") == (size_t)files + 2,
                  "not every file has its verdict");
    running_stop(running);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        running_test(more_events_than_fit),
        running_test(full_and_freed),
        running_test(unmounted_and_mounted_again),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
