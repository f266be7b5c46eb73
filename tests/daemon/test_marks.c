// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * What comes after a verdict and does not change it: a spectrum that turns up late, one that is taken away, a
 * blank that is taken away or saved anew. Verdicts stay, and the record marks them (design, section 3).
 */
#include "daemon/running.h"

#include <glob.h>

static void write_records(struct running *running)
{
    char *arguments[] = {(char *)PELLETD_PROGRAM, "report", running->folder, NULL};
    (void)running_run(running, arguments);
}

/* How often the session's newest record says this. */
static size_t count_in_record(const struct running *running, const char *what)
{
    glob_t found = {0};
    size_t n = 0;
    char pattern[PATH_MAX + 40];
    snprintf(pattern, sizeof pattern, "%s/reports/2026-*-bench.html", running->folder);
    assert_int_equal(glob(pattern, 0, NULL, &found), 0);
    assert_int_equal(found.gl_pathc, 1);
    char *html = running_read(found.gl_pathv[0]);
    assert_non_null(html);
    for (const char *at = html; (at = strstr(at, what)); at += strlen(what))
        n++;
    free(html);
    globfree(&found);
    return n;
}

/* The time of a verdict that stands already is put back, as if it had been given so long ago. */
static void age_verdict(const struct running *running, const char *name, int minutes)
{
    char file[PATH_MAX];
    struct pellet_text text = {0};
    snprintf(file, sizeof file, "%s.verdict.yaml", name);
    struct pellet_verdict verdict = running_wait_verdict(running, name);
    char *whole = running_read(running_path(running, file));
    struct pellet_verdict all;
    assert_int_equal(pellet_verdict_read(whole, strlen(whole), &all, NULL), PELLET_OK);
    all.judged -= (pellet_ns)minutes * 60 * PELLET_NS_PER_S;
    assert_int_equal(pellet_verdict_write(&all, &text), PELLET_OK);
    running_write(running_path(running, file), text.data, text.length);
    pellet_text_free(&text);
    pellet_verdict_clear(&all);
    pellet_verdict_clear(&verdict);
    free(whole);
}

static pellet_ns judged_at(const struct running *running, const char *name)
{
    struct pellet_verdict verdict = running_wait_verdict(running, name);
    const pellet_ns judged = verdict.judged;
    pellet_verdict_clear(&verdict);
    return judged;
}

static void marked_and_left_alone(void **state)
{
    struct running *running = *state;
    static const char *const first[] = {"open-beam.csv", "blank.csv", "a_p1.csv", "b_p1.csv"};
    pellet_ns before[4];
    running_begin(running);
    running_save(running, "a_p1.csv", 5, 0.7, 3);
    running_save(running, "b_p1.csv", 10, 0.7, 4);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
    running_wait_outcome(running, "b_p1.csv", PELLET_PASS);
    running_stop(running);
    for (size_t i = 0; i < 4; i++)
        age_verdict(running, first[i], 10);
    write_records(running);
    assert_int_equal(count_in_record(running, "It turned up late"), 0);
    assert_int_equal(count_in_record(running, "no longer in the folder"), 0);
    assert_int_equal(count_in_record(running, "has another content by now"), 0);
    for (size_t i = 0; i < 4; i++)
        before[i] = judged_at(running, first[i]);

    /* Measured between the two, and there only now. */
    running_watch(running);
    running_save(running, "c_p1.csv", 7, 0.7, 5);
    running_wait_outcome(running, "c_p1.csv", PELLET_PASS);
    running_stop(running);
    write_records(running);
    assert_int_equal(count_in_record(running, "It turned up late"), 1);

    /* The blank is saved anew: it gets a verdict, and those that rest on the old one keep theirs. */
    running_watch(running);
    running_save(running, "blank.csv", 1, 0, 77);
    running_until(judged_at(running, "blank.csv") != before[1], "the new blank was not judged");
    running_stop(running);
    write_records(running);
    assert_int_equal(count_in_record(running, "Its blank has another content by now"), 3);

    assert_int_equal(unlink(running_path(running, "a_p1.csv")), 0);
    assert_int_equal(unlink(running_path(running, "blank.csv")), 0);
    write_records(running);
    assert_true(count_in_record(running, "The spectrum is no longer in the folder") >= 1);
    assert_int_equal(count_in_record(running, "Its blank is no longer in the folder"), 3);
    assert_true(running_there(running, "a_p1.csv.verdict.yaml"));
    assert_int_equal(judged_at(running, "b_p1.csv"), before[3]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        running_test(marked_and_left_alone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
