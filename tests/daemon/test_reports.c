// SPDX-License-Identifier: GPL-3.0-or-later
/* The record of a session and the page at the bench, as the real program keeps them in the folder. */
#include "daemon/running.h"

#include "pellet/wording_pages.h"

/* The session of everything in these tests, and where its files are. */
#define SESSION "2026-03-04T0900-bench"
#define RECORD  "reports/" SESSION ".html"
#define TABLE   "reports/" SESSION ".csv"
#define BENCH   "reports/bench.html"
#define STOPPED "pelletd was stopped"

static bool holds(const struct running *running, const char *file, const char *what)
{
    char *text = running_read(running_path(running, file));
    const bool found = text && strstr(text, what);
    free(text);
    return found;
}

#define wait_holds(running, file, what)                                                                      \
    running_until(holds(running, file, what), "%s never said %s", file, what)
#define assert_holds(running, file, what) assert_true(holds(running, file, what))

static void save_session(struct running *running)
{
    running_save(running, "open-beam.csv", 0, -1, 1);
    running_save(running, "blank.csv", 1, 0, 2);
    running_save(running, "sugar_p1.csv", 3, 1.0, 3);
    running_save(running, "sugar_p2.csv", 9, 0.35, 4);
}

static int run(struct running *running, const char *command, const char *option)
{
    char *arguments[] = {(char *)PELLETD_PROGRAM, (char *)command, running->folder, (char *)option, NULL};
    return running_run(running, arguments);
}

static void judge_session(struct running *running)
{
    save_session(running);
    assert_int_not_equal(run(running, "judge", NULL), 3);
}

/* ---------------------------------------------------------------- watch */

static void test_bench_follows_each_verdict(void **state)
{
    struct running *running = *state;
    running_watch(running);
    wait_holds(running, BENCH, SAYS_NOTHING_YET);
    running_save(running, "open-beam.csv", 0, -1, 1);
    running_save(running, "blank.csv", 1, 0, 2);
    wait_holds(running, BENCH, "blank.csv");
    running_save(running, "sugar_p1.csv", 3, 1.0, 3);
    wait_holds(running, BENCH, "sugar");
    assert_false(holds(running, BENCH, STOPPED));
    running_stop(running);
    assert_holds(running, BENCH, STOPPED);
}

static void test_record_is_there_when_the_program_ends(void **state)
{
    struct running *running = *state;
    running_begin(running);
    running_save(running, "sugar_p1.csv", 3, 0.35, 3);
    running_wait_outcome(running, "sugar_p1.csv", PELLET_PASS);
    running_stop(running);
    assert_holds(running, RECORD, "sugar");
    assert_holds(running, RECORD, "blank.csv");
    assert_holds(running, RECORD, SAYS_RUNNING);
    assert_holds(running, RECORD, "<svg class=\"f\" ");
    assert_holds(running, TABLE, "sugar_p1.csv");
}

/* Killed before the record could be written, or while it was: the next start makes it good. */
static void test_next_start_makes_records_good(void **state)
{
    struct running *running = *state;
    running_begin(running);
    running_end(running, SIGKILL);
    assert_int_equal(unlink(running_path(running, RECORD)) == 0 || errno == ENOENT, 1);
    running_watch(running);
    wait_holds(running, RECORD, "blank.csv");
    running_end(running, SIGKILL);

    running_write(running_path(running, RECORD), "half a rec", 10);
    assert_int_equal(unlink(running_path(running, TABLE)), 0);
    running_watch(running);
    wait_holds(running, RECORD, "blank.csv");
    assert_holds(running, TABLE, "blank.csv");
    running_stop(running);
}

static void test_page_and_records_of_another_program_are_replaced_not_followed(void **state)
{
    struct running *running = *state;
    char outside[PATH_MAX + 20];
    snprintf(outside, sizeof outside, "%s/outside", running->around);
    running_write(outside, "mine", 4);
    assert_int_equal(mkdir(running_path(running, "reports"), 0777), 0);
    assert_int_equal(symlink(outside, running_path(running, BENCH)), 0);
    assert_int_equal(symlink(outside, running_path(running, RECORD)), 0);
    running_begin(running);
    wait_holds(running, BENCH, "blank.csv");
    running_stop(running);
    assert_holds(running, RECORD, "blank.csv");
    char *text = running_read(outside);
    assert_string_equal(text, "mine");
    free(text);
}

/* ---------------------------------------------------------------- judge and report */

static void test_judge_writes_a_closed_record(void **state)
{
    struct running *running = *state;
    judge_session(running);
    assert_holds(running, RECORD, SAYS_CLOSED);
    assert_holds(running, RECORD, "sugar");
    assert_holds(running, TABLE, "sugar_p2.csv");
    assert_false(running_there(running, BENCH));
}

static void test_nothing_is_written_where_nothing_may_be(void **state)
{
    struct running *running = *state;
    char elsewhere[PATH_MAX + 20];
    char *arguments[] = {(char *)PELLETD_PROGRAM, "judge", "--out", elsewhere, running->folder, NULL};
    snprintf(elsewhere, sizeof elsewhere, "%s/elsewhere", running->around);
    save_session(running);
    assert_int_not_equal(run(running, "judge", "--no-write"), 3);
    assert_false(running_there(running, "reports"));
    assert_int_not_equal(running_run(running, arguments), 3);
    assert_false(running_there(running, "reports"));
    assert_int_equal(running_count_files(elsewhere, SESSION ".html"), 1);
    assert_int_equal(running_count_files(elsewhere, SESSION ".csv"), 1);
}

static void test_the_same_again_leaves_a_closed_record_alone(void **state)
{
    struct running *running = *state;
    struct stat before;
    struct stat after;
    judge_session(running);
    assert_int_equal(stat(running_path(running, RECORD), &before), 0);
    assert_int_equal(run(running, "report", NULL), 0);
    assert_int_not_equal(run(running, "judge", NULL), 3);
    assert_int_equal(stat(running_path(running, RECORD), &after), 0);
    assert_int_equal(before.st_ino, after.st_ino);
    /* Only the table is gone: it comes back, and the revision stays. */
    assert_int_equal(unlink(running_path(running, TABLE)), 0);
    assert_int_equal(run(running, "report", NULL), 0);
    assert_holds(running, TABLE, "sugar_p2.csv");
    assert_holds(running, RECORD, "revision 1 closed");
}

static void assert_revision(struct running *running, const char *before, const char *sign)
{
    char *kept = running_read(running_path(running, "reports/revision-1/" SESSION ".html"));
    assert_non_null(kept);
    assert_string_equal(kept, before);
    free(kept);
    assert_true(running_there(running, "reports/revision-1/" SESSION ".csv"));
    assert_holds(running, RECORD, "Revision 2");
    assert_holds(running, RECORD, sign);
}

static void test_a_spectrum_taken_away_makes_a_revision(void **state)
{
    struct running *running = *state;
    judge_session(running);
    char *before = running_read(running_path(running, RECORD));
    assert_false(strstr(before, SAYS_GONE) != NULL);
    assert_int_equal(unlink(running_path(running, "sugar_p1.csv")), 0);
    assert_int_equal(run(running, "report", NULL), 0);
    assert_revision(running, before, SAYS_GONE);
    free(before);
}

static void make_old(struct running *running, const char *name)
{
    const struct timespec times[2] = {{.tv_sec = RUNNING_START / PELLET_NS_PER_S},
                                      {.tv_sec = RUNNING_START / PELLET_NS_PER_S}};
    assert_int_equal(utimensat(AT_FDCWD, running_path(running, name), times, 0), 0);
}

/* Two that go one after the other while the program runs make one revision of their closed session. */
static void test_spectra_taken_away_are_noticed(void **state)
{
    static const char *const names[] = {"open-beam.csv", "blank.csv", "sugar_p1.csv", "sugar_p2.csv"};
    struct running *running = *state;
    save_session(running);
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        make_old(running, names[i]);
    assert_int_not_equal(run(running, "judge", NULL), 3);
    char *before = running_read(running_path(running, RECORD));
    running_watch(running);
    wait_holds(running, BENCH, "The session is closed");
    assert_int_equal(unlink(running_path(running, "sugar_p1.csv")), 0);
    running_sleep(2000);
    assert_int_equal(unlink(running_path(running, "sugar_p2.csv")), 0);
    wait_holds(running, RECORD, SAYS_GONE);
    assert_revision(running, before, SAYS_GONE);
    char *after = running_read(running_path(running, RECORD));
    const char *const first = strstr(after, SAYS_GONE);
    assert_non_null(strstr(first + 1, SAYS_GONE));
    running_stop(running);
    free(before);
    free(after);
}

static void test_a_session_moved_to_an_archive_keeps_its_record(void **state)
{
    static const char *const names[] = {"open-beam.csv", "blank.csv", "sugar_p1.csv", "sugar_p2.csv"};
    struct running *running = *state;
    judge_session(running);
    char *before = running_read(running_path(running, RECORD));
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        assert_int_equal(unlink(running_path(running, names[i])), 0);
    assert_int_equal(run(running, "report", NULL), 0);
    char *after = running_read(running_path(running, RECORD));
    assert_string_equal(before, after);
    /* But one that was lost with them is made again from the verdicts. */
    assert_int_equal(unlink(running_path(running, RECORD)), 0);
    assert_int_equal(run(running, "report", NULL), 0);
    assert_holds(running, RECORD, "sugar");
    free(before);
    free(after);
}

static void test_a_decision_makes_a_revision(void **state)
{
    static const char worksheet[] = "sample,pellet,operator,decision,decided_by,decision_reason\n"
                                    "sugar,1,M. Bench,accepted,L. Head,enough for the library\n";
    struct running *running = *state;
    judge_session(running);
    char *before = running_read(running_path(running, RECORD));
    running_write(running_path(running, "worksheet.csv"), worksheet, sizeof worksheet - 1);
    assert_int_equal(run(running, "report", NULL), 0);
    assert_revision(running, before, "enough for the library");
    free(before);
}

static void test_report_beside_a_running_watch_is_refused(void **state)
{
    struct running *running = *state;
    running_begin(running);
    assert_int_equal(run(running, "report", NULL), 3);
    assert_true(running_said(running, "keeps the records"));
    running_stop(running);
}

static void test_report_of_an_empty_folder_says_what_to_do(void **state)
{
    struct running *running = *state;
    assert_int_equal(run(running, "report", NULL), 0);
    assert_true(running_said(running, "pelletd judge"));
    assert_false(running_there(running, "reports"));
}

/* Whoever may write the folder may forge a verdict: its session's name does not become a path. */
static void test_a_forged_session_leads_nowhere(void **state)
{
    static const char *const forged[] = {"../../evil",   "/tmp/evil", "bench",  ".hidden",
                                         "2026/../evil", "2026\nx",   "<b>2026"};
    struct running *running = *state;
    judge_session(running);
    struct pellet_verdict verdict = running_wait_verdict(running, "sugar_p1.csv");
    for (size_t i = 0; i < sizeof forged / sizeof forged[0]; i++) {
        struct pellet_text text = {0};
        verdict.session = forged[i];
        assert_int_equal(pellet_verdict_write(&verdict, &text), PELLET_OK);
        running_write(running_path(running, "sugar_p1.csv.verdict.yaml"), text.data, text.length);
        pellet_text_free(&text);
        assert_int_equal(run(running, "report", NULL), 0);
        assert_int_equal(running_count_files(running->around, "evil"), 0);
        assert_int_equal(running_count_files(running->around, ".hidden"), 0);
        assert_false(running_there(running, BENCH));
    }
    pellet_verdict_clear(&verdict);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        running_test(test_bench_follows_each_verdict),
        running_test(test_record_is_there_when_the_program_ends),
        running_test(test_next_start_makes_records_good),
        running_test(test_page_and_records_of_another_program_are_replaced_not_followed),
        running_test(test_judge_writes_a_closed_record),
        running_test(test_nothing_is_written_where_nothing_may_be),
        running_test(test_the_same_again_leaves_a_closed_record_alone),
        running_test(test_a_spectrum_taken_away_makes_a_revision),
        running_test(test_spectra_taken_away_are_noticed),
        running_test(test_a_session_moved_to_an_archive_keeps_its_record),
        running_test(test_a_decision_makes_a_revision),
        running_test(test_report_beside_a_running_watch_is_refused),
        running_test(test_report_of_an_empty_folder_says_what_to_do),
        running_test(test_a_forged_session_leads_nowhere),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
