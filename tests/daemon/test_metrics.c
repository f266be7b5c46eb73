// SPDX-License-Identifier: GPL-3.0-or-later
/* Numbers for a monitoring system: exact text, and what Debian's promtool (package prometheus) says of it. */
#include "daemon/running.h"

#include "metrics.h"

static struct pellet_verdict verdict(enum pellet_role role, enum pellet_outcome outcome, pellet_ns measured)
{
    return (struct pellet_verdict){.role = role, .outcome = outcome, .measured = measured, .file = "a.csv"};
}

static char *printed(struct metrics *metrics)
{
    struct pellet_text text = {0};
    metrics_print(metrics, INT64_C(1772619151) * PELLET_NS_PER_S, &text);
    assert_int_equal(pellet_text_status(&text), PELLET_OK);
    return text.data;
}

#define assert_line(text, line) assert_non_null(strstr(text, "\n" line "\n"))

static struct metrics *filled(void)
{
    struct metrics *metrics = metrics_new();
    const struct pellet_verdict pass = verdict(PELLET_SAMPLE, PELLET_PASS, 0);
    const struct pellet_verdict remake = verdict(PELLET_SAMPLE, PELLET_REMAKE, 0);
    const struct pellet_verdict blank = verdict(PELLET_BLANK, PELLET_PASS, 1000 * PELLET_NS_PER_S);
    const struct pellet_verdict older = verdict(PELLET_BLANK, PELLET_PASS, 900 * PELLET_NS_PER_S);
    const struct pellet_verdict refused = verdict(PELLET_BLANK, PELLET_REMAKE, 2000 * PELLET_NS_PER_S);
    assert_non_null(metrics);
    metrics_verdict(metrics, "bench-1", &blank, false, NAN);
    metrics_verdict(metrics, "bench-1", &older, false, NAN);
    metrics_verdict(metrics, "bench-1", &refused, true, 0.05);
    metrics_verdict(metrics, "bench-1", &pass, true, 0.25);
    metrics_verdict(metrics, "bench-1", &remake, true, 100);
    metrics_verdict(metrics, "bench-1", &remake, true, NAN);
    metrics_station(metrics, "bench-1", true, 3);
    metrics_station(metrics, "bench-2", false, 0);
    return metrics;
}

static void test_text(void **state)
{
    struct metrics *metrics = filled();
    (void)state;
    assert_true(metrics_changed(metrics));
    char *text = printed(metrics);
    assert_false(metrics_changed(metrics));
    assert_line(text, "pelletd_written_timestamp_seconds 1772619151");
    assert_line(text, "pelletd_verdicts_total{station=\"bench-1\",outcome=\"pass\"} 1");
    assert_line(text, "pelletd_verdicts_total{station=\"bench-1\",outcome=\"remake\"} 3");
    assert_line(text, "pelletd_verdicts_total{station=\"bench-2\",outcome=\"wait\"} 0");
    assert_line(text, "pelletd_judging_seconds_bucket{station=\"bench-1\",le=\"0.1\"} 1");
    assert_line(text, "pelletd_judging_seconds_bucket{station=\"bench-1\",le=\"0.25\"} 2");
    assert_line(text, "pelletd_judging_seconds_bucket{station=\"bench-1\",le=\"30\"} 2");
    assert_line(text, "pelletd_judging_seconds_bucket{station=\"bench-1\",le=\"+Inf\"} 3");
    assert_line(text, "pelletd_judging_seconds_sum{station=\"bench-1\"} 100.3");
    assert_line(text, "pelletd_judging_seconds_count{station=\"bench-1\"} 3");
    assert_line(text, "pelletd_queue_files{station=\"bench-1\"} 3");
    assert_line(text, "pelletd_station_watching{station=\"bench-1\"} 1");
    assert_line(text, "pelletd_station_watching{station=\"bench-2\"} 0");
    assert_line(text, "pelletd_blank_measured_timestamp_seconds{station=\"bench-1\"} 1000");
    /* No blank, no time: an age of 56 years would be worse than none. */
    assert_null(strstr(text, "blank_measured_timestamp_seconds{station=\"bench-2\"}"));
    free(text);
    metrics_free(metrics);
}

static void test_series_do_not_grow_with_the_spectra(void **state)
{
    struct metrics *metrics = filled();
    (void)state;
    char *before = printed(metrics);
    for (int i = 0; i < 1000; i++) {
        char name[32];
        struct pellet_verdict v = verdict(PELLET_SAMPLE, PELLET_PASS, 0);
        snprintf(name, sizeof name, "s%d_p1.csv", i);
        v.file = v.sample = name;
        metrics_verdict(metrics, "bench-1", &v, true, 0.1);
    }
    char *after = printed(metrics);
    size_t lines[2] = {0};
    for (const char *c = before; *c; c++)
        lines[0] += *c == '\n';
    for (const char *c = after; *c; c++)
        lines[1] += *c == '\n';
    assert_int_equal(lines[0], lines[1]);
    assert_null(strstr(after, "s999"));
    free(before);
    free(after);
    metrics_free(metrics);
}

/* 127 where there is no promtool. */
static int promtool(const char *path)
{
    int status = 0;
    pid_t pid = fork();
    if (pid == 0) {
        int file = open(path, O_RDONLY);
        dup2(file, STDIN_FILENO);
        execlp("promtool", "promtool", "check", "metrics", (char *)NULL);
        _exit(127);
    }
    assert_int_equal(waitpid(pid, &status, 0), pid);
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

static bool has(const char *path, const char *what)
{
    char *text = running_read(path);
    const bool found = text && strstr(text, what);
    free(text);
    return found;
}

static void test_file_of_the_program(void **state)
{
    struct running *running = *state;
    char path[PATH_MAX + 20];
    char keys[PATH_MAX + 80];
    snprintf(path, sizeof path, "%s/pelletd.prom", running->around);
    snprintf(keys, sizeof keys, "name: b.1\nmetrics: pelletd.prom");
    running_watch_configured(running, keys);
    running_save_first(running);
    running_until(has(path, "pelletd_verdicts_total{station=\"b.1\",outcome=\"pass\"} 2"), "never counted");
    running_until(has(path, "pelletd_queue_files{station=\"b.1\"} 0"), "the queue never became empty");
    assert_true(has(path, "pelletd_blank_measured_timestamp_seconds{station=\"b.1\"} 1772614860"));
    running_stop(running);
    const int code = promtool(path);
    if (code == 127) {
        print_message("promtool (package prometheus) is missing: the format was not checked by it\n");
        skip();
    }
    assert_int_equal(code, 0);
}

static void test_bad_place_is_said_once_and_judging_goes_on(void **state)
{
    struct running *running = *state;
    running_watch_configured(running, "name: b\nmetrics: nowhere/pelletd.prom");
    running_save_first(running);
    running_save(running, "sugar_p1.csv", 3, 0.35, 3);
    running_wait_outcome(running, "sugar_p1.csv", PELLET_PASS);
    running_stop(running);
    assert_int_equal(running_count_said(running, "cannot open the folder of the metrics"), 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_text),
        cmocka_unit_test(test_series_do_not_grow_with_the_spectra),
        running_test(test_file_of_the_program),
        running_test(test_bad_place_is_said_once_and_judging_goes_on),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
