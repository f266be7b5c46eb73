// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * A measurement made of shapes whose numbers are known exactly: what the checks of the pellet are tested on.
 * No judge is involved; the bands are written down as they were added, not found.
 */
#ifndef PELLET_TEST_SHAPES_H
#define PELLET_TEST_SHAPES_H

#include "testing.h"

#include "checks/checks.h"
#include "pellet/judge.h"

#include <string.h>

#define SHAPES_BANDS_MAX 40

struct shapes {
    struct pellet_measurement m;
    struct pellet_inputs inputs;
    struct pellet_rules rules;
    struct pellet_worksheet_row row;
    struct pellet_band band[SHAPES_BANDS_MAX];
    struct pellet_finding finding;
};

static inline double *shapes_array(size_t n)
{
    double *array = calloc(n, sizeof *array);
    assert_non_null(array);
    return array;
}

/* A sample against a blank, A = 0 everywhere, no noise. */
static inline void shapes_open(struct shapes *s, double low, double high, double step)
{
    memset(s, 0, sizeof *s);
    const size_t n = (size_t)lround((high - low) / step) + 1;
    s->m.n = n;
    s->m.inputs = &s->inputs;
    s->inputs.rules = &s->rules;
    s->m.role = PELLET_SAMPLE;
    s->m.basis = PELLET_AGAINST_BLANK;
    s->m.wavenumber = shapes_array(n);
    s->m.absorbance = shapes_array(n);
    s->m.transmittance = shapes_array(n);
    s->m.sigma = shapes_array(n);
    s->m.baseline = shapes_array(n);
    s->m.residual_water = shapes_array(n);
    s->m.mark = calloc(n, 1);
    assert_non_null(s->m.mark);
    for (size_t i = 0; i < n; i++)
        s->m.wavenumber[i] = low + step * (double)i;
    s->m.spacing = step;
    s->m.resolution = 4.0;
    s->m.noise = 1e-4;
    s->m.band = s->band;
}

static inline void shapes_close(struct shapes *s)
{
    free(s->m.wavenumber);
    free(s->m.absorbance);
    free(s->m.transmittance);
    free(s->m.sigma);
    free(s->m.baseline);
    free(s->m.residual_water);
    free(s->m.mark);
    free(s->m.single_beam);
    free(s->m.reference);
    memset(s, 0, sizeof *s);
}

/* (a + d x) / (1 + x^2): height a at d = 0, full width at half height `width`. Not written down as a band. */
static inline double shapes_lorentzian(double wavenumber, double at, double a, double d, double width)
{
    const double x = (wavenumber - at) / (0.5 * width);
    return (a + d * x) / (1.0 + x * x);
}

/* Add a symmetric band to the curve and to the list, which stays in falling order of height. */
static inline struct pellet_band *shapes_band(struct shapes *s, double at, double height, double width)
{
    for (size_t i = 0; i < s->m.n; i++)
        s->m.absorbance[i] += shapes_lorentzian(s->m.wavenumber[i], at, height, 0.0, width);
    size_t i = s->m.band_count++;
    assert_true(i < SHAPES_BANDS_MAX);
    for (; i > 0 && s->band[i - 1].height < height; i--)
        s->band[i] = s->band[i - 1];
    s->band[i] = (struct pellet_band){.at_cm1 = at,
                                      .height = height,
                                      .top = height,
                                      .width_cm1 = width,
                                      .low_cm1 = at - 2.0 * width,
                                      .high_cm1 = at + 2.0 * width,
                                      .kind = PELLET_BAND_SAMPLE};
    for (size_t k = 0; k < s->m.n; k++) {
        if (fabs(s->m.wavenumber[k] - at) <= 2.0 * width)
            s->m.mark[k] |= PELLET_POINT_BAND;
    }
    return &s->band[i];
}

/* Set `mark` on all points of low..high; unusable ones become NaN. */
static inline void shapes_mark(struct shapes *s, double low, double high, unsigned char mark)
{
    for (size_t i = 0; i < s->m.n; i++) {
        if (s->m.wavenumber[i] < low || s->m.wavenumber[i] > high)
            continue;
        s->m.mark[i] |= mark;
        if (mark & PELLET_POINT_UNUSABLE)
            s->m.absorbance[i] = NAN;
    }
}

/* Run a check on the standards of its row. */
static inline const struct pellet_finding *shapes_run(struct shapes *s, const struct pellet_check *check)
{
    struct pellet_rule rule;
    pellet_rule_standard(check, &rule);
    pellet_finding_init(check, &s->finding);
    check->run(&s->m, &rule, &s->finding);
    return &s->finding;
}

static inline const struct pellet_finding *shapes_run_rule(struct shapes *s, const struct pellet_check *check,
                                                           const struct pellet_rule *rule)
{
    pellet_finding_init(check, &s->finding);
    check->run(&s->m, rule, &s->finding);
    return &s->finding;
}

/* What every not_checked finding must look like. */
static inline void assert_not_checked(const struct pellet_finding *finding, enum pellet_phrase phrase)
{
    assert_int_equal(finding->outcome, PELLET_NOT_CHECKED);
    assert_int_equal(finding->phrase, phrase);
    assert_true(isnan(finding->value));
}

static inline void assert_outcome(const struct pellet_finding *finding, enum pellet_outcome outcome,
                                  enum pellet_phrase phrase)
{
    assert_string_equal(pellet_outcome_id(finding->outcome), pellet_outcome_id(outcome));
    assert_int_equal(finding->phrase, phrase);
}

/* The same numbers on every machine: a 64-bit linear congruence (Knuth, MMIX), uniform in 0..1. */
static inline double shapes_random(uint64_t *state)
{
    *state = *state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (double)(*state >> 11) / 9007199254740992.0;
}

#endif
