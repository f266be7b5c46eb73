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

/*
 * Local quadratic about point i in u = (x - x_i) / half; coefficient `order` or NaN with too few points. The
 * points within half are sought from where the window before this one began and ended.
 */
static double local_quadratic(struct pellet_grid grid, const double *y, size_t i, double half, size_t order,
                              struct window *window)
{
    const double x = grid.wavenumber[i], scale = 1 / half;
    struct moments m = {0};

    window_move(grid, x, half, window);
    for (size_t k = window->first; k < window->last; k++) {
        const double u = (grid.wavenumber[k] - x) * scale, square = u * u;

        if (isnan(y[k]))
            continue;
        m.u0++;
        m.u1 += u;
        m.u2 += square;
        m.u3 += square * u;
        m.u4 += square * square;
        m.y0 += y[k];
        m.y1 += y[k] * u;
        m.y2 += y[k] * square;
    }
    return quadratic_of(&m, order);
}

pellet_status pellet_second_derivative(struct pellet_grid grid, const double *y, double width, double *out)
{
    struct window window = {0};
    double half;

    if (grid.n < 3)
        return PELLET_E_SHORT;
    if (!(width > 0) || isinf(width))
        return PELLET_E_RANGE;
    /* Five points at least: with three the quadratic would go through the noise of each. */
    half = fmax(width / 2, 2 * pellet_grid_spacing(grid)) * (1 + EDGE_SLACK);
    for (size_t i = 0; i < grid.n; i++)
        out[i] = isnan(y[i]) ? NAN : 2 * local_quadratic(grid, y, i, half, 2, &window) / (half * half);
    return PELLET_OK;
}

pellet_status pellet_smooth_quadratic(struct pellet_grid grid, const double *y, double width, double *out)
{
    const double spacing = pellet_grid_spacing(grid);
    struct window window = {0};

    if (grid.n < 3)
        return PELLET_E_SHORT;
    if (!(width > 0) || isinf(width))
        return PELLET_E_RANGE;
    for (size_t i = 0; i < grid.n; i++) {
        double half = half_width(grid, i, width);
        double value = width < 4 * spacing ? NAN : local_quadratic(grid, y, i, half, 0, &window);

        out[i] = isnan(value) ? y[i] : value;
        if (isnan(y[i]))
            out[i] = NAN;
    }
    return PELLET_OK;
}
