// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The quality bench: pellets of the physical model with known faults, judged, and the judgement held against
 * the truth. A case is made (case.c), its truth worked out without noise (truth.c), judged (judge.c) and
 * scored (score.c). Nothing here looks at how a check works; only the definitions of the quantities are
 * shared.
 */
#ifndef BENCH_H
#define BENCH_H

#include "pellet/judge.h"
#include "pellet/synth.h"

#include <gsl/gsl_rng.h>
#include <stdio.h>

/* Beyond limit x CLEAR a fault is clear; within limit / CLEAR a quantity is well inside. */
#define BENCH_CLEAR 1.6

/* ---------------------------------------------------------------- a case */

struct bench_case {
    unsigned long seed;
    enum pellet_role role;
    struct pellet_synth_compound compound; /* of the subject: a relative of an invented one */
    struct pellet_synth_compound earlier;  /* of the sample before */
    struct pellet_synth_pellet subject, blank, before;
    struct pellet_synth_instrument beam, blank_beam, open_beam;
    double range_low, range_high; /* what the station asks for */
    const char *fault[2];         /* put in; NULL: none */
    double severity[2];           /* the quantity over its limit, as aimed at */
};

struct bench_options {
    unsigned long seed;
    size_t count;
    const char *only;     /* put in this fault alone; NULL: all */
    double least, most;   /* range of severities, log-uniform */
    const char *pictures; /* folder for the data of the worst cases; NULL: none */
};

/* The faults there are, by the name of the check that should speak; NULL past the end. */
const char *bench_fault_name(size_t i);

/*
 * Make case `index` of the run: compound, instrument and amounts at random, and no fault (one case in four),
 * one, or a pair (one in four). All from a generator seeded by options->seed and index.
 */
void bench_case_make(struct pellet_synth *model, const struct bench_options *options, size_t index,
                     struct bench_case *made);

/* ---------------------------------------------------------------- the truth */

enum bench_state { BENCH_UNDER, BENCH_GREY, BENCH_OVER };

/* What is true of one check's quantity. */
struct bench_quantity {
    const char *id;
    double value; /* NaN where the truth is not known or the check need not speak */
    double limit;
    double inside; /* well inside below this share of the limit */
    bool lower;    /* the limit is a lower one */
    enum bench_state state;
};

#define BENCH_QUANTITIES_MAX 20

struct bench_truth {
    size_t n;
    struct bench_quantity quantity[BENCH_QUANTITIES_MAX];
    double water_ug_cm2;       /* excess over the reference */
    double thickness_mm;       /* NaN where the fringes are too faint to show it */
    double transmittance_2000; /* against the open beam */
    double strongest_cm1;      /* NaN for a blank */
};

pellet_status bench_truth_find(struct pellet_synth *model, const struct bench_case *of,
                               struct bench_truth *truth);

/* The absorbance without noise, room air and fringes at the instrument's resolution; NULL when memory ran
 * out. */
struct bench_clean {
    size_t n;
    double *wavenumber, *absorbance;
};
pellet_status bench_clean_make(struct pellet_synth *model, const struct pellet_synth_pellet *subject,
                               const struct pellet_synth_pellet *reference,
                               const struct pellet_synth_instrument *subject_beam,
                               const struct pellet_synth_instrument *reference_beam,
                               struct bench_clean *clean);
void bench_clean_clear(struct bench_clean *clean);
/* Signed peak-to-peak height of the water-vapour lines, A. */
pellet_status bench_vapour_height(struct pellet_synth *model, const struct bench_case *of, double *height);

/* ---------------------------------------------------------------- judging and scoring */

/* Measure the case with its noise and judge it. The caller clears verdict and ratio. */
pellet_status bench_judge(struct pellet_synth *model, const struct pellet_rules *rules,
                          const struct bench_case *of, struct pellet_verdict *verdict,
                          struct pellet_spectrum *ratio, struct pellet_error *error);

struct bench_score;
struct bench_score *bench_score_new(void);
void bench_score_free(struct bench_score *score);
/* Returns whether the verdict was right. */
bool bench_score_add(struct bench_score *score, const struct bench_case *of, const struct bench_truth *truth,
                     const struct pellet_verdict *verdict);
void bench_score_print(const struct bench_score *score, FILE *out);

#endif
