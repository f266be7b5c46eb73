// SPDX-License-Identifier: GPL-3.0-or-later
/* Alerts: what is put into the spool, and the second process that runs the commands, killed and misused. */
#include "daemon/running.h"

#include "alerts.h"

/* A station whose command is a script of the test, and the spool, all in the scratch folder. */
struct bell {
    char spool[PATH_MAX + 20], script[PATH_MAX + 20], log[PATH_MAX + 20], config[PATH_MAX + 20];
    pid_t pid;
};

static void write_script(const struct bell *bell, const char *body)
{
    struct pellet_text text = {0};
    pellet_text_addf(&text, "#!/bin/sh\nlog='%s'\n%s\n", bell->log, body);
    running_write(bell->script, text.data, text.length);
    assert_int_equal(chmod(bell->script, 0755), 0);
    pellet_text_free(&text);
}

static struct bell prepare(const struct running *running, const char *limits, const char *body)
{
    struct bell bell = {0};
    struct pellet_text text = {0};
    snprintf(bell.spool, sizeof bell.spool, "%s/spool", running->around);
    snprintf(bell.script, sizeof bell.script, "%s/ring", running->around);
    snprintf(bell.log, sizeof bell.log, "%s/rung", running->around);
    snprintf(bell.config, sizeof bell.config, "%s/pelletd.yaml", running->around);
    write_script(&bell, body);
    pellet_text_addf(&text,
                     "format: 1\nspool: spool\nstations:\n  - folder: %s\n    name: b\n    alert:\n"
                     "      command: [%s, one, \"two words\"]\n%s",
                     running->folder, bell.script, limits);
    running_write(bell.config, text.data, text.length);
    pellet_text_free(&text);
    return bell;
}

static void start(const struct running *running, struct bell *bell)
{
    char *arguments[] = {(char *)PELLETD_PROGRAM, "alerts", "--config", bell->config, NULL};
    const size_t before = running_count_said(running, "waiting for alerts");
    bell->pid = running_spawn(running, arguments);
    running_until(running_count_said(running, "waiting for alerts") > before, "alerts never became ready");
}

static int end(struct bell *bell, int signal)
{
    int status = 0;
    assert_int_equal(kill(bell->pid, signal), 0);
    assert_int_equal(waitpid(bell->pid, &status, 0), bell->pid);
    bell->pid = 0;
    return status;
}

static void watch(struct running *running, const struct bell *bell)
{
    char *arguments[] = {(char *)PELLETD_PROGRAM, "watch", "--config", (char *)bell->config, NULL};
    running->pid = running_spawn(running, arguments);
    running_wait_said(running, "ready: watching");
}

static bool rung(const struct bell *bell, const char *what)
{
    char *text = running_read(bell->log);
    const bool found = text && strstr(text, what);
    free(text);
    return found;
}

/* An event as the service would spool it now. */
static void spool(const struct running *running, const struct bell *bell, const char *file, pellet_ns landed)
{
    const char *argv[] = {bell->script};
    const struct station_config station = {
        .name = "b", .folder = running->folder, .alert = {.n = 1, .argv = argv, .max_age_min = 15}};
    struct pellet_verdict verdict = {
        .outcome = PELLET_REMAKE, .file = file, .summary = "s", .mtime_ns = landed};
    struct pellet_error error = {0};
    pellet_sha256_hex(file, strlen(file), verdict.sha256);
    assert_int_equal(alerts_spool(bell->spool, &station, &verdict, &error), PELLET_OK);
}

/* ---------------------------------------------------------------- what is spooled */

static void test_who_wants_to_know(void **state)
{
    static const char *argv[] = {"/bin/true"};
    const struct station_config none = {.alert = {.max_age_min = 15}};
    const struct station_config some = {.alert = {.n = 1, .argv = argv, .max_age_min = 15}};
    const pellet_ns now = RUNNING_START;
    struct pellet_verdict verdict = {.outcome = PELLET_REMAKE, .mtime_ns = now - 60 * PELLET_NS_PER_S};
    (void)state;
    assert_false(alerts_wanted(&none, &verdict, now));
    assert_true(alerts_wanted(&some, &verdict, now));
    verdict.outcome = PELLET_WAIT;
    assert_true(alerts_wanted(&some, &verdict, now));
    verdict.outcome = PELLET_PASS;
    assert_false(alerts_wanted(&some, &verdict, now));
    verdict.outcome = PELLET_RESCAN;
    verdict.mtime_ns = now - 15 * 60 * PELLET_NS_PER_S;
    assert_true(alerts_wanted(&some, &verdict, now));
    verdict.mtime_ns -= PELLET_NS_PER_S;
    assert_false(alerts_wanted(&some, &verdict, now));
}

static void test_taken_once_in_the_order_of_time(void **state)
{
    struct running *running = *state;
    const struct bell bell = prepare(running, "", "");
    struct alert_event event = {0};
    struct pellet_error error = {0};
    spool(running, &bell, "first.csv", 1);
    spool(running, &bell, "second.csv", 1);
    int folder = alerts_open(bell.spool, &error);
    struct stat st;
    assert_int_equal(fstat(folder, &st), 0);
    assert_int_equal(st.st_mode & 077, 0);
    for (int i = 0; i < 2; i++) {
        assert_int_equal(alerts_take(folder, &event, &error), PELLET_OK);
        assert_string_equal(event.station, "b");
        assert_int_equal(event.landed, 1);
        bool found = false;
        for (const char *at = event.variables.data; at < event.variables.data + event.variables.n;
             at += strlen(at) + 1)
            found = found || strcmp(at, i ? "PELLETD_FILE=second.csv" : "PELLETD_FILE=first.csv") == 0;
        assert_true(found);
        alert_event_clear(&event);
    }
    assert_int_equal(alerts_take(folder, &event, &error), PELLET_E_MISSING);
    /* What is not ours is taken away and said, and does not keep the next from its turn. */
    running_write(running_path(running, "../spool/0-planted.event"), "LD_PRELOAD=/tmp/x", 17);
    spool(running, &bell, "third.csv", 1);
    assert_int_equal(alerts_take(folder, &event, &error), PELLET_E_FORMAT);
    assert_int_equal(alerts_take(folder, &event, &error), PELLET_OK);
    alert_event_clear(&event);
    close(folder);
}

static void test_a_full_spool_takes_no_more(void **state)
{
    struct running *running = *state;
    const struct bell bell = prepare(running, "", "");
    static const char *argv[] = {"/bin/true"};
    const struct station_config station = {.name = "b", .folder = "/x", .alert = {.n = 1, .argv = argv}};
    const struct pellet_verdict verdict = {.outcome = PELLET_REMAKE, .file = "a.csv"};
    struct pellet_error error = {0};
    char path[PATH_MAX + 60];
    assert_int_equal(mkdir(bell.spool, 0700), 0);
    for (int i = 0; i < ALERT_EVENTS_MAX; i++) {
        snprintf(path, sizeof path, "%s/%d.event", bell.spool, i);
        running_write(path, "x", 1);
    }
    assert_int_equal(alerts_spool(bell.spool, &station, &verdict, &error), PELLET_E_LIMIT);
    assert_non_null(strstr(error.message, "pelletd-alerts"));
}

/* ---------------------------------------------------------------- the whole way */

#define TELL                                                                                                 \
    "printf '%s|%s|%s|%s|%s\\n' \"$PELLETD_VERDICT\" \"$PELLETD_FILE\" \"$#\" \"$2\" \"$PELLETD_ROLE\" "     \
    ">>\"$log\""

static void test_a_verdict_rings_the_bell(void **state)
{
    struct running *running = *state;
    struct bell bell = prepare(running, "", TELL "\nenv >>\"$log\"");
    setenv("PELLETD_TEST_SECRET", "not for commands", 1);
    watch(running, &bell);
    start(running, &bell);
    running_save_first(running);
    running_save(running, "sugar_p1.csv", 3, 0.02, 3);
    running_until(rung(&bell, "remake|sugar_p1.csv|2|two words|sample"), "the command was never run");
    running_until(rung(&bell, "PELLETD_DO="), "no instruction");
    assert_false(rung(&bell, "|blank.csv|"));
    assert_false(rung(&bell, "PELLETD_TEST_SECRET"));
    assert_true(WIFEXITED(end(&bell, SIGTERM)));
    running_stop(running);
    unsetenv("PELLETD_TEST_SECRET");
}

/* No shell of ours ever sees a name; only those of the command's own, in variables. */
static bool spool_is_full(const struct bell *bell)
{
    static const char zeros[4096];
    char path[PATH_MAX + 40];
    snprintf(path, sizeof path, "%s/ballast", bell->spool);
    const int file = open(path, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600);
    assert_true(file >= 0);
    while (write(file, zeros, sizeof zeros) > 0)
        continue;
    const bool full = errno == ENOSPC;
    close(file);
    return full;
}

/* The verdict comes, the alert that could not be kept is told of, and the next one rings again. */
static void test_a_disk_full_of_alerts_keeps_no_verdict_back(void **state)
{
    struct running *running = *state;
    char ballast[PATH_MAX + 40];
    if (!running_enter_namespace())
        skip();
    struct bell bell = prepare(running, "", "echo \"$PELLETD_FILE\" >> \"$log\"");
    assert_int_equal(mkdir(bell.spool, 0700), 0);
    assert_int_equal(mount("none", bell.spool, "tmpfs", 0, "size=64k"), 0);
    assert_true(spool_is_full(&bell));
    watch(running, &bell);
    running_save_first(running);
    running_save(running, "strong_p1.csv", 2, 4.0, 3);
    running_wait_outcome(running, "strong_p1.csv", PELLET_REMAKE);
    running_wait_said(running, "No space left");
    snprintf(ballast, sizeof ballast, "%s/ballast", bell.spool);
    assert_int_equal(unlink(ballast), 0);
    start(running, &bell);
    running_save(running, "strong_p2.csv", 3, 4.0, 4);
    running_wait_outcome(running, "strong_p2.csv", PELLET_REMAKE);
    running_until(access(bell.log, R_OK) == 0, "nothing rang");
    char *rung = running_read(bell.log);
    assert_string_equal(rung, "strong_p2.csv\n");
    free(rung);
    (void)end(&bell, SIGTERM);
    running_stop(running);
    assert_int_equal(umount2(bell.spool, MNT_DETACH), 0);
}

static void test_hostile_names_are_only_text(void **state)
{
    static const char *const names[] = {
        "$(touch pwned).csv", "`touch pwned`.csv", ";touch pwned;.csv",       "-rf *_p1.csv",
        "two\nlines_p1.csv",  "quote\"'s_p1.csv",  "PELLETD_VERDICT=pass.csv"};
    enum { NAMES = sizeof names / sizeof names[0] };
    struct running *running = *state;
    struct bell bell = prepare(running, "", "printf '%s|' \"$PELLETD_FILE\" >>\"$log\"");
    watch(running, &bell);
    start(running, &bell);
    for (size_t i = 0; i < NAMES; i++)
        running_save(running, names[i], 3, 0.35, 3);
    for (size_t i = 0; i < NAMES; i++) {
        char expected[300];
        snprintf(expected, sizeof expected, "%s|", names[i]);
        running_until(rung(&bell, expected), "no alert for %s", names[i]);
    }
    end(&bell, SIGTERM);
    running_stop(running);
    assert_false(running_there(running, "pwned"));
    assert_false(running_there(running, "../pwned"));
    assert_true(access("pwned", F_OK) < 0);
}

/* Nobody runs the commands: the verdicts come all the same. */
static void test_judging_never_waits(void **state)
{
    struct running *running = *state;
    struct bell bell = prepare(running, "", "sleep 1000");
    watch(running, &bell);
    start(running, &bell);
    running_save(running, "a_p1.csv", 1, 0.35, 1);
    running_until(running_count_files(bell.spool, ".event") == 0 &&
                      running_there(running, "a_p1.csv.verdict.yaml"),
                  "the first was never taken");
    running_save(running, "b_p1.csv", 2, 0.35, 2);
    running_wait_outcome(running, "b_p1.csv", PELLET_WAIT);
    running_stop(running);
    end(&bell, SIGTERM);
}

/* ---------------------------------------------------------------- at most once */

static void test_at_most_once_whatever_is_killed(void **state)
{
    enum { EVENTS = 60, KILLS = 15 };
    struct running *running = *state;
    struct bell bell = prepare(running, "", "echo \"$PELLETD_FILE\" >>\"$log\"; sleep 0.02");
    struct timespec now;
    clock_gettime(CLOCK_REALTIME, &now);
    const pellet_ns landed = (pellet_ns)now.tv_sec * PELLET_NS_PER_S;
    for (int i = 0; i < EVENTS; i++) {
        char file[32];
        snprintf(file, sizeof file, "<%d>", i);
        spool(running, &bell, file, landed);
    }
    for (int i = 0; i < KILLS; i++) {
        start(running, &bell);
        running_sleep(7 * (i % 8));
        end(&bell, SIGKILL);
    }
    start(running, &bell);
    running_until(running_count_files(bell.spool, ".event") == 0, "the spool never became empty");
    running_sleep(500);
    end(&bell, SIGTERM);
    char *text = running_read(bell.log);
    int missing = 0;
    for (int i = 0; i < EVENTS; i++) {
        char file[32];
        snprintf(file, sizeof file, "<%d>\n", i);
        const char *first = strstr(text, file);
        missing += !first;
        if (first)
            assert_null(strstr(first + 1, file));
    }
    print_message("%d alerts, %d kills, %d not run, none twice\n", EVENTS, KILLS, missing);
    /* Each kill may cost the one in hand. */
    assert_in_range(missing, 0, KILLS);
    free(text);
}

static void test_two_do_not_run_side_by_side(void **state)
{
    struct running *running = *state;
    struct bell bell = prepare(running, "", "");
    char *arguments[] = {(char *)PELLETD_PROGRAM, "alerts", "--config", bell.config, NULL};
    start(running, &bell);
    assert_int_equal(running_run(running, arguments), 3);
    end(&bell, SIGTERM);
}

/* ---------------------------------------------------------------- limits */

static bool is_alive(const char *path)
{
    char *text = running_read(path);
    const int pid = text ? atoi(text) : 0;
    free(text);
    return pid > 0 && kill(pid, 0) == 0;
}

static void test_time_limit_ends_the_whole_group(void **state)
{
    struct running *running = *state;
    struct bell bell = prepare(running, "      time_limit: 1 s\n",
                               "trap '' TERM\nsleep 1000 &\necho $! >\"$log.child\"\necho $$ >\"$log.self\"\n"
                               "sleep 1000");
    char child[PATH_MAX + 40];
    char self[PATH_MAX + 40];
    struct timespec now;
    clock_gettime(CLOCK_REALTIME, &now);
    snprintf(child, sizeof child, "%s.child", bell.log);
    snprintf(self, sizeof self, "%s.self", bell.log);
    spool(running, &bell, "a.csv", (pellet_ns)now.tv_sec * PELLET_NS_PER_S);
    start(running, &bell);
    running_until(is_alive(child) && is_alive(self), "the command never began");
    running_wait_said(running, "it took longer than 1 s");
    running_until(!is_alive(child) && !is_alive(self), "what the command started outlived it");
    end(&bell, SIGTERM);
}

static void test_old_spectra_are_left_out(void **state)
{
    struct running *running = *state;
    struct bell bell = prepare(running, "      max_age: 2 min\n", TELL);
    struct timespec now;
    clock_gettime(CLOCK_REALTIME, &now);
    spool(running, &bell, "old.csv", (pellet_ns)(now.tv_sec - 180) * PELLET_NS_PER_S);
    spool(running, &bell, "new.csv", (pellet_ns)now.tv_sec * PELLET_NS_PER_S);
    start(running, &bell);
    running_until(rung(&bell, "new.csv"), "the young one was never run");
    end(&bell, SIGTERM);
    assert_false(rung(&bell, "old.csv"));
    assert_true(running_said(running, "older than 2 min"));
}

static void test_a_command_that_is_not_there_is_said(void **state)
{
    struct running *running = *state;
    struct bell bell = prepare(running, "", "");
    struct timespec now;
    clock_gettime(CLOCK_REALTIME, &now);
    assert_int_equal(unlink(bell.script), 0);
    spool(running, &bell, "a.csv", (pellet_ns)now.tv_sec * PELLET_NS_PER_S);
    start(running, &bell);
    running_wait_said(running, "could not be started");
    end(&bell, SIGTERM);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_who_wants_to_know),
        running_test(test_taken_once_in_the_order_of_time),
        running_test(test_a_full_spool_takes_no_more),
        running_test(test_a_disk_full_of_alerts_keeps_no_verdict_back),
        running_test(test_a_verdict_rings_the_bell),
        running_test(test_hostile_names_are_only_text),
        running_test(test_judging_never_waits),
        running_test(test_at_most_once_whatever_is_killed),
        running_test(test_two_do_not_run_side_by_side),
        running_test(test_time_limit_ends_the_whole_group),
        running_test(test_old_spectra_are_left_out),
        running_test(test_a_command_that_is_not_there_is_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
