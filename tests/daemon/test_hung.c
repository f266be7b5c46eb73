// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * A share that hangs: every open on it waits in the kernel until somebody allows it (fanotify permission
 * events, as an unanswered virus scanner would have it). Its own station stops; the other one and the main
 * loop go on. Needs root and a mount namespace.
 */
#include "daemon/running.h"

#include <poll.h>
#include <sys/fanotify.h>

static void write_configuration(const struct running *running, const char *hung)
{
    char path[PATH_MAX + 20];
    struct pellet_text text = {0};
    snprintf(path, sizeof path, "%s/pelletd.yaml", running->around);
    pellet_text_addf(&text,
                     "format: 1\nstations:\n  - {name: good, folder: %s}\n  - {name: hung, folder: %s}\n",
                     running->folder, hung);
    running_write(path, text.data, text.length);
    pellet_text_free(&text);
}

static void watch(struct running *running)
{
    char path[PATH_MAX + 20];
    char *arguments[] = {(char *)PELLETD_PROGRAM, "watch", "--config", path, NULL};
    snprintf(path, sizeof path, "%s/pelletd.yaml", running->around);
    running->pid = running_spawn(running, arguments);
    running_wait_said(running, "ready: watching 2");
}

/* From now on opens wait there; -1 where the kernel cannot do it. Closing the descriptor lets them go on. */
static int hang(const char *mount_point)
{
    const int marks = fanotify_init(FAN_CLASS_CONTENT | FAN_CLOEXEC, O_RDONLY);
    if (marks < 0)
        return -1;
    if (fanotify_mark(marks, FAN_MARK_ADD | FAN_MARK_MOUNT, FAN_OPEN_PERM | FAN_ONDIR, AT_FDCWD,
                      mount_point) == 0)
        return marks;
    close(marks);
    return -1;
}

/* Somebody waits for an answer: the share hangs for the program. */
static void wait_hanging(int marks)
{
    struct pollfd fd = {.fd = marks, .events = POLLIN};
    assert_int_equal(poll(&fd, 1, RUNNING_WAIT_MS), 1);
}

static void save_hung(struct running *running, const char *hung, const char *name, double minute, double dose)
{
    char path[PATH_MAX + 40];
    struct pellet_text text = {0};
    running_spectrum(running, minute, dose, 7, &text);
    snprintf(path, sizeof path, "%s/%s", hung, name);
    running_write(path, text.data, text.length);
    pellet_text_free(&text);
}

/* The verdict is there; looked for with stat alone, which does not hang. */
static bool is_judged(const char *hung, const char *name)
{
    char path[PATH_MAX + 60];
    struct stat st;
    snprintf(path, sizeof path, "%s/%s.verdict.yaml", hung, name);
    return stat(path, &st) == 0;
}

/* The folder of the second station. */
struct share {
    char folder[PATH_MAX + 20];
    int marks; /* closed: it goes on */
};

/* Both stations are watched, b_p1.csv comes, and the share hangs while it is read. False: not to be
 * had here. */
static bool begin(struct running *running, struct share *share)
{
    char part[PATH_MAX + 40];
    char whole[PATH_MAX + 40];
    if (!running_enter_namespace())
        return false;
    snprintf(share->folder, sizeof share->folder, "%s/hung", running->around);
    snprintf(part, sizeof part, "%s/b.part", share->folder);
    snprintf(whole, sizeof whole, "%s/b_p1.csv", share->folder);
    assert_int_equal(mkdir(share->folder, 0777), 0);
    assert_int_equal(mount("none", share->folder, "tmpfs", 0, "size=8m"), 0);
    write_configuration(running, share->folder);
    watch(running);
    save_hung(running, share->folder, "a_p1.csv", 2, 0.7);
    save_hung(running, share->folder, "b.part", 3, 0.7);
    running_until(is_judged(share->folder, "a_p1.csv"), "a_p1.csv has no verdict");
    share->marks = hang(share->folder);
    if (share->marks < 0) {
        printf("skipped: the kernel has no fanotify permission events: %s\n", strerror(errno));
        return false;
    }
    assert_int_equal(rename(part, whole), 0);
    wait_hanging(share->marks);
    return true;
}

static void only_its_own_station_stops(void **state)
{
    struct running *running = *state;
    struct share share;
    if (!begin(running, &share))
        skip();
    /* The other station judges as ever, and the main loop takes a signal. */
    running_save_first(running);
    running_save(running, "c_p1.csv", 4, 0.7, 5);
    running_wait_outcome(running, "c_p1.csv", PELLET_PASS);
    assert_false(is_judged(share.folder, "b_p1.csv"));
    kill(running->pid, SIGHUP);
    running_wait_said(running, "hung: hangs; it is left to itself");
    running_save(running, "d_p1.csv", 5, 0.7, 6);
    running_wait_outcome(running, "d_p1.csv", PELLET_PASS);
    close(share.marks);
    running_until(is_judged(share.folder, "b_p1.csv"), "b_p1.csv has no verdict after the share came back");
    running_stop(running);
    assert_int_equal(umount2(share.folder, MNT_DETACH), 0);
}

/* Asked to stop while a share hangs: it gives up waiting for it and ends. That the share comes back in that
 * moment changes nothing; ThreadSanitizer, which keeps the program for a second, looks at that. */
static void it_can_be_stopped(void **state)
{
    struct running *running = *state;
    struct share share;
    int status = 0;
    if (!getenv("PELLETD_LONG")) {
        printf("skipped: takes 20 s, so it belongs to the long form\n");
        skip();
    }
    if (!begin(running, &share))
        skip();
    assert_int_equal(kill(running->pid, SIGTERM), 0);
    running_wait_said(running, "hung: hangs; it is left to itself");
    close(share.marks);
    running_until(running_has_ended(running, &status), "it does not end");
    running->pid = 0;
    assert_true(WIFEXITED(status));
    assert_int_equal(WEXITSTATUS(status), 0);
    assert_int_equal(umount2(share.folder, MNT_DETACH), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        running_test(only_its_own_station_stops),
        running_test(it_can_be_stopped),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
