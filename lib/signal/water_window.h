// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * One of the two windows in which liquid water is fitted: what is fixed for it (water_kind.c), its data and
 * the sample's bands in it (water_window.c), one fit (water_fit.c).
 */
#ifndef PELLET_SIGNAL_WATER_WINDOW_H
#define PELLET_SIGNAL_WATER_WINDOW_H

#include "pellet/signal.h"

#define SIGNAL_TAILS_MAX 5

/* What is fixed for a window; see the table in water_kind.c. */
struct signal_water_kind {
    double low, high; /* of the fit */
    double centre;    /* the table is moved and stretched about this, */
    double still_low, moved_low, moved_high,
        still_high;      /* wholly from moved_low to moved_high, fading to still */
    double step;         /* cm-1 of the means that are fitted */
    double shift_max;    /* cm-1, either way */
    double half;         /* the middle of the band: centre +- half */
    double seen_min;     /* the share of the middle that the sample's bands must leave to be seen */
    double zone;         /* a band this near the centre may be water's, */
    double broad_width;  /* bands broader than this hide nothing: they are fitted whole, as Gaussians */
    double sample_width; /* unless it is narrower than this; further away all bands are the sample's */
    size_t background;   /* coefficients of the polynomial background */
};

enum { SIGNAL_WATER_STRETCH, SIGNAL_WATER_BEND, SIGNAL_WATER_KINDS };
extern const struct signal_water_kind signal_water_kinds[SIGNAL_WATER_KINDS];

/* Water, the background with one coefficient more than usual, and the flanks. */
#define SIGNAL_WATER_TERMS (1 + 4 + 2 * SIGNAL_TAILS_MAX)

/* The window's data in steps. Owns x. n is 0 where the spectrum does not reach. */
struct signal_water_window {
    const struct signal_water_kind *kind;
    size_t n;
    double *x, *y, *rest, *scratch;
    double *doubt;                     /* what the flanks fitted may be wrong by at each step, squared */
    unsigned char *covered;            /* in the core of a band of the sample; none once it is prepared */
    double (*row)[SIGNAL_WATER_TERMS]; /* at each step: the table, the background's powers, the flanks */
    double *outside;   /* what the background of the points outside water's band leaves: where fits start */
    size_t background; /* coefficients of the polynomial: the kind's, or one more to see what that changes */
    double noise;      /* of one step */
    bool hidden;       /* the sample's bands leave too little of water's band to be seen */
    size_t tails;      /* bands of the sample whose flanks are fitted together with the water */
    double tail_at[SIGNAL_TAILS_MAX], tail_width[SIGNAL_TAILS_MAX], tail_height[SIGNAL_TAILS_MAX];
    bool tail_broad[SIGNAL_TAILS_MAX]; /* a Gaussian, all of it; else a Lorentzian beyond its core */
};

/* What one fit found. */
struct signal_water_answer {
    double ug_cm2, sigma;
    double misfit; /* rms of what is left in the middle of the band, as a share of the water's height there */
    double loss;   /* the smaller, the better the table fits at this shift and width */
};

/* The table moved by shift and stretched to width, per ug/cm2; a wider band is a lower one. */
double signal_water_pattern(const struct signal_water_kind *kind, double wavenumber, double shift,
                            double width);

/* The absorption of a fitted water, per ug/cm2: each band as it was moved, what lies below them as
 * tabulated. */
double signal_water_curve(const struct pellet_water *water, double wavenumber);

/*
 * Given:     band[count]  the bands found in y
 * Errors:    E_MEMORY. A spectrum that does not reach far enough gives n = 0.
 */
pellet_status signal_water_window_make(struct pellet_grid grid, const double *y, double noise,
                                       const struct pellet_band *band, size_t count,
                                       const struct signal_water_kind *kind,
                                       struct signal_water_window *window);
void signal_water_window_clear(struct signal_water_window *window);
/*
 * Look again as if the narrow bands in the zone were water's own, cut narrow by a neighbour of the sample;
 * the misfit tells whether they are. `hidden` follows.
 */
void signal_water_window_uncover(struct signal_water_window *window, const struct pellet_band *band,
                                 size_t count);
/* The steps in the core of a band of the sample are not looked at again. */
void signal_water_window_drop_covered(struct signal_water_window *window);
/*
 * Work out what no shift and no width changes: the rows but for the table, and the start of the fits. To be
 * called once `background` and the tails stand; the covered steps are dropped. Errors: E_SHORT, E_FIT.
 */
pellet_status signal_water_window_prepare(struct signal_water_window *window);
/* One fit at a given shift and width. Errors: E_SHORT, E_FIT; answer untouched. */
pellet_status signal_water_window_fit(struct signal_water_window *window, double shift, double width,
                                      struct signal_water_answer *answer);

/*
 * The most water (ug/cm2) for which there is room under the curve, roughly: what a low quartile of the points
 * in the middle of the band allows. NaN where the sample's bands leave no such point.
 */
double signal_water_window_room(struct signal_water_window *window);

/*
 * Add to answer->sigma what the choice of the background and of the sample's broad bands is worth: the same
 * fit with one more background coefficient, and with no broad band.
 */
void signal_water_window_doubt(struct signal_water_window *window, double shift, double width,
                               struct signal_water_answer *answer);

#endif
