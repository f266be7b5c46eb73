// SPDX-License-Identifier: GPL-3.0-or-later
#include "pellet/signal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_blas.h>
#include <gsl/gsl_multifit_nlinear.h>

#include "signal/least.h"

enum { AT, GAMMA, A, D, LEVEL, SLOPE, PARAMETERS };

static const size_t POINTS_MIN = 8;
static const size_t TURNS_MAX = 60;
/* gamma may move away from the start by this factor, the position by this many starting gammas. */
static const double GAMMA_FACTOR = 3;
static const double MOVE = 1;
/* What is left of a fit that describes its band, as a share of a. */
static const double REST_SHARE = 0.05;
/* How often the window may follow the shape, and the change of place or width, in gammas, that is none. */
static const size_t WINDOWS_MAX = 12;
static const double AT_REST = 0.02;

/* The points of the window, wavenumber counted from `origin` in units of `unit`; borrowed by the fit. */
struct window {
    size_t n;
    double *x, *y;
};

static int residuals(const gsl_vector *p, void *context, gsl_vector *f)
{
    const struct window *window = context;
    const double gamma = gsl_vector_get(p, GAMMA);

    for (size_t i = 0; i < window->n; i++) {
        const double x = (window->x[i] - gsl_vector_get(p, AT)) / gamma;
        const double value = (gsl_vector_get(p, A) + gsl_vector_get(p, D) * x) / (1 + x * x);

        gsl_vector_set(
            f, i, value + gsl_vector_get(p, LEVEL) + gsl_vector_get(p, SLOPE) * window->x[i] - window->y[i]);
    }
    return GSL_SUCCESS;
}

static int jacobian(const gsl_vector *p, void *context, gsl_matrix *j)
{
    const struct window *window = context;
    const double gamma = gsl_vector_get(p, GAMMA), a = gsl_vector_get(p, A), d = gsl_vector_get(p, D);

    for (size_t i = 0; i < window->n; i++) {
        const double x = (window->x[i] - gsl_vector_get(p, AT)) / gamma, q = 1 + x * x;
        const double by_x = (d * q - (a + d * x) * 2 * x) / (q * q);

        gsl_matrix_set(j, i, AT, -by_x / gamma);
        gsl_matrix_set(j, i, GAMMA, -by_x * x / gamma);
        gsl_matrix_set(j, i, A, 1 / q);
        gsl_matrix_set(j, i, D, x / q);
        gsl_matrix_set(j, i, LEVEL, 1);
        gsl_matrix_set(j, i, SLOPE, window->x[i]);
    }
    return GSL_SUCCESS;
}

/* The skew -d/a and its standard deviation from the covariance of the fit. */
static void set_skew(const gsl_matrix *covariance, double variance, struct pellet_band_shape *shape)
{
    const double by_d = -1 / shape->a, by_a = shape->d / (shape->a * shape->a);

    shape->skew = -shape->d / shape->a;
    shape->skew_sigma = sqrt(fmax(variance * (by_d * by_d * gsl_matrix_get(covariance, D, D) +
                                              2 * by_d * by_a * gsl_matrix_get(covariance, D, A) +
                                              by_a * by_a * gsl_matrix_get(covariance, A, A)),
                                  0));
}

static void read_fit(gsl_multifit_nlinear_workspace *work, gsl_matrix *covariance,
                     const struct window *window, const struct pellet_band *band, double unit,
                     struct pellet_band_shape *shape)
{
    const gsl_vector *p = gsl_multifit_nlinear_position(work);
    double squares = 0;

    gsl_blas_ddot(gsl_multifit_nlinear_residual(work), gsl_multifit_nlinear_residual(work), &squares);
    if (!signal_covariance(gsl_multifit_nlinear_jac(work), covariance))
        return;
    shape->a = gsl_vector_get(p, A);
    shape->d = gsl_vector_get(p, D);
    shape->at_cm1 = band->at_cm1 + unit * gsl_vector_get(p, AT);
    shape->gamma_cm1 = unit * gsl_vector_get(p, GAMMA);
    shape->rms = sqrt(squares / (double)(window->n - PARAMETERS));
    shape->points = window->n;
    set_skew(covariance, shape->rms * shape->rms, shape);
    shape->ok = shape->a > 0 && fabs(gsl_vector_get(p, AT)) <= MOVE &&
                gsl_vector_get(p, GAMMA) > 1 / GAMMA_FACTOR && gsl_vector_get(p, GAMMA) < GAMMA_FACTOR &&
                isfinite(shape->skew_sigma);
}

static pellet_status fit_window(struct window *window, const struct pellet_band *band, double unit,
                                struct pellet_band_shape *shape)
{
    gsl_multifit_nlinear_parameters how = gsl_multifit_nlinear_default_parameters();
    how.solver = gsl_multifit_nlinear_solver_cholesky; /* six parameters in units of the band: well scaled */
    gsl_multifit_nlinear_fdf system = {
        .f = residuals, .df = jacobian, .n = window->n, .p = PARAMETERS, .params = window};
    double start[PARAMETERS] = {[GAMMA] = 1, [A] = band->height, [LEVEL] = band->top - band->height};
    gsl_vector_view begin = gsl_vector_view_array(start, PARAMETERS);
    double square[PARAMETERS * PARAMETERS];
    gsl_matrix_view covariance = gsl_matrix_view_array(square, PARAMETERS, PARAMETERS);
    gsl_multifit_nlinear_workspace *work =
        gsl_multifit_nlinear_alloc(gsl_multifit_nlinear_trust, &how, window->n, PARAMETERS);
    struct pellet_band_shape result = {0};
    pellet_status status = PELLET_OK;
    int info;

    if (work == NULL)
        status = PELLET_E_MEMORY;
    else if (gsl_multifit_nlinear_init(&begin.vector, &system, work) == GSL_SUCCESS &&
             gsl_multifit_nlinear_driver(TURNS_MAX, 1e-6, 1e-8, 0, NULL, NULL, &info, work) == GSL_SUCCESS)
        read_fit(work, &covariance.matrix, window, band, unit, &result);
    if (work != NULL)
        gsl_multifit_nlinear_free(work);
    if (status == PELLET_OK)
        *shape = result;
    return status;
}

/* The fit in one window, around where `from` says the band is. */
static pellet_status fit_around(struct pellet_grid grid, const double *y, const struct pellet_band *from,
                                double reach, double low, double high, struct pellet_band_shape *shape)
{
    const double unit = from->width_cm1 / 2;
    struct window window = {0};
    size_t first, last;
    pellet_status status = PELLET_E_SHORT;

    pellet_grid_window(grid, fmax(low, from->at_cm1 - reach), fmin(high, from->at_cm1 + reach), &first,
                       &last);
    if (last - first < POINTS_MIN)
        return PELLET_E_SHORT;
    window.x = malloc(2 * (last - first) * sizeof *window.x);
    if (window.x == NULL)
        return PELLET_E_MEMORY;
    window.y = window.x + (last - first);
    for (size_t i = first; i < last; i++) {
        if (isnan(y[i]))
            continue;
        window.x[window.n] = (grid.wavenumber[i] - from->at_cm1) / unit;
        window.y[window.n++] = y[i];
    }
    if (window.n >= POINTS_MIN)
        status = fit_window(&window, from, unit, shape);
    free(window.x);
    return status;
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
    for (size_t turn = 0; turn < WINDOWS_MAX; turn++) {
        const pellet_status status = fit_around(grid, y, &from, widths * from.width_cm1, low, high, &result);
        if (status != PELLET_OK)
            return status;
        if (!result.ok || is_at_rest(&from, &result)) {
            result.ok = result.ok && result.rms < REST_SHARE * result.a;
            *shape = result;
            return PELLET_OK;
        }
        from.at_cm1 = result.at_cm1;
        from.width_cm1 = 2 * result.gamma_cm1;
        from.height = result.a;
        from.top = band->top - band->height + result.a;
    }
    result.ok = false;
    *shape = result;
    return PELLET_OK;
}
