// SPDX-License-Identifier: GPL-3.0-or-later
#include "pellet/signal.h"

#include <math.h>

#include "signal/least.h"

/* The window, and how far the centre may be from where the extreme is, in the widths given, to each side. */
static const double WINDOW_WIDTHS = 2.5, CENTRE_WIDTHS = 1.0;
/* The centres and half widths that are tried first, as a share of the width given; the search then halves its
 * steps so often. */
static const double CENTRE_STEP = 0.2;
static const double gammas[] = {0.2, 0.32, 0.5, 0.8};
static const size_t HALVINGS = 5;
static const size_t POINTS_MIN = 10;

enum { EVEN, LEVEL, SLOPE, ODD, TERMS }; /* ODD last: without it there are TERMS - 1 */

/* The points of the window, borrowed. */
struct window {
    const double *x, *y;
    size_t n;
    double middle, width, origin; /* origin: what is taken off y, for the sums' sake */
};

/* A place and a width tried, and what they leave. */
struct trial {
    double at, gamma; /* in widths, from the middle */
    double ssr;       /* infinite where it cannot be fitted */
    double c[TERMS];
    size_t points;
};

static struct trial fit(const struct window *window, size_t terms, double at, double gamma)
{
    struct trial trial = {.at = at, .gamma = gamma, .ssr = HUGE_VAL};
    struct signal_least sums;

    signal_least_start(&sums, terms);
    for (size_t i = 0; i < window->n; i++) {
        const double u = (window->x[i] - window->middle) / window->width;
        const double x = (u - at) / gamma, q = 1 / (1 + x * x);
        const double row[TERMS] = {[EVEN] = q, [LEVEL] = 1, [SLOPE] = u, [ODD] = x * q};

        if (!isnan(window->y[i]))
            signal_least_add(&sums, row, window->y[i] - window->origin, 1);
    }
    trial.points = sums.rows;
    if (sums.rows < POINTS_MIN || signal_least_solve(&sums, trial.c, NULL, &trial.ssr) != PELLET_OK)
        trial.ssr = HUGE_VAL;
    return trial;
}

static void keep_better(struct trial *best, const struct trial *tried)
{
    if (tried->ssr < best->ssr)
        *best = *tried;
}

/* The best place and width: all of a coarse mesh, then around the best with ever smaller steps. */
static struct trial search(const struct window *window, size_t terms)
{
    struct trial best = {.ssr = HUGE_VAL};
    double step = CENTRE_STEP, stretch = 1.25;

    for (double at = -CENTRE_WIDTHS; at < CENTRE_WIDTHS + step / 2; at += step) {
        for (size_t k = 0; k < sizeof gammas / sizeof gammas[0]; k++) {
            const struct trial tried = fit(window, terms, at, gammas[k]);
            keep_better(&best, &tried);
        }
    }
    for (size_t turn = 0; turn < HALVINGS; turn++) {
        const struct trial centre = best;

        step /= 2;
        for (int side = -1; side <= 1; side += 2) {
            const struct trial moved = fit(window, terms, centre.at + side * step, centre.gamma);
            const struct trial widened = fit(window, terms, centre.at, centre.gamma * pow(stretch, side));
            keep_better(&best, &moved);
            keep_better(&best, &widened);
        }
        stretch = sqrt(stretch);
    }
    return best;
}

pellet_status pellet_profile_fit(struct pellet_grid grid, const double *y, double at_cm1, double width_cm1,
                                 struct pellet_profile *profile)
{
    struct window window = {.middle = at_cm1, .width = width_cm1};
    size_t first, last;

    if (!(width_cm1 > 0))
        return PELLET_E_RANGE;
    pellet_grid_window(grid, at_cm1 - WINDOW_WIDTHS * width_cm1, at_cm1 + WINDOW_WIDTHS * width_cm1, &first,
                       &last);
    for (size_t i = first; i < last && window.n == 0; i++) {
        if (!isnan(y[i])) {
            window.origin = y[i];
            window.x = grid.wavenumber + i;
            window.y = y + i;
            window.n = last - i;
        }
    }
    const struct trial whole = search(&window, TERMS), even = search(&window, TERMS - 1);
    if (!isfinite(whole.ssr) || !isfinite(even.ssr))
        return PELLET_E_SHORT;
    *profile = (struct pellet_profile){
        .a = whole.c[EVEN],
        .d = whole.c[ODD],
        .at_cm1 = at_cm1 + whole.at * width_cm1,
        .gamma_cm1 = whole.gamma * width_cm1,
        .rms = sqrt(whole.ssr / (double)whole.points),
        .rms_even = sqrt(even.ssr / (double)even.points),
        .points = whole.points,
    };
    return PELLET_OK;
}
