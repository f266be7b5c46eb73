// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Private to signal/: the fit of a band from its flanks in three parts. flank_problem.c takes what there is
 * to fit, flank_model.c has the model and fits it once, flank.c joins what several suppositions come to.
 */
#ifndef PELLET_SIGNAL_FLANK_H
#define PELLET_SIGNAL_FLANK_H

#include "pellet/signal.h"

/* Points of the data and of the model's own grid, and neighbours that are fitted along. */
#define FLANK_POINTS_MAX     160
#define FLANK_FINE_MAX       1200
#define FLANK_NEIGHBOURS_MAX 5
#define FLANK_SHOULDERS      2
#define FLANK_OTHERS_MAX     (FLANK_NEIGHBOURS_MAX + FLANK_SHOULDERS)

struct flank_problem {
    const struct pellet_band *band;
    size_t neighbours;
    const struct pellet_band
        *other[FLANK_OTHERS_MAX]; /* neighbours that were found, then drowned shoulders */
    struct pellet_band shoulder[FLANK_SHOULDERS];
    size_t n;
    double nu[FLANK_POINTS_MAX], t[FLANK_POINTS_MAX], sigma[FLANK_POINTS_MAX];
    size_t fine_n, taps;
    double fine_low, fine_step;
    double base[FLANK_FINE_MAX]; /* the baseline, A */
    size_t first[FLANK_POINTS_MAX];
    double *weight; /* of the line shape, taps for each data point; owned */
};

/* What is given, as pellet_flank_fit has it. */
struct flank_data {
    struct pellet_grid grid;
    const double *transmittance, *sigma, *baseline;
    const struct pellet_band *bands;
    size_t count, which;
    enum pellet_line line;
    double resolution;
};

/* Fill a problem that is all zero. E_SHORT, E_MEMORY; flank_problem_clear in either case. */
pellet_status flank_problem_take(const struct flank_data *data, struct flank_problem *problem);
void flank_problem_clear(struct flank_problem *problem);

/* What the height starts from, and what is supposed of the shape. */
struct flank_variant {
    double start;       /* of the height, in what is seen of it */
    double logit, sure; /* the mix of shapes and how sure it is */
    double zero;        /* how large a false zero may be: T, 1 sigma */
    bool shoulders;     /* two more bands may have drowned in the top */
};

struct flank_answer {
    bool ok;
    double log_top, variance; /* of the natural logarithm of the height */
    double squares, zero, width_cm1;
};

/* One fit. E_MEMORY; a fit that comes to nothing is not ok. */
pellet_status flank_fit_once(const struct flank_problem *problem, const struct flank_variant *variant,
                             struct flank_answer *answer);

#endif
