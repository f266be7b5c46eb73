// SPDX-License-Identifier: GPL-3.0-or-later
#include "pellet/signal.h"

#include <math.h>
#include <stdlib.h>

/* Wavenumbers read from text differ in their last digits; an edge point must not come and go with them. */
static const double EDGE_SLACK = 1e-9;

/*
 * Half the width of a window centred on point i: near the ends it shrinks on both sides alike, so that it
 * stays centred and a straight line stays as it is.
 */
static double half_width(struct pellet_grid grid, size_t i, double width)
{
    const double x = grid.wavenumber[i];
    const double room = fmin(x - grid.wavenumber[0], grid.wavenumber[grid.n - 1] - x);

    return fmin(width / 2, room) + EDGE_SLACK * width;
}

/* The points within some distance of a place, that place among them. */
struct window {
    size_t first, last;
};

/* From one window to the next: both ends move as far as they must. */
static void window_move(struct pellet_grid grid, double x, double half, struct window *window)
{
    while (grid.wavenumber[window->first] < x - half)
        window->first++;
    while (window->first > 0 && grid.wavenumber[window->first - 1] >= x - half)
        window->first--;
    while (window->last < grid.n && grid.wavenumber[window->last] <= x + half)
        window->last++;
    while (window->last > window->first + 1 && grid.wavenumber[window->last - 1] > x + half)
        window->last--;
}

pellet_status pellet_smooth_boxcar(struct pellet_grid grid, const double *y, double width, double *out)
{
    struct window window = {0};
    double *sum, *count;

    if (grid.n < 2)
        return PELLET_E_SHORT;
    if (!(width > 0) || isinf(width))
        return PELLET_E_RANGE;
    sum = calloc(2 * (grid.n + 1), sizeof *sum);
    if (sum == NULL)
        return PELLET_E_MEMORY;
    count = sum + grid.n + 1;
    for (size_t i = 0; i < grid.n; i++) {
        sum[i + 1] = sum[i] + (isnan(y[i]) ? 0 : y[i]);
        count[i + 1] = count[i] + !isnan(y[i]);
    }
    for (size_t i = 0; i < grid.n; i++) {
        window_move(grid, grid.wavenumber[i], half_width(grid, i, width), &window);
        out[i] = isnan(y[i])
                     ? NAN
                     : (sum[window.last] - sum[window.first]) / (count[window.last] - count[window.first]);
    }
    free(sum);
    return PELLET_OK;
}

/* Below this share of a diagonal element its pivot is rounding: the points do not make a quadratic. */
static const double PIVOT_MIN = 1e-13;

/* Sums of the powers of u, and of y times those: the normal equations of a quadratic. */
struct moments {
    double u0, u1, u2, u3, u4, y0, y1, y2;
};

/* The quadratic's coefficient `order`, by the square-root free Cholesky factors of the normal equations. */
static double quadratic_of(const struct moments *m, size_t order)
{
    const double l1 = m->u1 / m->u0, l2 = m->u2 / m->u0;
    const double d1 = m->u2 - l1 * m->u1, cross = m->u3 - l2 * m->u1,
                 d2 = m->u4 - l2 * m->u2 - cross * cross / d1;
    double c[3];

    if (!(m->u0 >= 3) || !(d1 > PIVOT_MIN * m->u2) || !(d2 > PIVOT_MIN * m->u4))
        return NAN;
    const double right1 = m->y1 - l1 * m->y0;
    c[2] = (m->y2 - l2 * m->y0 - cross / d1 * right1) / d2;
    c[1] = (right1 - cross * c[2]) / d1;
    c[0] = (m->y0 - m->u1 * c[1] - m->u2 * c[2]) / m->u0;
    return c[order];
}

static void add_point(struct moments *m, double u, double y)
{
    const double square = u * u;

    if (isnan(y))
        return;
    m->u0++;
    m->u1 += u;
    m->u2 += square;
    m->u3 += square * u;
    m->u4 += square * square;
    m->y0 += y;
    m->y1 += y * u;
    m->y2 += y * square;
}

/* The moments of points that lie `by` further on; by the binomial theorem. */
static void add_moved(struct moments *m, const struct moments *from, double by)
{
    const double square = by * by;

    m->u0 += from->u0;
    m->u1 += from->u1 + by * from->u0;
    m->u2 += from->u2 + 2 * by * from->u1 + square * from->u0;
    m->u3 += from->u3 + 3 * by * from->u2 + 3 * square * from->u1 + square * by * from->u0;
    m->u4 += from->u4 + 4 * by * from->u3 + 6 * square * from->u2 + 4 * square * by * from->u1 +
             square * square * from->u0;
    m->y0 += from->y0;
    m->y1 += from->y1 + by * from->y0;
    m->y2 += from->y2 + 2 * by * from->y1 + square * from->y0;
}

/* A window of fewer points is summed point by point. */
static const double BLOCKS_FROM = 200;

/*
 * A curve whose local quadratics are sought. Where a window holds many points, each run of `block` of them is
 * summed once, about its first, and goes into the windows as a whole: else the time would grow with the
 * square of the points. Owns of_block.
 */
struct local {
    struct pellet_grid grid;
    const double *y;
    double scale; /* of the distances, per cm-1 */
    size_t block; /* points; 0: none are summed */
    struct moments *of_block;
    struct window window; /* the one before, from where the next is sought */
};

static pellet_status local_start(struct local *local, struct pellet_grid grid, const double *y, double half)
{
    const double points = 2 * half / pellet_grid_spacing(grid);

    *local = (struct local){.grid = grid, .y = y, .scale = 1 / half};
    if (!(points >= BLOCKS_FROM))
        return PELLET_OK;
    local->block = (size_t)sqrt(fmin(points, (double)grid.n));
    local->of_block = calloc(grid.n / local->block + 1, sizeof *local->of_block);
    if (local->of_block == NULL)
        return PELLET_E_MEMORY;
    for (size_t i = 0; i < grid.n; i++) {
        const size_t block = i / local->block;
        const double from = grid.wavenumber[block * local->block];

        add_point(&local->of_block[block], (grid.wavenumber[i] - from) * local->scale, y[i]);
    }
    return PELLET_OK;
}

static void add_points(struct moments *m, const struct local *local, double x, size_t first, size_t last)
{
    for (size_t k = first; k < last; k++)
        add_point(m, (local->grid.wavenumber[k] - x) * local->scale, local->y[k]);
}

/* Coefficient `order` of the local quadratic about point i in u = (x - x_i) scale; NaN with too few
 * points. */
static double local_quadratic(struct local *local, size_t i, double half, size_t order)
{
    const double *at = local->grid.wavenumber, x = at[i];
    struct window *window = &local->window;
    struct moments m = {0};

    window_move(local->grid, x, half, window);
    size_t whole = window->last, end = window->last; /* where the whole blocks begin and end */
    if (local->block > 0) {
        whole = (window->first + local->block - 1) / local->block * local->block;
        end = window->last / local->block * local->block;
    }
    if (whole >= end)
        whole = end = window->last;
    add_points(&m, local, x, window->first, whole);
    for (size_t k = whole; k < end; k += local->block)
        add_moved(&m, &local->of_block[k / local->block], (at[k] - x) * local->scale);
    add_points(&m, local, x, end, window->last);
    return quadratic_of(&m, order);
}

pellet_status pellet_second_derivative(struct pellet_grid grid, const double *y, double width, double *out)
{
    struct local local;
    double half;

    if (grid.n < 3)
        return PELLET_E_SHORT;
    if (!(width > 0) || isinf(width))
        return PELLET_E_RANGE;
    /* Five points at least: with three the quadratic would go through the noise of each. */
    half = fmax(width / 2, 2 * pellet_grid_spacing(grid)) * (1 + EDGE_SLACK);
    const pellet_status status = local_start(&local, grid, y, half);
    for (size_t i = 0; status == PELLET_OK && i < grid.n; i++)
        out[i] = isnan(y[i]) ? NAN : 2 * local_quadratic(&local, i, half, 2) / (half * half);
    free(local.of_block);
    return status;
}

pellet_status pellet_smooth_quadratic(struct pellet_grid grid, const double *y, double width, double *out)
{
    const double spacing = pellet_grid_spacing(grid);
    struct local local;

    if (grid.n < 3)
        return PELLET_E_SHORT;
    if (!(width > 0) || isinf(width))
        return PELLET_E_RANGE;
    const pellet_status status = local_start(&local, grid, y, width / 2);
    for (size_t i = 0; status == PELLET_OK && i < grid.n; i++) {
        double half = half_width(grid, i, width);
        double value = width < 4 * spacing ? NAN : local_quadratic(&local, i, half, 0);

        out[i] = isnan(value) ? y[i] : value;
        if (isnan(y[i]))
            out[i] = NAN;
    }
    free(local.of_block);
    return status;
}
