// SPDX-License-Identifier: GPL-3.0-or-later
#include "pellet/signal.h"

#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_interp.h>

#include "signal/least.h"

/* A mean needs this share of its window's points. */
static const double USABLE_SHARE = 0.8;

/* The first index whose wavenumber is not below `value`; n where there is none. */
static size_t first_not_below(struct pellet_grid grid, double value)
{
    size_t low = 0, high = grid.n;

    while (low < high) {
        const size_t middle = low + (high - low) / 2;

        if (grid.wavenumber[middle] < value)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

void pellet_grid_window(struct pellet_grid grid, double low, double high, size_t *first, size_t *last)
{
    const size_t begin = first_not_below(grid, low);
    size_t end = first_not_below(grid, high);

    if (end < grid.n && grid.wavenumber[end] <= high)
        end++;
    *first = begin;
    *last = end > begin ? end : begin;
}

double pellet_grid_spacing(struct pellet_grid grid)
{
    if (grid.n < 2)
        return NAN;
    return (grid.wavenumber[grid.n - 1] - grid.wavenumber[0]) / (double)(grid.n - 1);
}

double pellet_grid_at(struct pellet_grid grid, const double *y, double wavenumber)
{
    const size_t right = first_not_below(grid, wavenumber);
    double share;

    if (right == grid.n || !(wavenumber >= grid.wavenumber[0]))
        return NAN;
    if (grid.wavenumber[right] <= wavenumber)
        return y[right];
    share = (wavenumber - grid.wavenumber[right - 1]) / (grid.wavenumber[right] - grid.wavenumber[right - 1]);
    return y[right - 1] + share * (y[right] - y[right - 1]);
}

/* Adds the trapezoid between two points to area and length, unless one of them cannot be used. */
static void add_trapezoid(double x0, double y0, double x1, double y1, double *area, double *length)
{
    if (isnan(y0) || isnan(y1))
        return;
    *area += (x1 - x0) * (y0 + y1) / 2;
    *length += x1 - x0;
}

pellet_status pellet_grid_mean(struct pellet_grid grid, const double *y, double low, double high,
                               double *mean)
{
    size_t first, last, usable = 0;
    double area = 0, length = 0, x, value;

    if (grid.n < 2 || !(low < high) || low < grid.wavenumber[0] || high > grid.wavenumber[grid.n - 1])
        return PELLET_E_RANGE;
    pellet_grid_window(grid, low, high, &first, &last);
    x = low;
    value = pellet_grid_at(grid, y, low);
    for (size_t i = first; i < last; i++) {
        usable += isnan(y[i]) ? 0 : 1;
        add_trapezoid(x, value, grid.wavenumber[i], y[i], &area, &length);
        x = grid.wavenumber[i];
        value = y[i];
    }
    add_trapezoid(x, value, high, pellet_grid_at(grid, y, high), &area, &length);
    if (!(length > 0) || (double)usable < USABLE_SHARE * (double)(last - first))
        return PELLET_E_SHORT;
    *mean = area / length;
    return PELLET_OK;
}

/* One run of usable points onto the part of `to` that it covers. */
static pellet_status resample_run(const double *x, const double *y, size_t n, struct pellet_grid to,
                                  double *out)
{
    pellet_status status = PELLET_OK;
    gsl_interp *spline = NULL;
    gsl_interp_accel *place = NULL;
    size_t first, last;
    int made;

    pellet_grid_window(to, x[0], x[n - 1], &first, &last);
    if (first == last)
        return PELLET_OK;
    if (n == 1) { /* the window is this one wavenumber */
        out[first] = y[0];
        return PELLET_OK;
    }
    spline = gsl_interp_alloc(n < 3 ? gsl_interp_linear : gsl_interp_cspline, n);
    place = gsl_interp_accel_alloc();
    if (spline == NULL || place == NULL)
        status = PELLET_E_MEMORY;
    else if ((made = gsl_interp_init(spline, x, y, n)) != GSL_SUCCESS)
        status = made == GSL_ENOMEM ? PELLET_E_MEMORY : PELLET_E_FIT;
    for (size_t i = first; status == PELLET_OK && i < last; i++)
        out[i] = gsl_interp_eval(spline, x, y, to.wavenumber[i], place);
    gsl_interp_free(spline);
    gsl_interp_accel_free(place);
    return status;
}

pellet_status pellet_grid_resample(struct pellet_grid from, const double *y, struct pellet_grid to,
                                   double *out)
{
    pellet_status status = PELLET_OK;
    double *result;

    signal_quiet_gsl();
    if (from.n < 2)
        return PELLET_E_SHORT;
    result = malloc((to.n ? to.n : 1) * sizeof *result);
    if (result == NULL)
        return PELLET_E_MEMORY;
    for (size_t i = 0; i < to.n; i++)
        result[i] = NAN;
    for (size_t i = 0; status == PELLET_OK && i < from.n;) {
        size_t end = i;

        while (end < from.n && !isnan(y[end]))
            end++;
        if (end > i)
            status = resample_run(from.wavenumber + i, y + i, end - i, to, result);
        i = end + 1;
    }
    for (size_t i = 0; status == PELLET_OK && i < to.n; i++)
        out[i] = result[i];
    free(result);
    return status;
}
