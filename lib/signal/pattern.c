// SPDX-License-Identifier: GPL-3.0-or-later
#include "pellet/signal.h"

#include <math.h>
#include <stdlib.h>

#include "signal/least.h"

static const size_t POINTS_MIN = 10;
static const size_t TURNS = 12;
/* Huber's bound, in robust standard deviations: 95 % efficient where the noise is normal. */
static const double HUBER = 1.345;
/* The reach of one line, in widths at half height: a Gaussian is then below 1e-6 of its height. */
static const double LINE_REACH = 2.5;

/* Two curves freed of broad structure, only the points that count. */
struct pair {
    size_t n;
    double *y, *p, *scratch;
};

static pellet_status take_broad(struct pellet_grid grid, double *y, double broad, double *scratch)
{
    pellet_status status = pellet_smooth_quadratic(grid, y, broad, scratch);

    for (size_t i = 0; status == PELLET_OK && i < grid.n; i++)
        y[i] -= scratch[i];
    return status;
}

/* Fills pair->y and pair->p; both curves go through the same operator with the same points missing. */
static pellet_status make_pair(struct pellet_grid grid, const double *y, const double *pattern,
                               const unsigned char *use, double low, double high, double broad,
                               struct pair *pair)
{
    pellet_status status = PELLET_OK;
    size_t first, last;
    struct pellet_grid part;

    pellet_grid_window(grid, low, high, &first, &last);
    if (last - first < POINTS_MIN)
        return PELLET_E_SHORT;
    part = (struct pellet_grid){last - first, grid.wavenumber + first};
    pair->y = malloc(3 * part.n * sizeof *pair->y);
    if (pair->y == NULL)
        return PELLET_E_MEMORY;
    pair->p = pair->y + part.n;
    pair->scratch = pair->p + part.n;
    for (size_t i = 0; i < part.n; i++) {
        const bool usable =
            (use == NULL || use[first + i]) && !isnan(y[first + i]) && !isnan(pattern[first + i]);

        pair->y[i] = usable ? y[first + i] : NAN;
        pair->p[i] = usable ? pattern[first + i] : NAN;
    }
    if (broad > 0)
        status = take_broad(part, pair->y, broad, pair->scratch);
    if (status == PELLET_OK && broad > 0)
        status = take_broad(part, pair->p, broad, pair->scratch);
    for (size_t i = 0; i < part.n; i++) {
        if (isnan(pair->y[i]) || isnan(pair->p[i]))
            continue;
        pair->y[pair->n] = pair->y[i];
        pair->p[pair->n++] = pair->p[i];
    }
    return status == PELLET_OK && pair->n < POINTS_MIN ? PELLET_E_SHORT : status;
}

/* y = c0 + c1 p with the weights that follow from the rest of the last turn. */
static pellet_status robust_line(const struct pair *pair, double c[2], double inverse[4])
{
    double scale = 0;
    pellet_status status = PELLET_OK;

    for (size_t turn = 0; turn < TURNS; turn++) {
        struct signal_least sums;

        signal_least_start(&sums, 2);
        for (size_t i = 0; i < pair->n; i++) {
            const double row[2] = {1, pair->p[i]};
            const double rest = turn == 0 ? 0 : fabs(pair->y[i] - c[0] - c[1] * pair->p[i]);

            signal_least_add(&sums, row, pair->y[i], rest > HUBER * scale ? HUBER * scale / rest : 1);
        }
        status = signal_least_solve(&sums, c, inverse, NULL);
        if (status != PELLET_OK)
            return status;
        for (size_t i = 0; i < pair->n; i++)
            pair->scratch[i] = fabs(pair->y[i] - c[0] - c[1] * pair->p[i]);
        scale = 1.4826 * signal_median(pair->scratch, pair->n);
        if (!(scale > 0))
            break;
    }
    return status;
}

/* Pearson's correlation, the pattern's extremes, and the rest's size and lag-1 correlation. */
static void describe(const struct pair *pair, const double c[2], const double inverse[4],
                     struct pellet_pattern *fit)
{
    const double n = (double)pair->n;
    double y = 0, p = 0, yy = 0, pp = 0, yp = 0, low = HUGE_VAL, high = -HUGE_VAL;
    double squares = 0, lagged = 0, before = 0, correlation;

    for (size_t i = 0; i < pair->n; i++) {
        y += pair->y[i] / n;
        p += pair->p[i] / n;
    }
    for (size_t i = 0; i < pair->n; i++) {
        const double rest = pair->y[i] - c[0] - c[1] * pair->p[i];

        yy += (pair->y[i] - y) * (pair->y[i] - y);
        pp += (pair->p[i] - p) * (pair->p[i] - p);
        yp += (pair->y[i] - y) * (pair->p[i] - p);
        low = fmin(low, pair->p[i]);
        high = fmax(high, pair->p[i]);
        squares += rest * rest;
        lagged += rest * before;
        before = rest;
    }
    correlation = squares > 0 ? fmin(fmax(lagged / squares, 0), 0.95) : 0;
    fit->coefficient = c[1];
    fit->rms = sqrt(squares / (n - 2));
    /* Correlated noise carries (1 - rho)/(1 + rho) as many independent points. */
    fit->sigma = fit->rms * sqrt(inverse[3] * (1 + correlation) / (1 - correlation));
    fit->r = yy > 0 && pp > 0 ? yp / sqrt(yy * pp) : 0;
    fit->span = high - low;
    fit->points = pair->n;
}

pellet_status pellet_pattern_fit(struct pellet_grid grid, const double *y, const double *pattern,
                                 const unsigned char *use, double low, double high, double broad_cm1,
                                 struct pellet_pattern *fit)
{
    struct pair pair = {0};
    double c[2], inverse[4];
    pellet_status status;

    if (!(low < high) || !(broad_cm1 >= 0) || isinf(broad_cm1))
        return PELLET_E_RANGE;
    status = make_pair(grid, y, pattern, use, low, high, broad_cm1, &pair);
    if (status == PELLET_OK)
        status = robust_line(&pair, c, inverse);
    if (status == PELLET_OK)
        describe(&pair, c, inverse, fit);
    free(pair.y);
    return status;
}

pellet_status pellet_line_pattern(struct pellet_grid grid, const double *position, const double *intensity,
                                  size_t count, double fwhm, double *out)
{
    const double width = fmax(fwhm, pellet_grid_spacing(grid));
    double highest = 0;

    if (!(fwhm > 0) || isinf(fwhm))
        return PELLET_E_RANGE;
    if (grid.n < 2)
        return PELLET_E_SHORT;
    for (size_t i = 0; i < grid.n; i++)
        out[i] = 0;
    for (size_t k = 0; k < count; k++) {
        size_t first, last;

        pellet_grid_window(grid, position[k] - LINE_REACH * width, position[k] + LINE_REACH * width, &first,
                           &last);
        for (size_t i = first; i < last; i++) {
            const double u = (grid.wavenumber[i] - position[k]) / width;

            out[i] += intensity[k] * exp(-4 * M_LN2 * u * u);
        }
    }
    for (size_t i = 0; i < grid.n; i++)
        highest = fmax(highest, out[i]);
    for (size_t i = 0; highest > 0 && i < grid.n; i++)
        out[i] /= highest;
    return PELLET_OK;
}
