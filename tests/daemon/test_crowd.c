// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Many files: all at once, and judged long ago. The long form (PELLETD_LONG): 10,000 spectra of about 3600
 * points at once instead of 120 small ones, and 100,000 old ones instead of 1000.
 */
#include "daemon/past.h"

static void at_once(void **state)
{
    struct running *running = *state;
    const bool is_long = getenv("PELLETD_LONG") != NULL;
    const int files = is_long ? 10000 : 120;
    struct feeding feeding = {.running = running, .spacing = is_long ? 1 : 8};
    running_configure(running, "depth: 1");
    char aside[PATH_MAX + 20];
    snprintf(aside, sizeof aside, "%s/aside", running->around);
    assert_int_equal(mkdir(aside, 0777), 0);
    for (int i = 0; i < files; i++) {
        char name[FEEDING_NAME_MAX];
        char path[PATH_MAX + 2 * FEEDING_NAME_MAX];
        struct pellet_text text = {0};
        feeding_plain_name(i, name);
        snprintf(path, sizeof path, "%s/%s", aside, name);
        feeding_text(&feeding, i, &text);
        running_write(path, text.data, text.length);
        pellet_text_free(&text);
    }
    running_watch(running);
    for (int i = files; i-- > 0;) {
        char name[FEEDING_NAME_MAX];
        char path[PATH_MAX + 2 * FEEDING_NAME_MAX];
        feeding_plain_name(i, name);
        snprintf(path, sizeof path, "%s/%s", aside, name);
        assert_int_equal(rename(path, running_path(running, name)), 0);
    }
    feeding_wait_count(running, (size_t)files);
    running_stop(running);
    const size_t derived = feeding_expect_verdicts(&feeding, files, feeding_plain_name);
    feeding_verify(running);
    feeding_expect_nothing_else(&feeding, files, derived);
    feeding_free(&feeding);
}

static struct timespec changed(const struct running *running, int i)
{
    struct stat st;
    char name[FEEDING_NAME_MAX];
    char verdict[FEEDING_NAME_MAX + 20];
    past_name(i, name);
    snprintf(verdict, sizeof verdict, "%s.verdict.yaml", name);
    assert_int_equal(stat(running_path(running, verdict), &st), 0);
    return st.st_ctim;
}

/* What was judged stays as it is, and a new one is judged. */
static void a_long_past(void **state)
{
    struct running *running = *state;
    const int files = getenv("PELLETD_LONG") ? 100000 : 1000;
    struct feeding feeding = {.running = running, .spacing = 16};
    past_make(&feeding, files);
    struct timespec *before = calloc((size_t)files, sizeof *before);
    assert_non_null(before);
    for (int i = 0; i < files; i++)
        before[i] = changed(running, i);
    running_watch(running);
    running_save(running, "new_p1.csv", files + 20, 0.7, 5);
    struct pellet_verdict verdict = running_wait_verdict(running, "new_p1.csv");
    pellet_verdict_clear(&verdict);
    running_stop(running);
    for (int i = 0; i < files; i++) {
        const struct timespec after = changed(running, i);
        assert_true(after.tv_sec == before[i].tv_sec && after.tv_nsec == before[i].tv_nsec);
    }
    free(before);
    assert_int_equal(running_count_files(running->folder, ".verdict.yaml"), files + 4);
    feeding_free(&feeding);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        running_test(at_once),
        running_test(a_long_past),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
