// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * What a service manager is told, read from a socket that stands in for it: the protocol of sd_notify(3).
 * And what it relies on: exit codes, a reload that is all or nothing, an end in bounded time.
 */
#include "daemon/running.h"

#include "notify.h"

#include <poll.h>
#include <sys/socket.h>
#include <sys/un.h>

/* Everything that was told so far, a message after the other. */
struct manager {
    int socket;
    struct sockaddr_un address;
    struct pellet_text told;
};

static struct manager manager_open(const struct running *running)
{
    struct manager manager = {.socket = socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC, 0),
                              .address = {.sun_family = AF_UNIX}};
    struct sockaddr_un *address = &manager.address;
    assert_true(snprintf(address->sun_path, sizeof address->sun_path, "%s/notify", running->around) <
                (int)sizeof address->sun_path);
    assert_true(manager.socket >= 0);
    assert_int_equal(bind(manager.socket, (const struct sockaddr *)address, sizeof *address), 0);
    setenv("NOTIFY_SOCKET", address->sun_path, 1);
    return manager;
}

static void listen_once(struct manager *manager)
{
    char message[4096];
    ssize_t n = recv(manager->socket, message, sizeof message, MSG_DONTWAIT);
    if (n > 0) {
        pellet_text_add(&manager->told, message, (size_t)n);
        pellet_text_adds(&manager->told, "\n--\n");
    }
}

static bool told(struct manager *manager, const char *what)
{
    listen_once(manager);
    return strstr(pellet_text_string(&manager->told), what) != NULL;
}

static size_t count_told(struct manager *manager, const char *what)
{
    size_t n = 0;
    listen_once(manager);
    for (const char *at = pellet_text_string(&manager->told); (at = strstr(at, what)); at += strlen(what))
        n++;
    return n;
}

#define wait_told(manager, what) running_until(told(manager, what), "the manager was never told %s", what)

static void manager_close(struct manager *manager)
{
    close(manager->socket);
    pellet_text_free(&manager->told);
    unsetenv("NOTIFY_SOCKET");
    unsetenv("WATCHDOG_USEC");
}

static void need_notify(void)
{
    if (notify_is_built_in())
        return;
    print_message("built without libsystemd: nobody is told anything\n");
    skip();
}

static void test_ready_status_and_stopping(void **state)
{
    struct running *running = *state;
    need_notify();
    struct manager manager = manager_open(running);
    running_watch(running);
    wait_told(&manager, "READY=1\nSTATUS=watching 1, away 0, judged 0, to do 0");
    running_save_first(running);
    wait_told(&manager, "STATUS=watching 1, away 0, judged 2, to do 0");
    assert_int_equal(count_told(&manager, "READY=1"), 1);
    assert_false(told(&manager, "STOPPING=1"));
    running_stop(running);
    wait_told(&manager, "STOPPING=1");
    manager_close(&manager);
}

static void test_backlog_is_told(void **state)
{
    struct running *running = *state;
    need_notify();
    struct manager manager = manager_open(running);
    for (int i = 0; i < 60; i++) {
        char name[32];
        snprintf(name, sizeof name, "s%02d_p1.csv", i);
        running_save(running, name, 3 + 0.1 * i, 0.35, 3);
    }
    running_watch(running);
    wait_told(&manager, "judged 60, to do 0");
    /* While they were judged, more than nothing was to do. */
    char *text = strdup(pellet_text_string(&manager.told));
    bool backlog = false;
    for (const char *at = text; (at = strstr(at, "to do ")); at++)
        backlog = backlog || atoi(at + 6) > 0;
    assert_true(backlog);
    free(text);
    running_stop(running);
    manager_close(&manager);
}

static void test_watchdog_is_fed(void **state)
{
    struct running *running = *state;
    need_notify();
    struct manager manager = manager_open(running);
    setenv("WATCHDOG_USEC", "200000", 1);
    running_watch(running);
    running_until(count_told(&manager, "WATCHDOG=1") >= 5, "the watchdog was left alone");
    running_stop(running);
    manager_close(&manager);
}

static void test_reload_is_told_and_is_all_or_nothing(void **state)
{
    struct running *running = *state;
    need_notify();
    struct manager manager = manager_open(running);
    running_watch_configured(running, "name: first");
    running_configure(running, "name: second");
    assert_int_equal(kill(running->pid, SIGHUP), 0);
    wait_told(&manager, "RELOADING=1\nMONOTONIC_USEC=");
    running_until(count_told(&manager, "READY=1") == 2, "the manager was not told that the reload is done");
    assert_true(running_said(running, "configuration reloaded"));

    running_configure(running, "name: third\n    depth: -1\n    rules: nonsense");
    assert_int_equal(kill(running->pid, SIGHUP), 0);
    running_until(count_told(&manager, "READY=1") == 3, "the manager was not told that the reload is over");
    assert_int_equal(count_told(&manager, "RELOADING=1"), 2);
    assert_true(running_said(running, "the old one stays"));
    /* The old one is at work, under its name. */
    running_save_first(running);
    struct pellet_verdict verdict = running_wait_verdict(running, "blank.csv");
    assert_string_equal(verdict.station, "second");
    pellet_verdict_clear(&verdict);
    running_stop(running);
    manager_close(&manager);
}

static void test_bad_configuration_is_never_ready(void **state)
{
    struct running *running = *state;
    char path[PATH_MAX + 20];
    char *arguments[] = {(char *)PELLETD_PROGRAM, "watch", "--config", path, NULL};
    struct manager manager = manager_open(running);
    snprintf(path, sizeof path, "%s/pelletd.yaml", running->around);
    running_configure(running, "depth: -1\n    colour: red\n    range: wide\n    watch: sometimes");
    assert_int_equal(running_run(running, arguments), 2);
    assert_false(told(&manager, "READY=1"));
    /* All four, not only the first. */
    assert_true(running_said(running, "pelletd.yaml: line 4"));
    assert_true(running_said(running, "pelletd.yaml: line 5"));
    assert_true(running_said(running, "pelletd.yaml: line 6"));
    assert_true(running_said(running, "pelletd.yaml: line 7"));
    manager_close(&manager);
}

/* Signals in the middle of a backlog: it ends, with code 0, and what it finished is whole. */
static void test_end_in_the_middle_of_work(void **state)
{
    struct running *running = *state;
    for (int i = 0; i < 60; i++) {
        char name[32];
        snprintf(name, sizeof name, "s%02d_p1.csv", i);
        running_save(running, name, 3 + 0.1 * i, 0.35, 3);
    }
    char *arguments[] = {(char *)PELLETD_PROGRAM, "watch", running->folder, NULL};
    running->pid = running_spawn(running, arguments);
    running_until(running_count_files(running->folder, ".verdict.yaml") > 0, "nothing was judged");
    running_stop(running);
    assert_int_equal(running_count_files(running->folder, ".tmp"), 0);
    char *rest[] = {(char *)PELLETD_PROGRAM, "judge", running->folder, NULL};
    assert_int_not_equal(running_run(running, rest), 3);
    running_verify(running);
}

static void fill_queue(const struct manager *manager, int from)
{
    const struct sockaddr *to = (const struct sockaddr *)&manager->address;
    while (sendto(from, ".", 1, MSG_DONTWAIT, to, sizeof manager->address) == 1)
        ;
    assert_int_equal(errno, EAGAIN);
}

/* Its queue is full: pellets are judged, and the program ends when it is told to. */
static void test_a_manager_that_does_not_read(void **state)
{
    struct running *running = *state;
    need_notify();
    struct manager manager = manager_open(running);
    const int others = socket(AF_UNIX, SOCK_DGRAM | SOCK_CLOEXEC, 0);
    fill_queue(&manager, others);
    char *arguments[] = {(char *)PELLETD_PROGRAM, "watch", running->folder, NULL};
    running->pid = running_spawn(running, arguments);
    running_save_first(running);
    assert_false(running_said(running, "ready:"));
    /* Once it reads it is told that we are ready. */
    wait_told(&manager, "READY=1\nSTATUS=watching 1");
    running_wait_said(running, "ready:");
    fill_queue(&manager, others);
    running_save(running, "a_p1.csv", 2, 0.7, 3);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
    running_stop(running);
    close(others);
    manager_close(&manager);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        running_test(test_ready_status_and_stopping),
        running_test(test_backlog_is_told),
        running_test(test_watchdog_is_fed),
        running_test(test_reload_is_told_and_is_all_or_nothing),
        running_test(test_bad_configuration_is_never_ready),
        running_test(test_end_in_the_middle_of_work),
        running_test(test_a_manager_that_does_not_read),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
