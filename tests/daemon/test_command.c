// SPDX-License-Identifier: GPL-3.0-or-later
/* The command line: exit codes, help by example, what a pipe sees. */
#include "daemon/running.h"

#include <sys/resource.h>

static int run(struct running *running, char *a, char *b, char *c, char *d)
{
    char *arguments[] = {(char *)PELLETD_PROGRAM, a, b, c, d, NULL};
    unlink(running_messages(running));
    return running_run(running, arguments);
}

static void exit_codes(void **state)
{
    struct running *running = *state;
    assert_int_equal(run(running, NULL, NULL, NULL, NULL), 2);
    assert_int_equal(run(running, "dance", NULL, NULL, NULL), 2);
    assert_int_equal(run(running, "judge", NULL, NULL, NULL), 2);
    assert_int_equal(run(running, "judge", "--colour", running->folder, NULL), 2);
    assert_true(running_said(running, "unknown option --colour"));
    assert_int_equal(run(running, "judge", "--jobs", "0", running->folder), 2);
    assert_int_equal(run(running, "judge", "--format", "xml", running->folder), 2);
    assert_int_equal(run(running, "judge", "--rules", "nonsense", running->folder), 2);
    assert_int_equal(run(running, "watch", NULL, NULL, NULL), 2);
    assert_true(running_said(running, "name a folder"));
    assert_int_equal(run(running, "rules", "nonsense", NULL, NULL), 2);
    assert_int_equal(run(running, "check", "--config", "/nowhere.yaml", NULL), 2);
    assert_int_equal(run(running, "judge", "/nowhere", NULL, NULL), 3);
    /* Nothing to do is no failure. */
    assert_int_equal(run(running, "judge", running->folder, NULL, NULL), 0);
    assert_int_equal(run(running, "rules", "routine", NULL, NULL), 0);
    assert_int_equal(run(running, "--help", NULL, NULL, NULL), 0);
    assert_int_equal(run(running, "--version", NULL, NULL, NULL), 0);
    char *lines = running_lines(running);
    assert_string_equal(lines, "pelletd " PELLET_VERSION "\n");
    free(lines);
}

/* A limit on the size of files (ulimit -f) is a failure that is told, no death by signal; without it the next
 * run completes what is missing. */
static void a_limit_on_file_sizes(void **state)
{
    struct running *running = *state;
    struct rlimit before;
    running_save(running, "open-beam.csv", 0, -1, 1);
    running_save(running, "blank.csv", 1, 0, 2);
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
    const struct rlimit small = {.rlim_cur = 10000, .rlim_max = before.rlim_max};
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &small), 0);
    const int code = run(running, "judge", running->folder, NULL, NULL);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
    assert_int_equal(code, 3);
    assert_true(running_said(running, "File too large"));
    assert_true(running_outcome_is(running, "blank.csv", PELLET_PASS));
    assert_int_equal(run(running, "judge", running->folder, NULL, NULL), 0);
    running_verify(running);
}

static void every_command_helps(void **state)
{
    struct running *running = *state;
    static char *const commands[] = {"watch", "judge", "report", "rules", "check", "alerts", "demo"};
    for (size_t i = 0; i < sizeof commands / sizeof commands[0]; i++) {
        char example[40];
        assert_int_equal(run(running, commands[i], "--help", NULL, NULL), 0);
        char *lines = running_lines(running);
        snprintf(example, sizeof example, "  pelletd %s", commands[i]);
        assert_non_null(strstr(lines, example));
        assert_non_null(strstr(lines, "--help"));
        free(lines);
    }
}

/* As the help shows it: a rule set of one's own begins as a copy, and is the same until it is changed. */
static void a_rule_set_of_ones_own(void **state)
{
    struct running *running = *state;
    char own[PATH_MAX + 20];
    snprintf(own, sizeof own, "%s/our-lab.yaml", running->around);
    for (const char *const *name = (const char *const[]){"routine", "pharmacopoeial", "teaching", NULL};
         *name; name++) {
        assert_int_equal(run(running, "rules", (char *)*name, NULL, NULL), 0);
        char *shipped = running_lines(running);
        assert_int_equal(run(running, "rules", "--yaml", (char *)*name, NULL), 0);
        char *yaml = running_lines(running);
        running_write(own, yaml, strlen(yaml));
        assert_int_equal(run(running, "rules", own, NULL, NULL), 0);
        char *copied = running_lines(running);
        assert_string_equal(copied, shipped);
        free(shipped);
        free(yaml);
        free(copied);
    }
    assert_int_equal(run(running, "rules", "--yaml", own, NULL), 2);
    assert_true(running_said(running, "there are pharmacopoeial, routine, teaching"));
}

/* The pipe that `report --help` shows: what was to be made again. */
static void the_table_is_cut_as_the_help_says(void **state)
{
    struct running *running = *state;
    char pipe[3 * PATH_MAX];
    running_save(running, "blank.csv", 1, 0, 2);
    running_save(running, "a_p1.csv", 2, 0.7, 3);
    running_save(running, "b_p1.csv", 3, 3.0, 4);
    assert_int_equal(run(running, "judge", running->folder, NULL, NULL), 1);
    assert_int_equal(run(running, "report", "--help", NULL, NULL), 0);
    char *help = running_lines(running);
    const char *const cut = strstr(help, "  cut -d, ");
    const char *const folder = strstr(help, "~/spectra/bench-1/reports/2026-*.csv");
    assert_true(cut && folder > cut);
    const char *const rest = folder + strlen("~/spectra/bench-1");
    snprintf(pipe, sizeof pipe, "%.*s%s%.*s", (int)(folder - cut), cut, running->folder,
             (int)strcspn(rest, "\n"), rest);
    FILE *out = popen(pipe, "r");
    char line[256] = "";
    assert_non_null(out);
    assert_non_null(fgets(line, sizeof line, out));
    assert_string_equal(line, "\"b_p1.csv\",\"remake\"\n");
    assert_null(fgets(line, sizeof line, out));
    pclose(out);
    free(help);
}

static void judging_a_folder_and_files(void **state)
{
    struct running *running = *state;
    char file[PATH_MAX + 300];
    running_save(running, "open-beam.csv", 0, -1, 1);
    running_save(running, "blank.csv", 1, 0, 2);
    running_save(running, "a_p1.csv", 2, 0.7, 3);
    running_save(running, "b_p1.csv", 3, 3.0, 4);
    snprintf(file, sizeof file, "%s", running_path(running, "a_p1.csv"));
    /* Print only. */
    assert_int_equal(run(running, "judge", "--no-write", running->folder, NULL), 1);
    assert_int_equal(running_count_files(running->folder, ""), 4);
    /* One file: the blanks it needs are judged too, the other sample is not. */
    assert_int_equal(run(running, "judge", file, NULL, NULL), 0);
    char *lines = running_lines(running);
    assert_memory_equal(lines, "pass\ta_p1.csv\t", 14);
    assert_null(strchr(strchr(lines, '\n') + 1, '\n'));
    free(lines);
    assert_true(running_there(running, "blank.csv.verdict.yaml"));
    assert_false(running_there(running, "b_p1.csv.verdict.yaml"));
    /* The folder: in the order in which it was measured. */
    assert_int_equal(run(running, "judge", running->folder, NULL, NULL), 1);
    lines = running_lines(running);
    assert_memory_equal(lines, "pass\topen-beam.csv\t", 19);
    assert_non_null(strstr(lines, "\nremake\tb_p1.csv\t"));
    free(lines);
    /* As JSON, one object a line. */
    assert_int_equal(run(running, "judge", "--format", "json", running->folder), 1);
    lines = running_lines(running);
    assert_memory_equal(lines, "{\"format\"", 9);
    free(lines);
    running_verify(running);
}

/* A blank of the person's choice, from elsewhere or from inside under a name that is no blank's. Its age
 * still counts. */
static void a_given_blank(void **state)
{
    struct running *running = *state;
    char blank[PATH_MAX + 300];
    struct pellet_text text = {0};
    running_save(running, "a_p1.csv", 2, 0.7, 3);
    running_spectrum(running, 1, 0, 2, &text);
    snprintf(blank, sizeof blank, "%s/chosen.csv", running->around);
    running_write(blank, text.data, text.length);
    char *outside[] = {(char *)PELLETD_PROGRAM, "judge", "--no-write", "--blank", blank,
                       running->folder,         NULL};
    assert_int_equal(running_run(running, outside), 0);
    snprintf(blank, sizeof blank, "%s", running_path(running, "older.dat"));
    running_write(blank, text.data, text.length);
    pellet_text_free(&text);
    char *inside[] = {(char *)PELLETD_PROGRAM, "judge", "--blank", blank, running->folder, NULL};
    assert_int_equal(running_run(running, inside), 0);
    struct pellet_verdict verdict = running_wait_verdict(running, "a_p1.csv");
    assert_string_equal(running_blank_of(&verdict), "older.dat");
    pellet_verdict_clear(&verdict);
    running_verify(running);
    assert_int_equal(run(running, "judge", "--blank", "/nowhere.csv", running->folder), 3);
}

static void verify_finds_a_forgery(void **state)
{
    struct running *running = *state;
    running_save(running, "open-beam.csv", 0, -1, 1);
    running_save(running, "blank.csv", 1, 0, 2);
    running_save(running, "a_p1.csv", 2, 3.0, 3);
    assert_int_equal(run(running, "judge", running->folder, NULL, NULL), 1);
    /* Somebody who can write the folder writes a sound verdict that says another thing. */
    struct pellet_verdict verdict = running_wait_verdict(running, "a_p1.csv");
    struct pellet_text text = {0};
    verdict.outcome = PELLET_PASS;
    assert_int_equal(pellet_verdict_write(&verdict, &text), PELLET_OK);
    running_write(running_path(running, "a_p1.csv.verdict.yaml"), text.data, text.length);
    pellet_text_free(&text);
    pellet_verdict_clear(&verdict);
    assert_int_equal(run(running, "judge", "--verify", running->folder, NULL), 1);
    char *lines = running_lines(running);
    assert_non_null(strstr(lines, "a_p1.csv: verdict: pass, now remake"));
    free(lines);
    /* A blank that was exchanged is found as well. */
    assert_int_equal(run(running, "judge", "--again", running->folder, NULL), 1);
    running_save(running, "blank.csv", 1, 0, 99);
    assert_int_equal(run(running, "judge", "--verify", running->folder, NULL), 1);
    lines = running_lines(running);
    assert_non_null(strstr(lines, "a_p1.csv: against: blank.csv"));
    free(lines);
}

/* Many threads or one: the same verdicts. */
static void threads_change_nothing(void **state)
{
    struct running *running = *state;
    char out[2][PATH_MAX + 40];
    char *jobs[2] = {"1", "4"};
    for (int i = 0; i < 24; i++) {
        char name[32];
        snprintf(name, sizeof name, i % 6 == 0 ? "blank-%02d.csv" : "s%02d_p1.csv", i % 6 ? i / 2 : i);
        running_save(running, name, 5 + i, i % 6 == 0 ? 0 : i % 5 == 0 ? 3.0 : 0.7, (unsigned long)i);
    }
    for (int k = 0; k < 2; k++) {
        snprintf(out[k], sizeof out[k], "%s/out%d", running->around, k);
        char *arguments[] = {(char *)PELLETD_PROGRAM, "judge", "--jobs", jobs[k], "--out", out[k],
                             running->folder,         NULL};
        assert_int_equal(running_run(running, arguments), 1);
    }
    DIR *directory = opendir(out[0]);
    size_t compared = 0;
    for (struct dirent *item = readdir(directory); item; item = readdir(directory)) {
        struct pellet_verdict v[2];
        struct pellet_text differences = {0};
        if (!strstr(item->d_name, ".verdict.yaml"))
            continue;
        for (int k = 0; k < 2; k++) {
            char path[2 * PATH_MAX];
            assert_true(snprintf(path, sizeof path, "%s/%s", out[k], item->d_name) < (int)sizeof path);
            char *text = running_read(path);
            assert_int_equal(pellet_verdict_read(text, strlen(text), &v[k], NULL), PELLET_OK);
            free(text);
        }
        if (pellet_verdict_compare(&v[0], &v[1], &differences) > 0)
            fail_msg("%s: %s", item->d_name, pellet_text_string(&differences));
        pellet_verdict_clear(&v[0]);
        pellet_verdict_clear(&v[1]);
        pellet_text_free(&differences);
        compared++;
    }
    closedir(directory);
    assert_true(compared >= 14);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        running_test(exit_codes),
        running_test(a_limit_on_file_sizes),
        running_test(every_command_helps),
        running_test(a_rule_set_of_ones_own),
        running_test(the_table_is_cut_as_the_help_says),
        running_test(judging_a_folder_and_files),
        running_test(a_given_blank),
        running_test(verify_finds_a_forgery),
        running_test(threads_change_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
