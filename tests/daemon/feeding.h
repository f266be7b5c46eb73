// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * A lab session of any length that arrives in every way a file can come, and what must be true of its folder
 * at the end: one valid verdict a spectrum, all derived files, and nothing else.
 */
#ifndef PELLET_TESTS_DAEMON_FEEDING_H
#define PELLET_TESTS_DAEMON_FEEDING_H

#include "daemon/running.h"

#define FEEDING_NAME_MAX 48
#define FEEDING_POOL     24 /* different spectra; the time that each file states makes the contents differ */

struct feeding {
    struct running *running;
    double spacing; /* of the points, cm-1 */
    struct pellet_spectrum pool[FEEDING_POOL];
    int held[64]; /* files that are never closed */
    int held_count;
};

/* ---------------------------------------------------------------- the session */

/* The first is an open beam and every eighth a blank. */
static inline bool feeding_is_blank(int i)
{
    return i % 8 == 1;
}

/* 0: open beam, 1 to 3: blanks, the rest samples, every fifth of them far too strong. */
static inline const struct pellet_spectrum *feeding_spectrum_of(struct feeding *feeding, int i)
{
    const int k = i == 0 ? 0 : feeding_is_blank(i) ? 1 + i / 8 % 3 : 4 + i % (FEEDING_POOL - 4);
    struct pellet_spectrum *spectrum = &feeding->pool[k];
    struct pellet_synth_pellet pellet;
    struct pellet_synth_instrument instrument;
    struct pellet_error error = {0};
    if (spectrum->n > 0)
        return spectrum;
    struct running *running = feeding->running;
    if (!running->model)
        assert_int_equal(pellet_synth_new(&running->model, &error), PELLET_OK);
    pellet_synth_pellet_init(&pellet);
    pellet_synth_instrument_init(&instrument);
    instrument.spacing_cm1 = feeding->spacing;
    if (k >= 4) {
        pellet.compound = pellet_synth_compound_find("sugar-A");
        pellet.dose_mg_cm2 = k % 5 == 0 ? 3.0 : 0.7;
    }
    assert_int_equal(pellet_synth_measure(running->model, k == 0 ? NULL : &pellet, &instrument,
                                          (unsigned long)k + 1, spectrum, NULL, &error),
                     PELLET_OK);
    return spectrum;
}

static inline void feeding_text(struct feeding *feeding, int i, struct pellet_text *text)
{
    const pellet_ns measured = RUNNING_START + (pellet_ns)i * 60 * PELLET_NS_PER_S;
    assert_int_equal(pellet_synth_write_csv(feeding_spectrum_of(feeding, i), NULL, measured, text),
                     PELLET_OK);
}

static inline void feeding_free(struct feeding *feeding)
{
    for (int k = 0; k < FEEDING_POOL; k++)
        pellet_spectrum_clear(&feeding->pool[k]);
    while (feeding->held_count > 0)
        close(feeding->held[--feeding->held_count]);
}

/* ---------------------------------------------------------------- ways to arrive */

static inline void feeding_set_mtime(const char *path, time_t seconds)
{
    const struct timespec times[2] = {{.tv_sec = seconds}, {.tv_sec = seconds}};
    assert_int_equal(utimensat(AT_FDCWD, path, times, 0), 0);
}

static inline void feeding_whole(struct feeding *feeding, const char *name, const struct pellet_text *text)
{
    running_write(running_path(feeding->running, name), text->data, text->length);
}

static inline void feeding_renamed(struct feeding *feeding, const char *name, const struct pellet_text *text)
{
    char temporary[PATH_MAX + 400];
    snprintf(temporary, sizeof temporary, "%s.part", running_path(feeding->running, name));
    running_write(temporary, text->data, text->length);
    assert_int_equal(rename(temporary, running_path(feeding->running, name)), 0);
}

static inline void feeding_append(int file, const struct pellet_text *text, size_t from, size_t to)
{
    assert_int_equal(write(file, text->data + from, to - from), (ssize_t)(to - from));
}

static inline void feeding_in_pieces(struct feeding *feeding, const char *name,
                                     const struct pellet_text *text)
{
    int file = open(running_path(feeding->running, name), O_WRONLY | O_CREAT | O_TRUNC, 0666);
    assert_true(file >= 0);
    for (size_t i = 0; i < 4; i++) {
        feeding_append(file, text, text->length * i / 4, text->length * (i + 1) / 4);
        running_sleep(5);
    }
    close(file);
}

static inline void feeding_several_closes(struct feeding *feeding, const char *name,
                                          const struct pellet_text *text)
{
    for (size_t i = 0; i < 3; i++) {
        int file = open(running_path(feeding->running, name), O_WRONLY | O_CREAT | O_APPEND, 0666);
        assert_true(file >= 0);
        feeding_append(file, text, text->length * i / 3, text->length * (i + 1) / 3);
        close(file);
        running_sleep(5);
    }
}

static inline void feeding_linked(struct feeding *feeding, const char *name, const struct pellet_text *text)
{
    char elsewhere[PATH_MAX + 20];
    snprintf(elsewhere, sizeof elsewhere, "%s/linked", feeding->running->around);
    running_write(elsewhere, text->data, text->length);
    assert_int_equal(link(elsewhere, running_path(feeding->running, name)), 0);
    unlink(elsewhere);
}

static inline void feeding_old_mtime(struct feeding *feeding, const char *name,
                                     const struct pellet_text *text)
{
    feeding_whole(feeding, name, text);
    feeding_set_mtime(running_path(feeding->running, name), time(NULL) - 86400);
}

/* First another content under the same name, as when a measurement is repeated. */
static inline void feeding_truncated(struct feeding *feeding, const char *name,
                                     const struct pellet_text *text)
{
    running_write(running_path(feeding->running, name), text->data, text->length / 2);
    running_sleep(10);
    feeding_whole(feeding, name, text);
}

/* In place, as many bytes as before, and with the mtime that it had. */
static inline void feeding_same_size(struct feeding *feeding, const char *name,
                                     const struct pellet_text *text)
{
    char *other = strndup(text->data, text->length);
    assert_non_null(other);
    for (size_t i = text->length / 2; i < text->length; i++)
        other[i] = other[i] == '3' ? '4' : other[i];
    running_write(running_path(feeding->running, name), other, text->length);
    free(other);
    feeding_set_mtime(running_path(feeding->running, name), time(NULL) - 3600);
    running_sleep(10);
    int file = open(running_path(feeding->running, name), O_WRONLY);
    feeding_append(file, text, 0, text->length);
    close(file);
    feeding_set_mtime(running_path(feeding->running, name), time(NULL) - 3600);
}

/* As through a file server on this machine: no close is ever seen. */
static inline void feeding_never_closed(struct feeding *feeding, const char *name,
                                        const struct pellet_text *text)
{
    int file = open(running_path(feeding->running, name), O_WRONLY | O_CREAT | O_TRUNC, 0666);
    assert_true(file >= 0);
    feeding_append(file, text, 0, text->length);
    if (feeding->held_count == (int)(sizeof feeding->held / sizeof feeding->held[0]))
        close(feeding->held[--feeding->held_count]);
    feeding->held[feeding->held_count++] = file;
}

/* The name is "FOLDER/FILE", and the folder comes with the file in it. */
static inline void feeding_with_folder(struct feeding *feeding, const char *name,
                                       const struct pellet_text *text)
{
    char last[FEEDING_NAME_MAX];
    char folder[PATH_MAX + 2 * FEEDING_NAME_MAX];
    char file[PATH_MAX + 4 * FEEDING_NAME_MAX];
    snprintf(last, sizeof last, "%.*s", (int)strcspn(name, "/"), name);
    snprintf(folder, sizeof folder, "%s/%s", feeding->running->around, last);
    snprintf(file, sizeof file, "%s%s", folder, strchr(name, '/'));
    assert_int_equal(mkdir(folder, 0777), 0);
    running_write(file, text->data, text->length);
    assert_int_equal(rename(folder, running_path(feeding->running, last)), 0);
}

/* ---------------------------------------------------------------- feeding */

typedef void feeding_fn(struct feeding *feeding, const char *name, const struct pellet_text *text);
static feeding_fn *const feeding_ways[] = {
    feeding_whole,     feeding_renamed,   feeding_in_pieces, feeding_several_closes, feeding_linked,
    feeding_old_mtime, feeding_truncated, feeding_same_size, feeding_never_closed,   feeding_with_folder,
};
enum { FEEDING_WAYS = sizeof feeding_ways / sizeof feeding_ways[0] };

static inline void feeding_plain_name(int i, char name[FEEDING_NAME_MAX])
{
    if (i == 0)
        snprintf(name, FEEDING_NAME_MAX, "open-beam.csv");
    else if (feeding_is_blank(i))
        snprintf(name, FEEDING_NAME_MAX, "blank-%05d.csv", i);
    else
        snprintf(name, FEEDING_NAME_MAX, "s%05d_p1.csv", i);
}

/* Of a file that comes in its own way. */
static inline void feeding_name(int i, char name[FEEDING_NAME_MAX])
{
    char plain[FEEDING_NAME_MAX];
    feeding_plain_name(i, plain);
    if (feeding_ways[i % FEEDING_WAYS] == feeding_with_folder)
        snprintf(name, FEEDING_NAME_MAX, "day%05d/%.30s", i, plain);
    else
        snprintf(name, FEEDING_NAME_MAX, "%s", plain);
}

/* The station must be watched to a depth of 1. */
static inline void feeding_feed(struct feeding *feeding, int i)
{
    char name[FEEDING_NAME_MAX];
    struct pellet_text text = {0};
    feeding_name(i, name);
    feeding_text(feeding, i, &text);
    feeding_ways[i % FEEDING_WAYS](feeding, name, &text);
    pellet_text_free(&text);
}

/* ---------------------------------------------------------------- what must be true at the end */

/* So long as verdicts come in it is at work, however many there are to be. */
static inline void feeding_wait_count(const struct running *running, size_t verdicts)
{
    size_t seen = 0;
    for (int idle_ms = 0; seen < verdicts; idle_ms += 500) {
        const size_t now = running_count_files(running->folder, ".verdict.yaml");
        if (now > seen)
            idle_ms = 0;
        seen = now;
        if (idle_ms > RUNNING_WAIT_MS)
            fail_msg("no more verdicts after %zu of %zu", seen, verdicts);
        running_sleep(500);
    }
}

/* Waits for them. Returns the number of derived files that the verdicts list, all of which are there. */
static inline size_t feeding_expect_verdicts(const struct feeding *feeding, int files,
                                             void (*name_of)(int i, char name[FEEDING_NAME_MAX]))
{
    size_t derived = 0;
    for (int i = 0; i < files; i++) {
        char name[FEEDING_NAME_MAX];
        name_of(i, name);
        struct pellet_verdict verdict = running_wait_verdict(feeding->running, name);
        for (size_t o = 0; o < verdict.output_count; o++)
            running_until(running_there(feeding->running, verdict.output[o]), "%s is missing",
                          verdict.output[o]);
        derived += verdict.output_count;
        pellet_verdict_clear(&verdict);
    }
    return derived;
}

static inline void feeding_expect_nothing_else(const struct feeding *feeding, int files, size_t derived)
{
    const struct running *running = feeding->running;
    char pictures[PATH_MAX + 40];
    char ratioed[PATH_MAX + 40];
    snprintf(pictures, sizeof pictures, "%s/reports/pictures", running->folder);
    snprintf(ratioed, sizeof ratioed, "%s/reports/ratioed", running->folder);
    assert_int_equal(running_count_files(running->folder, ".verdict.yaml"), files);
    assert_int_equal(running_count_files(running->folder, ".tmp"), 0);
    assert_int_equal(running_count_files(pictures, ".csv.") + running_count_files(ratioed, ".csv."), derived);
}

/* All verdicts, in sub-folders too, follow from what they name. */
static inline void feeding_verify(struct running *running)
{
    char path[PATH_MAX + 20];
    char *arguments[] = {(char *)PELLETD_PROGRAM, "judge", "--verify", "--config", path,
                         running->folder,         NULL};
    snprintf(path, sizeof path, "%s/pelletd.yaml", running->around);
    const int code = running_run(running, arguments);
    char *lines = running_lines(running);
    if (code != 0)
        print_error("%s\n", lines);
    free(lines);
    assert_int_equal(code, 0);
}

#endif
