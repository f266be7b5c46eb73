// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * What else somebody may do who can write to the export folder: other things under our own names, verdicts
 * exchanged after they were given, links to files outside, spectra that change under our hands. Each gets a
 * verdict or a message, and whatever is cleared away is caught up with.
 */
#include "daemon/running.h"

#include <pthread.h>
#include <stdatomic.h>
#include <sys/resource.h>
#include <sys/wait.h>

#define SPARSE_BYTES ((off_t)1 << 30)

static void outside_path(const struct running *running, const char *name, char path[PATH_MAX + 40])
{
    snprintf(path, PATH_MAX + 40, "%s/%s", running->around, name);
}

static void expect_content(const char *path, const char *expected)
{
    char *text = running_read(path);
    assert_non_null(text);
    assert_string_equal(text, expected);
    free(text);
}

/* ---------------------------------------------------------------- under our own names */

/* `reports` is a file, or leads away: nothing is written there, and verdicts come when it is gone. */
static void reports_is_something_else(struct running *running, const char *outside)
{
    if (outside)
        assert_int_equal(symlink(outside, running_path(running, "reports")), 0);
    else
        running_write(running_path(running, "reports"), "mine\n", 5);
    running_watch(running);
    running_save(running, "open-beam.csv", 0, -1, 1);
    running_save(running, "blank.csv", 1, 0, 2);
    running_save(running, "fine_p1.csv", 2, 0.7, 3);
    running_wait_said(running, "is no folder");
    running_sleep(1500);
    if (outside)
        assert_int_equal(running_count_files(outside, ""), 0);
    else
        expect_content(running_path(running, "reports"), "mine\n");
    assert_int_equal(unlink(running_path(running, "reports")), 0);
    running_wait_outcome(running, "blank.csv", PELLET_PASS);
    running_wait_outcome(running, "fine_p1.csv", PELLET_PASS);
    running_until(running_there(running, "reports/pictures/fine_p1.csv.svg"), "no picture");
    running_stop(running);
    running_verify(running);
}

static void reports_is_a_file(void **state)
{
    reports_is_something_else(*state, NULL);
}

static void reports_is_a_link(void **state)
{
    char outside[PATH_MAX + 40];
    outside_path(*state, "outside", outside);
    assert_int_equal(mkdir(outside, 0777), 0);
    reports_is_something_else(*state, outside);
    assert_int_equal(running_count_files(outside, ""), 0);
}

/* Somebody else holds the lock: that is said, and the station is back when it is let go. */
static void the_lock_is_held(void **state)
{
    struct running *running = *state;
    const int lock = open(running_path(running, ".pelletd.lock"), O_RDWR | O_CREAT | O_CLOEXEC, 0666);
    struct flock whole = {.l_type = F_WRLCK, .l_whence = SEEK_SET};
    assert_true(lock >= 0);
    assert_int_equal(fcntl(lock, F_OFD_SETLK, &whole), 0);
    running_watch(running);
    running_wait_said(running, "another pelletd writes here");
    running_save(running, "open-beam.csv", 0, -1, 1);
    running_save(running, "blank.csv", 1, 0, 2);
    close(lock);
    running_wait_said(running, "is back");
    running_wait_outcome(running, "blank.csv", PELLET_PASS);
    running_stop(running);
}

static void the_lock_leads_away(void **state)
{
    struct running *running = *state;
    char outside[PATH_MAX + 40];
    outside_path(running, "outside", outside);
    running_write(outside, "mine\n", 5);
    assert_int_equal(symlink(outside, running_path(running, ".pelletd.lock")), 0);
    running_watch(running);
    running_wait_said(running, "away: cannot open \".pelletd.lock\"");
    expect_content(outside, "mine\n");
    assert_int_equal(unlink(running_path(running, ".pelletd.lock")), 0);
    running_wait_said(running, "is back");
    running_stop(running);
}

/* With and without sub-folders. */
static void a_folder_named_like_a_spectrum(void **state)
{
    static const char *const depths[] = {"depth: 0", "depth: 1"};
    struct running *running = *state;
    assert_int_equal(mkdir(running_path(running, "folder_p1.csv"), 0777), 0);
    for (size_t i = 0; i < 2; i++) {
        running_watch_configured(running, depths[i]);
        running_save_first(running);
        running_save(running, "fine_p1.csv", 2, 0.7, 3 + i);
        running_wait_outcome(running, "fine_p1.csv", PELLET_PASS);
        running_stop(running);
    }
    assert_false(running_there(running, "folder_p1.csv.verdict.yaml/"));
    assert_int_equal(running_count_files(running_path(running, "folder_p1.csv"), ""), 0);
}

/* ---------------------------------------------------------------- verdicts exchanged */

/* Aliases that would grow to 10^9 nodes. */
static const char laughs[] = "format: 1\na: &a [x,x,x,x,x,x,x,x,x,x]\nb: &b [*a,*a,*a,*a,*a,*a,*a,*a,*a,*a]\n"
                             "c: &c [*b,*b,*b,*b,*b,*b,*b,*b,*b,*b]\nd: &d [*c,*c,*c,*c,*c,*c,*c,*c,*c,*c]\n"
                             "e: &e [*d,*d,*d,*d,*d,*d,*d,*d,*d,*d]\nf: &f [*e,*e,*e,*e,*e,*e,*e,*e,*e,*e]\n"
                             "g: &g [*f,*f,*f,*f,*f,*f,*f,*f,*f,*f]\nh: &h [*g,*g,*g,*g,*g,*g,*g,*g,*g,*g]\n"
                             "stations: [*h,*h,*h,*h,*h,*h,*h,*h,*h,*h]\n...\n";

static void exchange_verdicts(const struct running *running, const char *outside)
{
    static const char *const files[] = {"a_p1", "b_p1", "c_p1", "d_p1", "e_p1"};
    for (size_t i = 0; i < sizeof files / sizeof files[0]; i++) {
        char name[40];
        snprintf(name, sizeof name, "%s.csv.verdict.yaml", files[i]);
        assert_int_equal(unlink(running_path(running, name)), 0);
    }
    assert_int_equal(symlink("/etc/passwd", running_path(running, "a_p1.csv.verdict.yaml")), 0);
    assert_int_equal(mkfifo(running_path(running, "b_p1.csv.verdict.yaml"), 0666), 0);
    running_write(running_path(running, "c_p1.csv.verdict.yaml"), "", 0);
    assert_int_equal(truncate(running_path(running, "c_p1.csv.verdict.yaml"), SPARSE_BYTES), 0);
    running_write(running_path(running, "d_p1.csv.verdict.yaml"), laughs, sizeof laughs - 1);
    assert_int_equal(link(outside, running_path(running, "e_p1.csv.verdict.yaml")), 0);
}

/* Highest resident memory of all children so far, MiB. */
static long children_peak_mib(void)
{
    struct rusage usage;
    getrusage(RUSAGE_CHILDREN, &usage);
    return usage.ru_maxrss / 1024;
}

/* The planted thing has been replaced; before that, opening it could hang ourselves. */
static bool is_plain_again(const struct running *running, const char *name)
{
    char verdict[60];
    struct stat st;
    snprintf(verdict, sizeof verdict, "%s.verdict.yaml", name);
    return lstat(running_path(running, verdict), &st) == 0 && S_ISREG(st.st_mode) && st.st_nlink == 1 &&
           st.st_size < SPARSE_BYTES;
}

static void verdicts_exchanged_after_they_were_given(void **state)
{
    struct running *running = *state;
    char outside[PATH_MAX + 40];
    char *report[] = {(char *)PELLETD_PROGRAM, "report", running->folder, NULL};
    outside_path(running, "outside", outside);
    running_write(outside, "mine\n", 5);
    running_begin(running);
    for (int i = 0; i < 5; i++) {
        char name[] = "a_p1.csv";
        name[0] = (char)('a' + i);
        running_save(running, name, 2 + 0.1 * i, 0.7, 3 + (unsigned long)i);
        running_wait_outcome(running, name, PELLET_PASS);
    }
    running_stop(running);
    exchange_verdicts(running, outside);
    (void)running_run(running, report);
    running_watch(running);
    for (int i = 0; i < 5; i++) {
        char name[] = "a_p1.csv";
        name[0] = (char)('a' + i);
        running_until(is_plain_again(running, name), "%s is left with what was planted", name);
        running_wait_outcome(running, name, PELLET_PASS);
    }
    running_stop(running);
    expect_content(outside, "mine\n");
    assert_false(running_said(running, "root:"));
    /* Nobody reads a verdict of a gigabyte; sanitizers and valgrind have a peak of their own. */
    if (testing_patience() == 1)
        assert_true(children_peak_mib() < 500);
    running_verify(running);
}

/* Rules and configurations of that kind are refused, not expanded. */
static void aliases_are_refused(void **state)
{
    struct running *running = *state;
    char path[PATH_MAX + 40];
    char *rules[] = {(char *)PELLETD_PROGRAM, "rules", path, NULL};
    char *check[] = {(char *)PELLETD_PROGRAM, "check", "--config", path, NULL};
    outside_path(running, "laughs.yaml", path);
    running_write(path, laughs, sizeof laughs - 1);
    assert_int_equal(running_run(running, rules), 2);
    assert_int_equal(running_run(running, check), 2);
    assert_true(running_said(running, "line 2"));
}

/* ---------------------------------------------------------------- spectra that are not what they were */

/* A hard link is a regular file: it is judged, and what it leads to is never written. */
static void a_hard_link_to_a_file_outside(void **state)
{
    struct running *running = *state;
    char outside[PATH_MAX + 40];
    struct pellet_text text = {0};
    outside_path(running, "outside", outside);
    running_spectrum(running, 2, 0.7, 3, &text);
    running_write(outside, text.data, text.length);
    running_begin(running);
    assert_int_equal(link(outside, running_path(running, "fine_p1.csv")), 0);
    running_wait_outcome(running, "fine_p1.csv", PELLET_PASS);
    running_stop(running);
    expect_content(outside, text.data);
    pellet_text_free(&text);
}

struct renamer {
    const char *to, *from[2];
    atomic_bool stop;
};

/* Each time another file with another content, the name never free. */
static void *rename_over(void *argument)
{
    struct renamer *renamer = argument;
    for (unsigned i = 0; !atomic_load(&renamer->stop); i++) {
        (void)unlink(renamer->to);
        (void)link(renamer->from[i % 2], renamer->to);
        running_sleep(1);
    }
    return NULL;
}

static void a_spectrum_renamed_over_while_it_is_read(void **state)
{
    struct running *running = *state;
    char good[PATH_MAX + 40];
    char bad[PATH_MAX + 40];
    char to[PATH_MAX + 40];
    struct renamer renamer = {.to = to, .from = {good, bad}};
    char *verify[] = {(char *)PELLETD_PROGRAM, "judge", "--verify", to, NULL};
    struct pellet_text text = {0};
    pthread_t thread;
    outside_path(running, "good", good);
    outside_path(running, "bad", bad);
    snprintf(to, sizeof to, "%s/swapped_p1.csv", running->folder);
    running_spectrum(running, 2, 0.7, 3, &text);
    running_write(good, text.data, text.length);
    pellet_text_free(&text);
    running_spectrum(running, 2, 4.0, 4, &text);
    running_write(bad, text.data, text.length);
    pellet_text_free(&text);
    running_watch_configured(running, "watch: poll\n    settle: 0.1 s");
    running_save_first(running);
    assert_int_equal(pthread_create(&thread, NULL, rename_over, &renamer), 0);
    running_save(running, "fine_p1.csv", 3, 0.7, 5);
    running_wait_outcome(running, "fine_p1.csv", PELLET_PASS);
    running_sleep(4000);
    atomic_store(&renamer.stop, true);
    pthread_join(thread, NULL);
    struct pellet_verdict verdict = running_wait_verdict(running, "swapped_p1.csv");
    pellet_verdict_clear(&verdict);
    running_stop(running);
    /* Its verdict is that of its content. Others may rest on a content that it had before. */
    assert_int_equal(running_run(running, verify), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        running_test(reports_is_a_file),
        running_test(reports_is_a_link),
        running_test(the_lock_is_held),
        running_test(the_lock_leads_away),
        running_test(a_folder_named_like_a_spectrum),
        running_test(verdicts_exchanged_after_they_were_given),
        running_test(aliases_are_refused),
        running_test(a_hard_link_to_a_file_outside),
        running_test(a_spectrum_renamed_over_while_it_is_read),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
