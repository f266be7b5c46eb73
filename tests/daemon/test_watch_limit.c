// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The system's limits of watches are reached: what cannot be watched is looked at every two seconds, and the
 * program says so. The limits are those of a user namespace of this test's own.
 */
#include "daemon/running.h"

static bool write_to(const char *path, const char *text)
{
    const int file = open(path, O_WRONLY | O_CLOEXEC);
    const bool good = file >= 0 && write(file, text, strlen(text)) == (ssize_t)strlen(text);
    if (file >= 0)
        close(file);
    return good;
}

/* A user namespace with these limits; everything started from here on lives in it. */
static bool enter_limits(const char *watches, const char *instances)
{
    char user[40];
    char group[40];
    snprintf(user, sizeof user, "0 %u 1", geteuid());
    snprintf(group, sizeof group, "0 %u 1", getegid());
    if (unshare(CLONE_NEWUSER) == 0 && write_to("/proc/self/setgroups", "deny") &&
        write_to("/proc/self/uid_map", user) && write_to("/proc/self/gid_map", group) &&
        write_to("/proc/sys/user/max_inotify_watches", watches) &&
        write_to("/proc/sys/user/max_inotify_instances", instances))
        return true;
    printf("skipped: a user namespace with limits of its own cannot be had here: %s\n", strerror(errno));
    return false;
}

static void no_more_watches(void **state)
{
    struct running *running = *state;
    if (!enter_limits("2", "10"))
        skip();
    for (int i = 0; i < 4; i++) {
        char name[20];
        snprintf(name, sizeof name, "day-%d", i);
        assert_int_equal(mkdir(running_path(running, name), 0777), 0);
    }
    running_watch_configured(running, "depth: 1");
    running_save_first(running);
    running_wait_said(running, "max_user_watches) is reached; looking every 2 s as well");
    for (int i = 0; i < 4; i++) {
        char name[40];
        snprintf(name, sizeof name, "day-%d/s%d_p1.csv", i, i);
        running_save(running, name, 2 + i, 0.7, (unsigned long)i + 3);
    }
    for (int i = 0; i < 4; i++) {
        char name[40];
        snprintf(name, sizeof name, "day-%d/s%d_p1.csv", i, i);
        running_wait_outcome(running, name, PELLET_PASS);
    }
    running_stop(running);
    assert_int_equal(running_count_said(running, "looking every 2 s"), 1);
}

static void no_watching_at_all(void **state)
{
    struct running *running = *state;
    if (!enter_limits("10", "0"))
        skip();
    running_begin(running);
    running_wait_said(running, "looking every 2 s instead");
    running_save(running, "a_p1.csv", 2, 0.7, 3);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
    running_stop(running);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        running_test(no_more_watches),
        running_test(no_watching_at_all),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
