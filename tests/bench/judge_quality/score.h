// SPDX-License-Identifier: GPL-3.0-or-later
/* What is counted: by check, by condition, by fault; shared by score.c, which counts, and tables.c. */
#ifndef BENCH_SCORE_H
#define BENCH_SCORE_H

#include "bench.h"

/* ---------------------------------------------------------------- errors.c: lists of errors */

struct bench_errors {
    double *item;
    size_t n, capacity;
};
void bench_errors_push(struct bench_errors *errors, double value);               /* NaN is passed over */
double bench_errors_percentile(const struct bench_errors *errors, double share); /* NaN where empty */
void bench_errors_clear(struct bench_errors *errors);

/* ---------------------------------------------------------------- the counts */

/* What is counted for one check. */
struct bench_tally {
    const char *id;
    size_t over, found;         /* clear faults; named with the right outcome (or rightly silenced) */
    size_t silenced;            /* of those, behind a trust check that refuses with cause */
    size_t undecidable, passed; /* not decidable by definition; of those, called "pass" all the same */
    size_t under, alarmed;      /* well inside; refused, by a check that only notes: noted, all the same */
    struct bench_errors near;   /* |measured - true| over its tolerance, for truths of 0.5..2 limits */
    struct bench_errors ratio;  /* measured / true for the same */
};

#define BENCH_TALLIES 22

/* What is counted under one condition of the measurement. */
struct bench_condition {
    const char *name;
    bool (*holds)(const struct bench_case *of);
    size_t cases, right, good, sent_back;
    struct bench_errors water, thickness, transmittance, position;
};

#define BENCH_CONDITIONS 16
extern const struct bench_condition bench_conditions[BENCH_CONDITIONS]; /* conditions.c; nothing counted */

enum { BENCH_SAID_ACCEPTED, BENCH_SAID_PROVISIONAL, BENCH_SAID_REFUSED, BENCH_BLANK_STATES };

struct bench_score {
    size_t n;
    struct bench_tally tally[BENCH_TALLIES];
    /* A clear fault put in alone x the checks that spoke and whose own truth is no clear fault, or which are
     * that fault's; last column: none of them. */
    size_t matrix[BENCH_TALLIES][BENCH_TALLIES + 1], put_in[BENCH_TALLIES];
    struct bench_condition condition[BENCH_CONDITIONS]; /* the first holds always */
    size_t single, single_right, pair, pair_right;
    size_t blank[BENCH_BLANK_STATES][BENCH_BLANK_STATES]; /* as it should be x as said */
};

/* How far off a finding may be near the limit: 10 % of the truth or 0.005 A, whichever is more. */
double bench_tolerance(const struct bench_quantity *quantity, const struct pellet_finding *finding);

#endif
