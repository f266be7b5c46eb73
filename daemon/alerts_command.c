// SPDX-License-Identifier: GPL-3.0-or-later
#include "alerts.h"

#include "place.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#define GRACE_MS      2000 /* between asking a group to end and killing it */
#define LOOK_MS       50   /* between looks whether a command has ended, where nothing tells */
#define VARIABLES_MAX 40

/* ---------------------------------------------------------------- the child */

/* What a command needs of ours to work at all, then the event. */
static bool make_environment(const struct alert_event *event, struct pellet_arena *arena,
                             char *list[VARIABLES_MAX + 1])
{
    static const char *const ours[] = {"PATH", "HOME", "LANG", "TZ"};
    size_t n = 0;
    for (size_t i = 0; i < sizeof ours / sizeof ours[0]; i++) {
        const char *value = getenv(ours[i]);
        if (value && !(list[n++] = pellet_arena_printf(arena, "%s=%s", ours[i], value)))
            return false;
    }
    const char *end = event->variables.data + event->variables.n;
    for (const char *at = event->variables.data; at < end && n < VARIABLES_MAX; at += strlen(at) + 1) {
        if (!(list[n++] = pellet_arena_string(arena, at)))
            return false;
    }
    list[n] = NULL;
    return true;
}

/* Between fork and exec; only what may be called there. */
static void become(const struct station_config *station, char *const *environment)
{
    sigset_t none;
    sigemptyset(&none);
    (void)setpgid(0, 0);
    (void)sigprocmask(SIG_SETMASK, &none, NULL);
    (void)signal(SIGPIPE, SIG_DFL);
    (void)signal(SIGXFSZ, SIG_DFL);
    int null = open("/dev/null", O_RDONLY);
    if (null >= 0)
        (void)dup2(null, STDIN_FILENO);
    /* All other descriptors are close-on-exec. */
    execve(station->alert.argv[0], (char *const *)station->alert.argv, environment);
    _exit(127);
}

/* ---------------------------------------------------------------- waiting for it */

/* Whether it has ended; it can still be waited for. */
static bool has_ended(pid_t child)
{
    siginfo_t info = {0};
    return waitid(P_PID, (id_t)child, &info, WEXITED | WNOHANG | WNOWAIT) == 0 && info.si_pid == child;
}

/*
 * Until the child ends, its time is up or we are to stop. Its end wakes us through a descriptor; where there
 * is none (before Linux 5.3, in a sandbox that does not know it) we look every so often.
 */
static enum alert_end wait_for(pid_t child, int64_t until_ms, int stop_fd)
{
    /* Through syscall(): not every C library has a name for it. */
    int ended_fd = (int)syscall(SYS_pidfd_open, child, 0);
    enum alert_end end = ALERT_RAN;
    while (end == ALERT_RAN && !has_ended(child)) {
        struct pollfd fds[] = {{.fd = ended_fd, .events = POLLIN}, {.fd = stop_fd, .events = POLLIN}};
        const int64_t left_ms = until_ms - clock_monotonic_ms();
        const int64_t most_ms = ended_fd >= 0 ? INT_MAX : LOOK_MS;
        if (left_ms <= 0)
            end = ALERT_TIME;
        else if (poll(fds, 2, (int)(left_ms < most_ms ? left_ms : most_ms)) > 0 && fds[1].revents)
            end = ALERT_STOPPED;
    }
    if (ended_fd >= 0)
        close(ended_fd);
    return end;
}

/* The group, not only the child: what a command started goes with it. */
static void end_group(pid_t child)
{
    (void)kill(-child, SIGTERM);
    (void)wait_for(child, clock_monotonic_ms() + GRACE_MS, -1);
    (void)kill(-child, SIGKILL);
}

static enum alert_end judge_end(enum alert_end end, int status, const struct station_config *station,
                                char *why, size_t size)
{
    if (end == ALERT_TIME)
        snprintf(why, size, "it took longer than %g s and was ended, with all it had started",
                 station->alert.time_limit_s);
    else if (end == ALERT_STOPPED)
        snprintf(why, size, "it was ended because pelletd ends");
    else if (WIFSIGNALED(status))
        snprintf(why, size, "it was killed by signal %d", WTERMSIG(status));
    else if (WEXITSTATUS(status) == 127)
        snprintf(why, size, "it could not be started: is the path right, and may this user run it?");
    else if (WEXITSTATUS(status) != 0)
        snprintf(why, size, "it ended with exit code %d", WEXITSTATUS(status));
    if (end == ALERT_RAN && (WIFSIGNALED(status) || WEXITSTATUS(status) != 0))
        end = ALERT_FAILED;
    return end;
}

enum alert_end alert_run(const struct station_config *station, const struct alert_event *event, int stop_fd,
                         char *why, size_t size)
{
    struct pellet_arena arena = {0};
    char *environment[VARIABLES_MAX + 1];
    int status = 0;
    *why = '\0';
    pid_t child = make_environment(event, &arena, environment) ? fork() : -1;
    if (child == 0)
        become(station, environment);
    pellet_arena_free(&arena);
    if (child < 0) {
        snprintf(why, size, "it could not be started: %s", strerror(errno));
        return ALERT_FAILED;
    }
    /* Here as well: whoever comes first, the group exists before it is signalled. */
    (void)setpgid(child, child);
    enum alert_end end =
        wait_for(child, clock_monotonic_ms() + (int64_t)(station->alert.time_limit_s * 1000), stop_fd);
    if (end != ALERT_RAN)
        end_group(child);
    while (waitpid(child, &status, 0) < 0 && errno == EINTR)
        continue;
    return judge_end(end, status, station, why, size);
}
