// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The quality bench: pellets of the physical model with known faults, judged, and the judgement held against
 * the truth. A case is made (case.c, faults.c), its truth worked out without noise (truth.c and what it
 * calls), judged (judging.c), scored (score.c) and printed (tables.c, describe.c, worst.c). Nothing here
 * looks at how a check works; only the definitions of the quantities, design.md section 5, are shared.
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

/* What became of the sample's blank. */
enum bench_pairing {
    BENCH_PAIRED, /* there is one, blank_age_min old; older than the rules allow: it is not handed over */
    BENCH_ALL_REFUSED, /* there were only refused ones */
    BENCH_CONFLICT     /* it was measured at another resolution */
};

struct bench_case {
    unsigned long seed;
    enum pellet_role role;
    struct pellet_synth_compound compound; /* of the subject: a relative of an invented one */
    struct pellet_synth_compound earlier;  /* of the sample before */
    struct pellet_synth_pellet subject, blank, before;
    struct pellet_synth_instrument beam, blank_beam, open_beam;
    bool has_open_beam;
    bool is_later_blank; /* without an open beam: judged as a difference from `blank`, the session's first */
    bool is_second_attempt; /* the pellet before, of the same sample, was too strong and is handed over */
    enum bench_pairing pairing;
    double blank_age_min;
    double pressed_mg;            /* on the worksheet, for a die of BENCH_DIE_MM; NaN: no worksheet */
    double range_low, range_high; /* what the station asks for */
    const char *fault[2];         /* put in; NULL: none */
    double severity[2];           /* the quantity over its limit, as aimed at */
};

#define BENCH_DIE_MM      13.0
#define BENCH_MAX_AGE_MIN 60.0 /* blank.max_age of `routine` */

struct bench_options {
    unsigned long seed;
    size_t count;
    const char *only;   /* put in this fault alone, or "none"; NULL: all */
    double least, most; /* range of severities, log-uniform */
};

/*
 * Make case `index` of the run: compound, instrument and amounts at random, and no fault (one case in four),
 * one, or a pair (one in four). All from a generator seeded by options->seed and index.
 */
void bench_case_make(struct pellet_synth *model, const struct bench_options *options, size_t index,
                     struct bench_case *made);

/* Dose of the sample for a strongest band of `height` A at unlimited resolution. */
void bench_set_height(struct bench_case *c, double height);

/* The faults there are, by the name of the check that should speak; NULL past the end. */
const char *bench_fault_name(size_t i);
bool bench_fault_fits(size_t fault, enum pellet_role role);
void bench_faults_put(struct pellet_synth *model, gsl_rng *rng, const struct bench_options *options,
                      size_t wanted, struct bench_case *c);

/* ---------------------------------------------------------------- the truth */

enum bench_state {
    BENCH_UNDER,      /* well inside the limit */
    BENCH_GREY,       /* near it, or not known */
    BENCH_OVER,       /* a clear fault */
    BENCH_UNDECIDABLE /* a clear fault that by the definition of its check cannot be decided in this spectrum
                       */
};

/* What is true of one check's quantity. */
struct bench_quantity {
    const char *id;
    double value; /* NaN where the truth is not known or the check need not speak */
    double limit;
    double inside; /* well inside below this share of the limit */
    bool lower;    /* the limit is a lower one */
    enum bench_state state;
};

/* Value over limit, for a lower limit the other way round: above 1 is beyond. */
double bench_strain(const struct bench_quantity *quantity);

#define BENCH_QUANTITIES_MAX 24

struct bench_truth {
    size_t n;
    struct bench_quantity quantity[BENCH_QUANTITIES_MAX];
    double water_ug_cm2;  /* excess over the reference; NaN where the reference shows none of it */
    double thickness_mm;  /* NaN where the fringes are too faint or too fine to show it */
    double transmittance; /* at 2000: against the open beam, without one against the blank; or NaN */
    double strongest_cm1; /* NaN for a blank */
};

pellet_status bench_truth_find(struct pellet_synth *model, const struct pellet_rules *rules,
                               const struct bench_case *of, struct bench_truth *truth);
const struct bench_quantity *bench_quantity_of(const struct bench_truth *truth, const char *id);

/* ---------------------------------------------------------------- judging and scoring */

/* Measure the case with its noise and judge it. The caller clears verdict and ratio. */
pellet_status bench_judge(struct pellet_synth *model, const struct pellet_rules *rules,
                          const struct bench_case *of, struct pellet_verdict *verdict,
                          struct pellet_spectrum *ratio, struct pellet_error *error);

/* What was wrong about one verdict. */
struct bench_misjudged {
    bool wrong;
    double badness; /* how far the worst wrong check is from right: ln of its truth over its limit */
    const char *id; /* that check */
    char why[256];  /* in words */
};

struct bench_score;
struct bench_score *bench_score_new(void);
void bench_score_free(struct bench_score *score);
/* Count one case. */
void bench_score_add(struct bench_score *score, const struct bench_case *of, const struct bench_truth *truth,
                     const struct pellet_verdict *verdict, struct bench_misjudged *misjudged);
void bench_score_print(const struct bench_score *score, FILE *out);

/* One case in three lines: what was put in, what is true, what was said. */
void bench_describe(FILE *out, size_t index, const struct bench_case *of, const struct bench_truth *truth,
                    const struct pellet_verdict *verdict);

/* ---------------------------------------------------------------- the worst ones, as pictures */

struct bench_worst;
/* Keep the `count` worst misjudged cases. NULL when memory ran out. */
struct bench_worst *bench_worst_new(size_t count);
void bench_worst_free(struct bench_worst *worst);
pellet_status bench_worst_add(struct bench_worst *worst, size_t index,
                              const struct bench_misjudged *misjudged, const struct bench_case *of,
                              const struct bench_truth *truth, const struct pellet_verdict *verdict,
                              const struct pellet_spectrum *ratio);
/* folder/worst-01.svg and so on, and a line on each to `out`. */
pellet_status bench_worst_write(const struct bench_worst *worst, const char *folder, FILE *out);

#endif
