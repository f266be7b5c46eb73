// SPDX-License-Identifier: GPL-3.0-or-later
/* What happens to the folder as a whole: away and back, sub-folders, output elsewhere, two
 * programs, reload. */
#include "daemon/running.h"

static void a_good_one(struct running *running, const char *name, double minute)
{
    running_save(running, name, minute, 0.7, (unsigned long)(minute * 10));
    running_wait_outcome(running, name, PELLET_PASS);
}

/* ---------------------------------------------------------------- away */

static void renamed_and_back(void **state)
{
    struct running *running = *state;
    char aside[PATH_MAX + 20];
    snprintf(aside, sizeof aside, "%s/aside", running->around);
    running_begin(running);
    a_good_one(running, "a_p1.csv", 2);
    assert_int_equal(rename(running->folder, aside), 0);
    running_wait_said(running, "away: ");
    assert_int_equal(rename(aside, running->folder), 0);
    running_wait_said(running, "is back");
    a_good_one(running, "b_p1.csv", 3);
    /* The return is a rescan, not a flood: what was judged was not judged again. */
    char *lines = running_lines(running);
    char *first = strstr(lines, "a_p1.csv");
    assert_non_null(first);
    assert_null(strstr(first + 1, "a_p1.csv"));
    free(lines);
    running_stop(running);
    running_verify(running);
}

/* Another folder under the old name is looked at as what it is. */
static void replaced_by_another(void **state)
{
    struct running *running = *state;
    char aside[PATH_MAX + 20];
    snprintf(aside, sizeof aside, "%s/aside", running->around);
    running_begin(running);
    assert_int_equal(rename(running->folder, aside), 0);
    assert_int_equal(mkdir(running->folder, 0777), 0);
    running_wait_said(running, "is back");
    running_save_first(running);
    a_good_one(running, "a_p1.csv", 2);
    assert_int_equal(running_count_files(aside, "a_p1"), 0);
    running_stop(running);
}

static void deleted_and_made_again(void **state)
{
    struct running *running = *state;
    running_begin(running);
    /* The page at the bench may be written while all is removed. */
    for (int tries = 0; tries < 100 && access(running->folder, F_OK) == 0; tries++)
        running_remove(running->folder);
    running_wait_said(running, "away: ");
    assert_int_equal(mkdir(running->folder, 0777), 0);
    running_wait_said(running, "is back");
    running_save_first(running);
    running_stop(running);
}

static void not_there_at_the_start(void **state)
{
    struct running *running = *state;
    assert_int_equal(rmdir(running->folder), 0);
    running_watch_configured(running, "depth: 0");
    assert_true(running_said(running, "away: "));
    assert_int_equal(mkdir(running->folder, 0777), 0);
    running_wait_said(running, "is back");
    running_save_first(running);
    running_stop(running);
}

/* Nothing is mounted on a scratch folder, so nothing may be written into it. */
static void what_must_be_mounted(void **state)
{
    struct running *running = *state;
    char keys[PATH_MAX + 20];
    snprintf(keys, sizeof keys, "mount: %s", running->folder);
    running_save(running, "blank.csv", 1, 0, 2);
    running_watch_configured(running, keys);
    running_wait_said(running, "nothing is mounted there");
    running_stop(running);
    assert_int_equal(running_count_files(running->folder, ""), 1);
}

/* ---------------------------------------------------------------- other ways of watching */

static void polled(void **state)
{
    struct running *running = *state;
    running_watch_configured(running, "watch: poll");
    running_save_first(running);
    a_good_one(running, "a_p1.csv", 2);
    running_save(running, "a_p1.csv", 3, 3.0, 7);
    running_wait_outcome(running, "a_p1.csv", PELLET_REMAKE);
    running_stop(running);
    running_verify(running);
}

static void sub_folders(void **state)
{
    struct running *running = *state;
    char outside[PATH_MAX + 20];
    running_watch_configured(running, "depth: 2");
    running_save_first(running);
    /* Made while it is watched, written into at once. */
    assert_int_equal(mkdir(running_path(running, "monday"), 0777), 0);
    a_good_one(running, "monday/a_p1.csv", 2);
    assert_true(running_there(running, "monday/a_p1.csv.verdict.yaml"));
    assert_true(running_there(running, "reports/ratioed/monday/a_p1.csv.jdx"));
    /* Moved in together with what is in it. */
    snprintf(outside, sizeof outside, "%s/tuesday", running->around);
    assert_int_equal(mkdir(outside, 0777), 0);
    running_save(running, "../tuesday/b_p1.csv", 3, 0.7, 30);
    assert_int_equal(rename(outside, running_path(running, "tuesday")), 0);
    running_wait_outcome(running, "tuesday/b_p1.csv", PELLET_PASS);
    /* Deeper than it looks. */
    assert_int_equal(mkdir(running_path(running, "monday/x"), 0777), 0);
    assert_int_equal(mkdir(running_path(running, "monday/x/y"), 0777), 0);
    running_save(running, "monday/x/y/c_p1.csv", 4, 0.7, 40);
    a_good_one(running, "monday/x/d_p1.csv", 5);
    assert_false(running_there(running, "monday/x/y/c_p1.csv.verdict.yaml"));
    running_stop(running);
}

static void output_elsewhere(void **state)
{
    struct running *running = *state;
    char keys[PATH_MAX + 20];
    char verdict[PATH_MAX + 60];
    struct stat st;
    snprintf(keys, sizeof keys, "output: %s/out", running->around);
    snprintf(verdict, sizeof verdict, "%s/out/a_p1.csv.verdict.yaml", running->around);
    running_watch_configured(running, keys);
    running_save(running, "open-beam.csv", 0, -1, 1);
    running_save(running, "blank.csv", 1, 0, 2);
    running_save(running, "a_p1.csv", 2, 0.7, 3);
    running_until(stat(verdict, &st) == 0, "no verdict in the output folder");
    /* Deleted there, it is asked for again. */
    running_wait_told(running, "a_p1.csv");
    assert_int_equal(unlink(verdict), 0);
    running_until(stat(verdict, &st) == 0, "no verdict in place of the one that was deleted");
    running_stop(running);
    /* Nothing was written beside the spectra. */
    assert_int_equal(running_count_files(running->folder, ""), 3);
}

/* ---------------------------------------------------------------- two programs, signals */

static void two_programs(void **state)
{
    struct running *running = *state;
    char *arguments[] = {(char *)PELLETD_PROGRAM, "judge", "--again", running->folder, NULL};
    running_begin(running);
    char *before = running_read(running_path(running, "blank.csv.verdict.yaml"));
    /* It prints and does not write. */
    assert_int_equal(running_run(running, arguments), 3);
    char *lines = running_lines(running);
    assert_non_null(strstr(lines, "pass\tblank.csv"));
    free(lines);
    assert_true(running_said(running, "another pelletd writes here"));
    char *after = running_read(running_path(running, "blank.csv.verdict.yaml"));
    assert_string_equal(before, after);
    free(before);
    free(after);
    /* A second service waits its turn and then takes over. */
    char *second[] = {(char *)PELLETD_PROGRAM, "watch", running->folder, NULL};
    pid_t first = running->pid;
    running->pid = running_spawn(running, second);
    running_wait_said(running, "away: another pelletd");
    pid_t waiting = running->pid;
    running->pid = first;
    running_stop(running);
    running->pid = waiting;
    running_wait_said(running, "is back");
    a_good_one(running, "a_p1.csv", 2);
    running_stop(running);
}

static void expect_rules(struct running *running, const char *name, const char *rules)
{
    struct pellet_verdict verdict = running_wait_verdict(running, name);
    assert_string_equal(verdict.rules_name, rules);
    pellet_verdict_clear(&verdict);
}

static void reload(void **state)
{
    struct running *running = *state;
    running_watch_configured(running, "rules: routine");
    running_save_first(running);
    running_save(running, "a_p1.csv", 2, 0.7, 3);
    expect_rules(running, "a_p1.csv", "routine");
    /* A bad configuration is refused, all of it. */
    running_configure(running, "rules: nonsense");
    kill(running->pid, SIGHUP);
    running_wait_said(running, "the old one stays");
    running_save(running, "b_p1.csv", 3, 0.7, 4);
    expect_rules(running, "b_p1.csv", "routine");
    running_configure(running, "rules: teaching");
    kill(running->pid, SIGHUP);
    running_wait_said(running, "configuration reloaded");
    running_save(running, "c_p1.csv", 4, 0.7, 5);
    expect_rules(running, "c_p1.csv", "teaching");
    /* A changed rule set does not silently judge the past again. */
    expect_rules(running, "a_p1.csv", "routine");
    running_stop(running);
}

static void outdated_temporaries_are_swept(void **state)
{
    struct running *running = *state;
    running_save(running, ".pelletd-00000000000000000000000000000000.tmp", 1, 0, 1);
    assert_int_equal(mkdir(running_path(running, "reports"), 0777), 0);
    running_save(running, "reports/.pelletd-11111111111111111111111111111111.tmp", 1, 0, 1);
    running_begin(running);
    assert_int_equal(running_count_files(running->folder, ".pelletd-0"), 0);
    assert_int_equal(running_count_files(running->folder, ".pelletd-1"), 0);
    running_stop(running);
}

/* A row that comes or changes later is a fact that advice can use: the pellet it is for is judged again, the
 * others keep the verdicts that they have. */
static void worksheet(void **state)
{
    struct running *running = *state;
    static const char sheet[] = "sample,pellet,sample_mg,kbr_mg,pressed_mg,die_mm\na,1,3,200,200,13\n";
    static const char other[] =
        "sample,pellet,sample_mg,kbr_mg,pressed_mg,die_mm\na,1,3,200,200,13\nb,1,2,150,150,13\n";
    running_begin(running);
    running_write(running_path(running, "worksheet.csv"), sheet, strlen(sheet));
    running_save(running, "a_p1.csv", 2, 3.0, 3);
    running_save(running, "b_p1.csv", 3, 3.0, 4);
    running_wait_outcome(running, "a_p1.csv", PELLET_REMAKE);
    running_wait_outcome(running, "b_p1.csv", PELLET_REMAKE);
    struct pellet_verdict before = running_wait_verdict(running, "a_p1.csv");
    assert_int_equal(strlen(before.worksheet_sha256), 64);
    struct pellet_verdict verdict = running_wait_verdict(running, "b_p1.csv");
    assert_int_equal(strlen(verdict.worksheet_sha256), 0);
    pellet_verdict_clear(&verdict);
    assert_false(running_there(running, "worksheet.csv.verdict.yaml"));

    running_write(running_path(running, "worksheet.csv"), other, strlen(other));
    for (int tries = 0; tries < 600; tries++) {
        verdict = running_wait_verdict(running, "b_p1.csv");
        const bool again = strlen(verdict.worksheet_sha256) == 64;
        pellet_verdict_clear(&verdict);
        if (again)
            break;
        assert_true(tries < 599);
        usleep(50000);
    }
    verdict = running_wait_verdict(running, "a_p1.csv");
    assert_int_equal(verdict.judged, before.judged);
    pellet_verdict_clear(&before);
    pellet_verdict_clear(&verdict);
    running_stop(running);
}

/* What people wrote while the service was stopped counts when it starts, for the pellets that it is about. */
static void worksheet_changed_while_stopped(void **state)
{
    struct running *running = *state;
    static const char head[] = "sample,pellet,sample_mg,kbr_mg,pressed_mg,die_mm\n";
    char sheet[200];
    running_begin(running);
    snprintf(sheet, sizeof sheet, "%sa,1,3,200,200,13\nb,1,2,150,150,13\n", head);
    running_write(running_path(running, "worksheet.csv"), sheet, strlen(sheet));
    running_save(running, "a_p1.csv", 2, 3.0, 3);
    running_save(running, "b_p1.csv", 3, 3.0, 4);
    running_wait_outcome(running, "b_p1.csv", PELLET_REMAKE);
    running_save(running, "b_p2.csv", 4, 2.5, 5);
    running_wait_outcome(running, "a_p1.csv", PELLET_REMAKE);
    running_wait_outcome(running, "b_p2.csv", PELLET_REMAKE);
    struct pellet_verdict a = running_wait_verdict(running, "a_p1.csv");
    struct pellet_verdict b = running_wait_verdict(running, "b_p1.csv");
    struct pellet_verdict second = running_wait_verdict(running, "b_p2.csv");
    running_stop(running);

    snprintf(sheet, sizeof sheet, "%sa,1,3,200,200,13\nb,1,2,180,150,13\n", head);
    running_write(running_path(running, "worksheet.csv"), sheet, strlen(sheet));
    running_watch(running);
    const struct {
        const char *name;
        const struct pellet_verdict *before;
    } concerned[] = {{"b_p1.csv", &b}, {"b_p2.csv", &second}};
    for (size_t i = 0; i < sizeof concerned / sizeof concerned[0]; i++) {
        bool again = false;
        for (int tries = 0; !again; tries++) {
            struct pellet_verdict now = running_wait_verdict(running, concerned[i].name);
            again = strcmp(now.worksheet_sha256, concerned[i].before->worksheet_sha256) != 0;
            pellet_verdict_clear(&now);
            assert_true(tries < 600);
            usleep(again ? 0 : 50000);
        }
    }
    running_save(running, "c_p1.csv", 5, 0.7, 6);
    running_wait_outcome(running, "c_p1.csv", PELLET_PASS);
    struct pellet_verdict now = running_wait_verdict(running, "a_p1.csv");
    assert_int_equal(now.judged, a.judged);
    pellet_verdict_clear(&now);
    pellet_verdict_clear(&a);
    pellet_verdict_clear(&b);
    pellet_verdict_clear(&second);
    running_stop(running);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        running_test(renamed_and_back),
        running_test(replaced_by_another),
        running_test(deleted_and_made_again),
        running_test(not_there_at_the_start),
        running_test(what_must_be_mounted),
        running_test(polled),
        running_test(sub_folders),
        running_test(output_elsewhere),
        running_test(two_programs),
        running_test(reload),
        running_test(outdated_temporaries_are_swept),
        running_test(worksheet),
        running_test(worksheet_changed_while_stopped),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
