// SPDX-License-Identifier: GPL-3.0-or-later
/* Spectra made by algebra and inputs around them, for the tests of the judge. */
#ifndef PELLET_TESTS_JUDGE_FIXTURE_H
#define PELLET_TESTS_JUDGE_FIXTURE_H

#include "testing.h"

#include "pellet/judge.h"

#include <string.h>

/* y of a wavenumber, with whatever `with` says. */
typedef double fixture_curve(double wavenumber, const void *with);

static inline double fixture_constant(double wavenumber, const void *with)
{
    (void)wavenumber;
    return *(const double *)with;
}

/* 400..4000 every 2 cm-1. A pinch of noise (a fixed sequence) keeps noise estimates away from zero. */
static inline struct pellet_spectrum fixture_spectrum(enum pellet_ordinate ordinate, fixture_curve *curve,
                                                      const void *with, double noise)
{
    struct pellet_spectrum s = {
        .n = 1801, .ordinate = ordinate, .resolution = NAN, .measured = PELLET_NO_TIME};
    uint32_t state = 12345;

    s.wavenumber = calloc(s.n, sizeof *s.wavenumber);
    s.y = calloc(s.n, sizeof *s.y);
    assert_non_null(s.wavenumber);
    assert_non_null(s.y);
    for (size_t i = 0; i < s.n; i++) {
        state = state * 1664525u + 1013904223u;
        s.wavenumber[i] = 400.0 + 2.0 * (double)i;
        s.y[i] = curve(s.wavenumber[i], with) + noise * ((double)(state >> 8) / 8388608.0 - 1.0);
    }
    return s;
}

/* Everything that a verdict needs but the spectra. */
struct fixture {
    struct pellet_rules rules;
    struct pellet_settings settings;
    struct pellet_source blank, open_beam;
    struct pellet_inputs inputs;
};

static inline void fixture_init(struct fixture *f, const struct pellet_spectrum *subject,
                                const struct pellet_spectrum *blank)
{
    struct pellet_error error = {0};

    *f = (struct fixture){.settings = {.range_low = 400.0, .range_high = 4000.0}};
    assert_int_equal(pellet_rules_shipped("routine", &f->rules, &error), PELLET_OK);
    f->inputs = (struct pellet_inputs){
        .subject =
            {.file = "s_p1.csv", .sample = "s", .pellet = 1, .role = PELLET_SAMPLE, .spectrum = subject},
        .station = "bench",
        .session = "2026-03-04T0900-bench",
        .no_blank_age_min = NAN,
        .settings = &f->settings,
        .rules = &f->rules,
    };
    f->blank = (struct pellet_source){
        .file = "blank.csv", .role = PELLET_BLANK, .spectrum = blank, .state = PELLET_BLANK_ACCEPTED};
    if (blank != NULL)
        f->inputs.blank = &f->blank;
}

static inline void fixture_clear(struct fixture *f)
{
    pellet_rules_clear(&f->rules);
}

static inline const struct pellet_finding *fixture_check(const struct pellet_verdict *v, const char *id)
{
    for (size_t i = 0; i < v->check_count; i++) {
        if (v->check[i].check != NULL && strcmp(v->check[i].check->id, id) == 0)
            return &v->check[i];
    }
    return NULL;
}

#endif
