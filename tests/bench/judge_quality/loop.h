// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The closed loop: a pellet that is sent back is made again as the advice says, by a person who weighs to 0.2
 * mg and grinds as people do, and measured again. The person reads the printed instruction and knows nothing
 * else of the verdict, but for "the same fault twice", where the summary names the fault.
 */
#ifndef BENCH_LOOP_H
#define BENCH_LOOP_H

#include "bench.h"

#define LOOP_STEPS_MAX    10
#define LOOP_ATTEMPTS_MAX 4

/* A pellet on the bench: what is in it, what the person knows of it. */
struct loop_bench {
    struct bench_case now;           /* as it stands: the pellet, its blank, the instruments */
    bool has_sheet;                  /* the person keeps a worksheet */
    double die_mm, fraction;         /* truly: sample by mass of the mix */
    double pressed_mg;               /* truly */
    struct pellet_worksheet_row row; /* what was read off the balance */
    int pellet, scan;
    gsl_rng *rng;
};

/* What the printed instruction asks for; NaN: no mass. */
struct loop_orders {
    bool dry, grind, spread, clean, fresh_mix;
    double take_mg, add_kbr_mg, press_mg;
    double sample_factor, powder_factor; /* where there are no masses */
    bool new_pellet;                     /* though the verdict only asks to measure again */
    bool new_blank, zero, shut, whole_range, steady_air, instrument;
    double scans; /* times as many */
};
void loop_read(const char *instruction, struct loop_orders *orders);

/* Begin: weigh the case's pellet as it must have been weighed. */
void loop_begin(struct loop_bench *bench);
/* Whether a new pellet is asked for. */
bool loop_asks_for_pellet(const struct pellet_verdict *verdict);
/* Make the pellet again, as the advice says. */
void loop_remake(struct loop_bench *bench, const struct pellet_verdict *verdict);
/* Measure again, or make a new blank, as the advice says. */
void loop_measure_again(struct loop_bench *bench, const struct pellet_verdict *verdict);

/* The table of flank fits: pellets of 1.5 to 6 A, the true absorbance found against the true one. */
pellet_status loop_flanks(struct pellet_synth *model, const struct pellet_rules *rules,
                          const struct bench_options *options, FILE *out);

/* Measure and judge what stands on the bench. The caller clears verdict. */
struct loop_past {
    size_t n; /* newest first */
    struct loop_then {
        struct pellet_spectrum spectrum, blank;
        struct pellet_verdict verdict;
        struct pellet_worksheet_row row;
        int pellet, scan;
    } then[LOOP_ATTEMPTS_MAX];
};
pellet_status loop_judge(struct pellet_synth *model, const struct pellet_rules *rules,
                         const struct loop_bench *bench, size_t step, const struct loop_past *past,
                         struct loop_then *made, struct pellet_error *error);

#endif
