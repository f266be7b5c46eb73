// SPDX-License-Identifier: GPL-3.0-or-later
#include "pellet/signal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_blas.h>
#include <gsl/gsl_multifit_nlinear.h>

#include "signal/least.h"

/* What enters the curve as a factor, and is found by linear least squares wherever the band is; what is
 * searched for, the places gamma below and above its centre, which start at -1 and 1; all of them in one row.
 */
enum { A, D, LEVEL, SLOPE, FACTORS };
enum { LOW, HIGH, SEARCHED };
enum { PARAMETERS = FACTORS + SEARCHED };

static const double POINTS_MIN = 8;
static const size_t TURNS_MAX = 60;
/* gamma may move away from the start by this factor, the position by this many starting gammas. */
static const double GAMMA_FACTOR = 3;
static const double MOVE = 1;
/* What is left of a fit that describes its band, as a share of a. */
static const double REST_SHARE = 0.05;
/* How often the window may follow the shape, how many times it goes all the way before it goes half of it
 * (some swing to and fro), and the change of place or width, in gammas, that is none. */
static const size_t WINDOWS_MAX = 16, WHOLE_STEPS = 4;
static const double AT_REST = 0.02;
/* How far the fit is carried on to see what stands beside the band, in its own reach. */
static const double BEYOND = 4.0 / 3;
/* The change of place and width, in gammas, at which one fit has converged: far below that. */
static const double CONVERGED = 1e-6;

/* The points of the window, wavenumber counted from the band in half widths of it; borrowed by the fit. */
struct window {
    size_t n;
    double *x, *y;
    double *share; /* of the stretch of spectrum that the point stands for, how much is in the window */
    double points; /* the sum of the shares */
};

/* Where the band is, in the same units. */
struct place {
    double at, gamma;
};

static struct place place_of(const gsl_vector *p)
{
    const double low = gsl_vector_get(p, LOW), high = gsl_vector_get(p, HIGH);

    return (struct place){.at = (high + low) / 2, .gamma = (high - low) / 2};
}

/* What multiplies the factors at a point. */
static void set_terms(double x, struct place place, double *row)
{
    const double v = (x - place.at) / place.gamma, q = 1 + v * v;

    row[A] = 1 / q;
    row[D] = v / q;
    row[LEVEL] = 1;
    row[SLOPE] = x;
}

/* How the curve changes with LOW and HIGH at a point, the factors held. */
static void set_changes(double x, struct place place, const double *factor, double *change)
{
    const double v = (x - place.at) / place.gamma, q = 1 + v * v;
    const double by_v = (factor[D] * q - (factor[A] + factor[D] * v) * 2 * v) / (q * q);
    const double by_at = -by_v / place.gamma, by_gamma = by_at * v;

    change[LOW] = (by_at - by_gamma) / 2;
    change[HIGH] = (by_at + by_gamma) / 2;
}

/* The best factors at this place and width. */
static pellet_status factors_find(const struct window *window, struct place place, double *factor)
{
    struct signal_least sums;
    double row[FACTORS];

    signal_least_start(&sums, FACTORS);
    for (size_t i = 0; i < window->n; i++) {
        set_terms(window->x[i], place, row);
        signal_least_add(&sums, row, window->y[i], window->share[i]);
    }
    return signal_least_solve(&sums, factor, NULL, NULL);
}

static int residuals(const gsl_vector *p, void *context, gsl_vector *f)
{
    const struct window *window = context;
    const struct place place = place_of(p);
    double factor[FACTORS], row[FACTORS];

    if (factors_find(window, place, factor) != PELLET_OK)
        return GSL_EFAILED;
    for (size_t i = 0; i < window->n; i++) {
        double rest = -window->y[i];

        set_terms(window->x[i], place, row);
        for (size_t k = 0; k < FACTORS; k++)
            rest += factor[k] * row[k];
        gsl_vector_set(f, i, sqrt(window->share[i]) * rest);
    }
    return GSL_SUCCESS;
}

/* What the factors, found anew, cannot make up for of a change of place or width. */
static int jacobian(const gsl_vector *p, void *context, gsl_matrix *j)
{
    const struct window *window = context;
    const struct place place = place_of(p);
    double factor[FACTORS], row[FACTORS], change[SEARCHED], made_up[SEARCHED][FACTORS];
    struct signal_least sums[SEARCHED];

    if (factors_find(window, place, factor) != PELLET_OK)
        return GSL_EFAILED;
    for (size_t s = 0; s < SEARCHED; s++)
        signal_least_start(&sums[s], FACTORS);
    for (size_t i = 0; i < window->n; i++) {
        set_terms(window->x[i], place, row);
        set_changes(window->x[i], place, factor, change);
        for (size_t s = 0; s < SEARCHED; s++) {
            signal_least_add(&sums[s], row, change[s], window->share[i]);
            gsl_matrix_set(j, i, s, change[s]);
        }
    }
    for (size_t s = 0; s < SEARCHED; s++) {
        if (signal_least_solve(&sums[s], made_up[s], NULL, NULL) != PELLET_OK)
            return GSL_EFAILED;
    }
    for (size_t i = 0; i < window->n; i++) {
        set_terms(window->x[i], place, row);
        for (size_t s = 0; s < SEARCHED; s++) {
            double left = gsl_matrix_get(j, i, s);

            for (size_t k = 0; k < FACTORS; k++)
                left -= made_up[s][k] * row[k];
            gsl_matrix_set(j, i, s, sqrt(window->share[i]) * left);
        }
    }
    return GSL_SUCCESS;
}

/* The unscaled covariance of all parameters together, factors first; false where the fit does not
 * fix them. */
static bool covariance_find(const struct window *window, struct place place, const double *factor,
                            double *covariance)
{
    struct signal_least sums;
    double row[PARAMETERS], steps[PARAMETERS];

    signal_least_start(&sums, PARAMETERS);
    for (size_t i = 0; i < window->n; i++) {
        set_terms(window->x[i], place, row);
        set_changes(window->x[i], place, factor, row + FACTORS);
        signal_least_add(&sums, row, 0, window->share[i]);
    }
    return signal_least_solve(&sums, steps, covariance, NULL) == PELLET_OK;
}

/* The skew -d/a and its standard deviation. */
static void set_skew(const double *covariance, double variance, struct pellet_band_shape *shape)
{
    const double by_d = -1 / shape->a, by_a = shape->d / (shape->a * shape->a);

    shape->skew = -shape->d / shape->a;
    shape->skew_sigma = sqrt(fmax(variance * (by_d * by_d * covariance[D * PARAMETERS + D] +
                                              2 * by_d * by_a * covariance[D * PARAMETERS + A] +
                                              by_a * by_a * covariance[A * PARAMETERS + A]),
                                  0));
}

static void read_fit(gsl_multifit_nlinear_workspace *work, const struct window *window,
                     const struct pellet_band *band, double unit, struct pellet_band_shape *shape)
{
    const struct place place = place_of(gsl_multifit_nlinear_position(work));
    double squares = 0, factor[FACTORS], covariance[PARAMETERS * PARAMETERS];

    gsl_blas_ddot(gsl_multifit_nlinear_residual(work), gsl_multifit_nlinear_residual(work), &squares);
    if (factors_find(window, place, factor) != PELLET_OK ||
        !covariance_find(window, place, factor, covariance))
        return;
    shape->a = factor[A];
    shape->d = factor[D];
    shape->at_cm1 = band->at_cm1 + unit * place.at;
    shape->gamma_cm1 = unit * place.gamma;
    shape->level = factor[LEVEL] + factor[SLOPE] * place.at;
    shape->slope = factor[SLOPE] / unit;
    shape->rms = sqrt(squares / (window->points - PARAMETERS));
    shape->points = window->n;
    set_skew(covariance, shape->rms * shape->rms, shape);
    shape->ok = shape->a > 0 && fabs(place.at) <= MOVE && place.gamma > 1 / GAMMA_FACTOR &&
                place.gamma < GAMMA_FACTOR && isfinite(shape->skew_sigma);
}

static pellet_status fit_window(struct window *window, const struct pellet_band *band, double unit,
                                struct pellet_band_shape *shape)
{
    gsl_multifit_nlinear_parameters how = gsl_multifit_nlinear_default_parameters();
    how.solver = gsl_multifit_nlinear_solver_cholesky; /* two parameters in units of the band: well scaled */
    gsl_multifit_nlinear_fdf system = {
        .f = residuals, .df = jacobian, .n = window->n, .p = SEARCHED, .params = window};
    double start[SEARCHED] = {[LOW] = -1, [HIGH] = 1};
    gsl_vector_view begin = gsl_vector_view_array(start, SEARCHED);
    gsl_multifit_nlinear_workspace *work =
        gsl_multifit_nlinear_alloc(gsl_multifit_nlinear_trust, &how, window->n, SEARCHED);
    struct pellet_band_shape result = {0};
    int info;

    if (work == NULL)
        return PELLET_E_MEMORY;
    if (gsl_multifit_nlinear_init(&begin.vector, &system, work) == GSL_SUCCESS &&
        gsl_multifit_nlinear_driver(TURNS_MAX, CONVERGED, 1e-8, 0, NULL, NULL, &info, work) == GSL_SUCCESS)
        read_fit(work, window, band, unit, &result);
    gsl_multifit_nlinear_free(work);
    *shape = result;
    return PELLET_OK;
}

/*
 * How much of what point i stands for, half the way to each neighbour, lies in low..high: with whole points
 * only, a shape on a coarse grid would jump with every point that its window wins or loses, and find no rest.
 */
static double share_inside(struct pellet_grid grid, size_t i, double low, double high)
{
    const double here = grid.wavenumber[i];
    const double left = i > 0 ? 0.5 * (here - grid.wavenumber[i - 1]) : 0.5 * (grid.wavenumber[1] - here);
    const double right = i + 1 < grid.n ? 0.5 * (grid.wavenumber[i + 1] - here) : left;

    return fmax(0, fmin(here + right, high) - fmax(here - left, low)) / (left + right);
}

/* The points of low..high. False where memory is short. */
static bool window_make(struct pellet_grid grid, const double *y, double low, double high,
                        const struct pellet_band *from, struct window *window)
{
    const double unit = from->width_cm1 / 2;
    size_t first, last;

    memset(window, 0, sizeof *window);
    pellet_grid_window(grid, low, high, &first, &last);
    first = first > 0 ? first - 1 : 0; /* the points beyond reach in with a share */
    last = last < grid.n ? last + 1 : last;
    window->x = malloc((3 * (last - first) + 1) * sizeof *window->x);
    if (window->x == NULL)
        return false;
    window->y = window->x + (last - first);
    window->share = window->y + (last - first);
    for (size_t i = first; i < last; i++) {
        const double share = share_inside(grid, i, low, high);

        if (isnan(y[i]) || !(share > 0))
            continue;
        window->x[window->n] = (grid.wavenumber[i] - from->at_cm1) / unit;
        window->share[window->n] = share;
        window->points += share;
        window->y[window->n++] = y[i];
    }
    return true;
}

/* The fit in one window, around where `from` says the band is. */
static pellet_status fit_around(struct pellet_grid grid, const double *y, const struct pellet_band *from,
                                double reach, double low, double high, struct pellet_band_shape *shape)
{
    struct window window;
    pellet_status status = PELLET_E_SHORT;

    if (!window_make(grid, y, fmax(low, from->at_cm1 - reach), fmin(high, from->at_cm1 + reach), from,
                     &window))
        return PELLET_E_MEMORY;
    if (window.points >= POINTS_MIN)
        status = fit_window(&window, from, from->width_cm1 / 2, shape);
    free(window.x);
    return status;
}

/* What the shape leaves of the curve in low..high, rms; 0 where there is no usable point. */
static double rest_in(struct pellet_grid grid, const double *y, const struct pellet_band_shape *shape,
                      double low, double high)
{
    size_t first, last, count = 0;
    double squares = 0;

    pellet_grid_window(grid, low, high, &first, &last);
    for (size_t i = first; i < last; i++) {
        const double away = grid.wavenumber[i] - shape->at_cm1, v = away / shape->gamma_cm1;
        const double rest =
            y[i] - (shape->a + shape->d * v) / (1 + v * v) - shape->level - shape->slope * away;

        if (isnan(y[i]))
            continue;
        squares += rest * rest;
        count++;
    }
    return count > 0 ? sqrt(squares / (double)count) : 0;
}

/* The rest on the worse side of the window that reaches `reach` from the shape's centre. */
static double rest_beyond(struct pellet_grid grid, const double *y, const struct pellet_band_shape *shape,
                          double reach)
{
    const double at = shape->at_cm1, further = BEYOND * reach;

    return fmax(rest_in(grid, y, shape, at - further, at - reach),
                rest_in(grid, y, shape, at + reach, at + further));
}

/* Whether the window that a shape asks for is the one that it was fitted in. */
static bool is_at_rest(const struct pellet_band *from, const struct pellet_band_shape *shape)
{
    const double moved = fabs(shape->at_cm1 - from->at_cm1);
    const double widened = fabs(shape->gamma_cm1 - from->width_cm1 / 2);

    return fmax(moved, widened) <= AT_REST * shape->gamma_cm1;
}

pellet_status pellet_band_shape_fit(struct pellet_grid grid, const double *y, const struct pellet_band *band,
                                    double widths, double low, double high, struct pellet_band_shape *shape)
{
    struct pellet_band from = *band;
    struct pellet_band_shape result = {0};

    signal_quiet_gsl();
    if (!(band->width_cm1 > 0) || !(widths > 0) || !(low < high))
        return PELLET_E_RANGE;
    if ((double)grid.n < POINTS_MIN)
        return PELLET_E_SHORT;
    for (size_t turn = 0; turn < WINDOWS_MAX; turn++) {
        const pellet_status status = fit_around(grid, y, &from, widths * from.width_cm1, low, high, &result);
        if (status != PELLET_OK)
            return status;
        if (!result.ok || is_at_rest(&from, &result)) {
            result.ok = result.ok && result.rms < REST_SHARE * result.a;
            result.beyond = rest_beyond(grid, y, &result, widths * from.width_cm1);
            *shape = result;
            return PELLET_OK;
        }
        const double step = turn < WHOLE_STEPS ? 1 : 0.5;
        from.at_cm1 += step * (result.at_cm1 - from.at_cm1);
        from.width_cm1 += step * (2 * result.gamma_cm1 - from.width_cm1);
    }
    result.ok = false;
    *shape = result;
    return PELLET_OK;
}
