// SPDX-License-Identifier: GPL-3.0-or-later
/* Every way in which a file can come: each is judged once, by the real program, with events and without. */
#include "daemon/running.h"

static void write_slowly(const char *path, const struct pellet_text *text, int pieces, int pause_ms)
{
    int file = open(path, O_WRONLY | O_CREAT | O_TRUNC, 0666);
    assert_true(file >= 0);
    for (int i = 0; i < pieces; i++) {
        size_t from = text->length * (size_t)i / (size_t)pieces;
        size_t to = text->length * (size_t)(i + 1) / (size_t)pieces;
        assert_int_equal(write(file, text->data + from, to - from), (ssize_t)(to - from));
        running_sleep(pause_ms);
    }
    assert_int_equal(close(file), 0);
}

static void finish(struct running *running)
{
    running_stop(running);
    running_verify(running);
    assert_int_equal(running_count_files(running->folder, ".tmp"), 0);
}

static void what_is_there_at_the_start(void **state)
{
    struct running *running = *state;
    running_save(running, "open-beam.csv", 0, -1, 1);
    running_save(running, "blank.csv", 1, 0, 2);
    running_save(running, "a_p1.csv", 2, 0.7, 3);
    running_watch(running);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
    assert_true(running_there(running, "reports/ratioed/a_p1.csv.jdx"));
    assert_true(running_there(running, "reports/pictures/a_p1.csv.svg"));
    finish(running);
}

static void written_and_closed(void **state)
{
    struct running *running = *state;
    running_begin(running);
    running_save(running, "a_p1.csv", 2, 0.7, 3);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
    finish(running);
}

static void written_slowly_in_pieces(void **state)
{
    struct running *running = *state;
    struct pellet_text text = {0};
    running_begin(running);
    running_spectrum(running, 2, 0.7, 3, &text);
    write_slowly(running_path(running, "a_p1.csv"), &text, 8, 200);
    pellet_text_free(&text);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
    finish(running);
}

/* Closed after each piece, so that half a file is closed several times before it is whole. */
static void closed_several_times(void **state)
{
    struct running *running = *state;
    struct pellet_text text = {0};
    running_begin(running);
    running_spectrum(running, 2, 0.7, 3, &text);
    for (size_t i = 0; i < 6; i++) {
        int file = open(running_path(running, "a_p1.csv"), O_WRONLY | O_CREAT | O_APPEND, 0666);
        size_t from = text.length * i / 6;
        size_t to = text.length * (i + 1) / 6;
        assert_int_equal(write(file, text.data + from, to - from), (ssize_t)(to - from));
        close(file);
        running_sleep(100);
    }
    pellet_text_free(&text);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
    struct pellet_verdict verdict = running_wait_verdict(running, "a_p1.csv");
    /* No half of it was ever judged. */
    assert_int_equal(verdict.previous_count, 0);
    pellet_verdict_clear(&verdict);
    finish(running);
}

static void temporary_name_and_rename(void **state)
{
    struct running *running = *state;
    char temporary[PATH_MAX + 300];
    running_begin(running);
    running_save(running, "a_p1.csv.part", 2, 0.7, 3);
    snprintf(temporary, sizeof temporary, "%s", running_path(running, "a_p1.csv.part"));
    assert_int_equal(rename(temporary, running_path(running, "a_p1.csv")), 0);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
    finish(running);
}

static void copied_with_an_old_mtime(void **state)
{
    struct running *running = *state;
    const struct timespec old[2] = {{1700000000, 0}, {1700000000, 0}};
    running_begin(running);
    running_save(running, "a_p1.csv", 2, 0.7, 3);
    assert_int_equal(utimensat(AT_FDCWD, running_path(running, "a_p1.csv"), old, 0), 0);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
    finish(running);
}

/* The bytes change, their number does not, and the mtime is forced back. */
static void rewritten_to_the_same_size_and_mtime(void **state)
{
    struct running *running = *state;
    struct pellet_text text = {0};
    struct stat st;
    running_begin(running);
    running_spectrum(running, 2, 0.7, 3, &text);
    running_write(running_path(running, "a_p1.csv"), text.data, text.length);
    struct pellet_verdict first = running_wait_verdict(running, "a_p1.csv");
    assert_int_equal(stat(running_path(running, "a_p1.csv"), &st), 0);
    const struct timespec times[2] = {st.st_atim, st.st_mtim};
    /* One digit of the last ordinate. */
    char *digit = text.data + text.length - 1;
    while (*digit < '0' || *digit > '9')
        digit--;
    *digit = *digit == '1' ? '2' : '1';
    int file = open(running_path(running, "a_p1.csv"), O_WRONLY);
    assert_int_equal(write(file, text.data, text.length), (ssize_t)text.length);
    assert_int_equal(futimens(file, times), 0);
    close(file);
    pellet_text_free(&text);
    struct pellet_verdict second = running_wait_verdict(running, "a_p1.csv");
    assert_string_not_equal(first.sha256, second.sha256);
    assert_int_equal(second.previous_count, 1);
    assert_string_equal(second.previous[0].sha256, first.sha256);
    pellet_verdict_clear(&first);
    pellet_verdict_clear(&second);
    finish(running);
}

static void truncated_and_written_again(void **state)
{
    struct running *running = *state;
    running_begin(running);
    running_save(running, "a_p1.csv", 2, 3.0, 3);
    running_wait_outcome(running, "a_p1.csv", PELLET_REMAKE);
    assert_false(running_there(running, "reports/ratioed/a_p1.csv.jdx"));
    running_save(running, "a_p1.csv", 3, 0.7, 4);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
    assert_true(running_there(running, "reports/ratioed/a_p1.csv.jdx"));
    running_save(running, "a_p1.csv", 4, 3.0, 5);
    running_wait_outcome(running, "a_p1.csv", PELLET_REMAKE);
    /* What is no longer fit for use is no longer offered. */
    assert_false(running_there(running, "reports/ratioed/a_p1.csv.jdx"));
    struct pellet_verdict verdict = running_wait_verdict(running, "a_p1.csv");
    assert_int_equal(verdict.previous_count, 2);
    assert_int_equal(verdict.previous[0].verdict, PELLET_PASS);
    pellet_verdict_clear(&verdict);
    finish(running);
}

static void hard_linked(void **state)
{
    struct running *running = *state;
    char elsewhere[PATH_MAX + 300];
    struct pellet_text text = {0};
    running_begin(running);
    snprintf(elsewhere, sizeof elsewhere, "%s/a", running->around);
    running_spectrum(running, 2, 0.7, 3, &text);
    running_write(elsewhere, text.data, text.length);
    pellet_text_free(&text);
    assert_int_equal(link(elsewhere, running_path(running, "a_p1.csv")), 0);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
    finish(running);
}

/* As through a file server on this machine: written, flushed, attributes set, and never closed. */
static void never_closed(void **state)
{
    struct running *running = *state;
    struct pellet_text text = {0};
    running_begin(running);
    running_spectrum(running, 2, 0.7, 3, &text);
    int file = open(running_path(running, "a_p1.csv"), O_WRONLY | O_CREAT, 0666);
    assert_int_equal(write(file, text.data, text.length), (ssize_t)text.length);
    assert_int_equal(fchmod(file, 0664), 0);
    pellet_text_free(&text);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
    close(file);
    finish(running);
}

static void moved_away_and_back(void **state)
{
    struct running *running = *state;
    char elsewhere[PATH_MAX + 300];
    running_begin(running);
    snprintf(elsewhere, sizeof elsewhere, "%s/away.csv", running->around);
    running_save(running, "a_p1.csv", 2, 0.7, 3);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
    assert_int_equal(rename(running_path(running, "a_p1.csv"), elsewhere), 0);
    running_save(running, "b_p1.csv", 3, 0.7, 4);
    running_wait_outcome(running, "b_p1.csv", PELLET_PASS);
    /* A verdict whose spectrum is gone stays. */
    assert_true(running_there(running, "a_p1.csv.verdict.yaml"));
    assert_int_equal(rename(elsewhere, running_path(running, "a_p1.csv")), 0);
    running_save(running, "c_p1.csv", 4, 0.7, 5);
    running_wait_outcome(running, "c_p1.csv", PELLET_PASS);
    struct pellet_verdict verdict = running_wait_verdict(running, "a_p1.csv");
    assert_int_equal(verdict.previous_count, 0);
    pellet_verdict_clear(&verdict);
    finish(running);
}

static void a_deleted_verdict_is_given_anew(void **state)
{
    struct running *running = *state;
    running_begin(running);
    running_save(running, "a_p1.csv", 2, 0.7, 3);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
    assert_int_equal(unlink(running_path(running, "a_p1.csv.verdict.yaml")), 0);
    running_wait_outcome(running, "a_p1.csv", PELLET_PASS);
    finish(running);
}

/* A batch of samples and blanks at once pairs as if it had come one by one. All are worked out before the
 * first is written, which takes longer than the service waits. */
static void a_batch_at_once(void **state)
{
    struct running *running = *state;
    struct pellet_text sample[6] = {{0}}, blank_text[6] = {{0}};
    for (int i = 0; i < 6; i++) {
        running_spectrum(running, 10 + 10 * i, 0.7, (unsigned long)(20 + i), &sample[i]);
        running_spectrum(running, 5 + 10 * i, 0, (unsigned long)(40 + i), &blank_text[i]);
    }
    running_begin(running);
    for (int i = 5; i >= 0; i--) {
        char name[32];
        snprintf(name, sizeof name, "s%d_p1.csv", i);
        running_write(running_path(running, name), sample[i].data, sample[i].length);
        snprintf(name, sizeof name, "blank-%d.csv", i);
        running_write(running_path(running, name), blank_text[i].data, blank_text[i].length);
        pellet_text_free(&sample[i]);
        pellet_text_free(&blank_text[i]);
    }
    for (int i = 0; i < 6; i++) {
        char name[32];
        char blank[32];
        snprintf(name, sizeof name, "s%d_p1.csv", i);
        snprintf(blank, sizeof blank, "blank-%d.csv", i);
        struct pellet_verdict verdict = running_wait_verdict(running, name);
        assert_int_equal(verdict.outcome, PELLET_PASS);
        assert_string_equal(running_blank_of(&verdict), blank);
        pellet_verdict_clear(&verdict);
    }
    finish(running);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        running_test(what_is_there_at_the_start),
        running_test(written_and_closed),
        running_test(written_slowly_in_pieces),
        running_test(closed_several_times),
        running_test(temporary_name_and_rename),
        running_test(copied_with_an_old_mtime),
        running_test(rewritten_to_the_same_size_and_mtime),
        running_test(truncated_and_written_again),
        running_test(hard_linked),
        running_test(never_closed),
        running_test(moved_away_and_back),
        running_test(a_deleted_verdict_is_given_anew),
        running_test(a_batch_at_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
