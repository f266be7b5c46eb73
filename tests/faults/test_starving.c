// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Whoever goes on writing to the export folder for ever does not keep the verdicts of others back for ever,
 * neither in the same station nor in another. Each test lets somebody loose on a station, who never stops,
 * and waits for the verdict of a spectrum that comes meanwhile.
 */
#include "daemon/running.h"

#define SERVICE 65534

static volatile const char *const never_ends = "";

/* Let somebody loose; ended with the test. */
static void let_loose(struct running *running, void (*turn)(struct running *running, unsigned long n))
{
    fflush(stdout);
    running->helper = fork();
    assert_true(running->helper >= 0);
    if (running->helper > 0)
        return;
    signal(SIGTERM, SIG_DFL);
    for (unsigned long n = 0; never_ends; n++)
        turn(running, n);
}

static void call_off(struct running *running)
{
    assert_int_equal(kill(running->helper, SIGKILL), 0);
    waitpid(running->helper, NULL, 0);
    running->helper = 0;
}

static void watch_with_one_thread(struct running *running)
{
    char *jobs[] = {"--jobs", "1", NULL};
    running_watch_with(running, jobs);
}

static void touch(const struct running *running, const char *name)
{
    const int file = open(running_path(running, name), O_WRONLY | O_CREAT | O_CLOEXEC, 0666);
    if (file >= 0)
        close(file);
}

/* A pellet that comes in the midst of it is judged, and the program ends when it is told to. */
static void expect_a_verdict(struct running *running)
{
    running_sleep(2000);
    running_save(running, "victim_p1.csv", 40, 0.7, 77);
    running_wait_outcome(running, "victim_p1.csv", PELLET_PASS);
    const pid_t helper = running->helper;
    running->helper = 0; /* goes on while it stops */
    running_stop(running);
    running->helper = helper;
    call_off(running);
}

/* ---------------------------------------------------------------- reading goes before judging */

#define LARGE_FILES 12
#define LARGE_BYTES ((off_t)60 << 20)

static void large_name(unsigned long n, char name[32])
{
    snprintf(name, 32, "large%02lu_p1.csv", n % LARGE_FILES);
}

/* Each is closed about once a second, so that it settles and is read again. */
static void close_large_files(struct running *running, unsigned long n)
{
    char name[32];
    large_name(n, name);
    touch(running, name);
    running_sleep(1000 / LARGE_FILES);
}

static void large_files_are_read_all_the_time(void **state)
{
    struct running *running = *state;
    char name[32];
    for (unsigned long n = 0; n < LARGE_FILES; n++) {
        large_name(n, name);
        touch(running, name);
        assert_int_equal(truncate(running_path(running, name), LARGE_BYTES), 0);
    }
    watch_with_one_thread(running);
    let_loose(running, close_large_files);
    running_save_first(running);
    expect_a_verdict(running);
}

/* ---------------------------------------------------------------- the earlier goes first */

/* Always something that is measured earlier, and always something that has not settled. */
static void save_ever_older(struct running *running, unsigned long n)
{
    char name[32];
    running_write(running_path(running, "busy_p1.csv"), "x", 1);
    running_sleep(100);
    if (n % 12 != 0)
        return;
    snprintf(name, sizeof name, "older%04lu_p1.csv", n / 12);
    running_save(running, name, 39 - 0.1 * (double)(n / 12), 0.7, n + 10);
}

static void ever_older_spectra_come(void **state)
{
    struct running *running = *state;
    watch_with_one_thread(running);
    running_save_first(running);
    let_loose(running, save_ever_older);
    expect_a_verdict(running);
}

/* ---------------------------------------------------------------- another worksheet all the time */

#define ROWS 16

static void write_rows(const struct running *running, unsigned long n)
{
    struct pellet_text text = {0};
    pellet_text_adds(&text, "sample,pellet,sample_mg,kbr_mg\n");
    for (int i = 0; i < ROWS; i++)
        pellet_text_addf(&text, "s%02d,1,%lu.%lu,200\n", i, 1 + n % 3, n % 10);
    running_write(running_path(running, "worksheet.csv"), text.data, text.length);
    pellet_text_free(&text);
}

static void save_pellets(struct running *running)
{
    for (int i = 0; i < ROWS; i++) {
        char name[32];
        snprintf(name, sizeof name, "s%02d_p1.csv", i);
        running_save(running, name, 20 + i, 0.7, 10 + (unsigned long)i);
    }
    running_wait_outcome(running, "s15_p1.csv", PELLET_PASS);
}

static void change_rows(struct running *running, unsigned long n)
{
    write_rows(running, n);
    running_sleep(300);
}

static void the_worksheet_never_rests(void **state)
{
    struct running *running = *state;
    write_rows(running, 0);
    watch_with_one_thread(running);
    running_save_first(running);
    save_pellets(running);
    let_loose(running, change_rows);
    expect_a_verdict(running);
}

/* ---------------------------------------------------------------- more events than can be taken */

static void rename_to_and_fro(struct running *running, unsigned long n)
{
    char from[2 * PATH_MAX];
    char to[2 * PATH_MAX];
    (void)n;
    for (int i = 0; i < 500; i++) {
        snprintf(from, sizeof from, "%s/r%03d_p1.csv", running->folder, i);
        snprintf(to, sizeof to, "%s/t%03d_p1.csv", running->folder, i);
        if (rename(from, to) != 0)
            running_write(to, "x", 1);
        (void)rename(to, from);
    }
}

static void events_come_faster_than_they_are_taken(void **state)
{
    struct running *running = *state;
    watch_with_one_thread(running);
    running_save_first(running);
    let_loose(running, rename_to_and_fro);
    expect_a_verdict(running);
}

/* ---------------------------------------------------------------- a blank that never rests */

/* Often enough that it is mostly another one than that which was read, and now and then settled. */
static void save_the_blank_again(struct running *running, unsigned long n)
{
    running_save(running, "blank.csv", 1 + 0.01 * (double)n, 0, 100 + n);
    running_sleep(n % 4 ? 200 : 900);
}

static void the_blank_never_rests(void **state)
{
    struct running *running = *state;
    watch_with_one_thread(running);
    running_save_first(running);
    save_pellets(running);
    let_loose(running, save_the_blank_again);
    expect_a_verdict(running);
}

/* ---------------------------------------------------------------- never a moment's rest */

/* More spectra than one thread can judge. */
static void save_without_end(struct running *running, unsigned long n)
{
    char name[32];
    snprintf(name, sizeof name, "flood%05lu_p1.csv", n);
    running_save(running, name, 2 + 0.001 * (double)n, 0.7, n % 50 + 10);
}

/* A record counts the pellets of its session so far. */
static void the_record_is_written_all_the_same(void **state)
{
    struct running *running = *state;
    watch_with_one_thread(running);
    let_loose(running, save_without_end);
    running_save(running, "open-beam.csv", 0, -1, 1);
    running_save(running, "blank.csv", 1, 0, 2);
    running_wait_outcome(running, "blank.csv", PELLET_PASS);
    running_until(running_count_files(running_path(running, "reports"), "2026-03-04") > 0,
                  "no record was written");
    assert_int_equal(waitpid(running->helper, NULL, WNOHANG), 0);
    call_off(running);
    running_stop(running);
}

/* ---------------------------------------------------------------- doubts */

/* Sub-folders and files that can be looked at now and then. */
static void take_rights_away_and_back(struct running *running, unsigned long n)
{
    chmod(running_path(running, "day"), n % 2 ? 0 : 0777);
    chmod(running_path(running, "dark_p1.csv"), n % 2 ? 0 : 0666);
    (void)rename(running_path(running, "day/in_p1.csv"), running_path(running, "day/out_p1.csv"));
    (void)rename(running_path(running, "day/out_p1.csv"), running_path(running, "day/in_p1.csv"));
    (void)rename(running_path(running, "dark_p1.csv"), running_path(running, "murk_p1.csv"));
    (void)rename(running_path(running, "murk_p1.csv"), running_path(running, "dark_p1.csv"));
    running_sleep(100);
}

static void rights_come_and_go(void **state)
{
    struct running *running = *state;
    if (geteuid() != 0) {
        printf("skipped: only root can run it as another user\n");
        skip();
    }
    running->user = SERVICE;
    assert_int_equal(chmod(running->around, 0777), 0);
    assert_int_equal(chmod(running->folder, 0777), 0);
    assert_int_equal(mkdir(running_path(running, "day"), 0777), 0);
    running_watch_configured(running, "depth: 1");
    running_save_first(running);
    running_save(running, "day/in_p1.csv", 5, 0.7, 5);
    running_save(running, "dark_p1.csv", 6, 0.7, 6);
    let_loose(running, take_rights_away_and_back);
    expect_a_verdict(running);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        running_test(large_files_are_read_all_the_time),
        running_test(ever_older_spectra_come),
        running_test(the_worksheet_never_rests),
        running_test(events_come_faster_than_they_are_taken),
        running_test(the_blank_never_rests),
        running_test(the_record_is_written_all_the_same),
        running_test(rights_come_and_go),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
