// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * A station with a long past: any number of spectra that were judged long ago, each with its verdict and its
 * marked spectrum, made from one that the program really judged.
 */
#ifndef PELLET_TESTS_DAEMON_PAST_H
#define PELLET_TESTS_DAEMON_PAST_H

#include "daemon/feeding.h"

static inline void past_name(int i, char name[FEEDING_NAME_MAX])
{
    snprintf(name, FEEDING_NAME_MAX, "old%06d_p1.csv", i);
}

/* One real verdict to make the others from: the last of a short session that is judged now. */
static inline void past_template(struct feeding *feeding, struct pellet_verdict *verdict)
{
    struct running *running = feeding->running;
    char *arguments[] = {(char *)PELLETD_PROGRAM, "judge", running->folder, NULL};
    static const char *const names[] = {"open-beam.csv", "blank-00001.csv", "s00002_p1.csv"};
    for (int i = 0; i < 3; i++) {
        struct pellet_text text = {0};
        feeding_text(feeding, i, &text);
        running_write(running_path(running, names[i]), text.data, text.length);
        pellet_text_free(&text);
    }
    (void)running_run(running, arguments);
    assert_true(running_verdict(running, names[2], verdict));
}

/* Where it says when it was measured, another time stands. */
static inline void past_one(struct feeding *feeding, const struct pellet_verdict *like, int i)
{
    struct running *running = feeding->running;
    const pellet_ns measured = RUNNING_START + (pellet_ns)(i + 10) * 60 * PELLET_NS_PER_S;
    const time_t exported = (time_t)(measured / PELLET_NS_PER_S);
    struct pellet_text spectrum = {0};
    struct pellet_text text = {0};
    struct pellet_verdict verdict = *like;
    const char *output[1];
    char name[FEEDING_NAME_MAX];
    char sample[FEEDING_NAME_MAX];
    char path[FEEDING_NAME_MAX + 40];
    past_name(i, name);
    snprintf(sample, sizeof sample, "old%06d", i);
    assert_int_equal(pellet_synth_write_csv(feeding_spectrum_of(feeding, 2), NULL, measured, &spectrum),
                     PELLET_OK);
    running_write(running_path(running, name), spectrum.data, spectrum.length);
    feeding_set_mtime(running_path(running, name), exported);
    verdict.file = name;
    verdict.sample = sample;
    verdict.measured = measured;
    verdict.bytes = spectrum.length;
    verdict.mtime_ns = (pellet_ns)exported * PELLET_NS_PER_S;
    pellet_sha256_hex(spectrum.data, spectrum.length, verdict.sha256);
    snprintf(path, sizeof path, "reports/pictures/%s.svg", name);
    output[0] = path;
    verdict.output = output;
    verdict.output_count = 1;
    running_write(running_path(running, path), "", 0);
    assert_int_equal(pellet_verdict_write(&verdict, &text), PELLET_OK);
    snprintf(path, sizeof path, "%s.verdict.yaml", name);
    running_write(running_path(running, path), text.data, text.length);
    pellet_text_free(&text);
    pellet_text_free(&spectrum);
}

static inline void past_make(struct feeding *feeding, int files)
{
    struct pellet_verdict like;
    past_template(feeding, &like);
    for (int i = 0; i < files; i++)
        past_one(feeding, &like, i);
    pellet_verdict_clear(&like);
}

#endif
