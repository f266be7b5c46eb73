// SPDX-License-Identifier: GPL-3.0-or-later
#include "pellet/signal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_linalg.h>

#include "signal/least.h"

enum { SLOPE_TERMS = 4 };

/* Knots for each stiffness length; more do not change the curve, fewer show as corners. */
static const double KNOTS_PER_STIFFNESS = 100;
static const size_t POINTS_MIN = 8;
static const size_t ITERATIONS_MAX = 60;
/* Relative change of the weights at which the baseline has settled. */
static const double SETTLED = 1e-3;
/* Beyond this the logistic weight is 0 or 1 to the last digit of a double. */
static const double LOGISTIC_REACH = 37;
/* The spread of the baseline's own points is never taken below this (A): rounding in files is as large. */
static const double SPREAD_MIN = 2e-5;

/* The baseline is a chain of straight pieces between evenly spaced knots; all arrays belong to it. */
struct chain {
    size_t points, knots;
    double start, step;
    double penalty; /* on the squared second differences of the knots */
    double *value;  /* [knots] */
    double *share;  /* [points] how far along its piece a point lies, 0..1 */
    size_t *piece;  /* [points] */
    double *weight; /* [points]; 0 where the point cannot be used */
    double *line;   /* [points] the chain at the points */
    double *band;   /* [knots][3]: the lower bands of the symmetric normal matrix, as GSL wants them ... */
    gsl_matrix_view view; /* ... and seen by it */
};

static void chain_clear(struct chain *chain)
{
    free(chain->value);
    free(chain->share);
    free(chain->piece);
    free(chain->weight);
    free(chain->line);
    free(chain->band);
    memset(chain, 0, sizeof *chain);
}

static pellet_status chain_make(struct pellet_grid grid, const double *y, double stiffness,
                                struct chain *chain)
{
    const double spacing = pellet_grid_spacing(grid);
    const double range = grid.wavenumber[grid.n - 1] - grid.wavenumber[0];
    const double wanted = fmax(stiffness / KNOTS_PER_STIFFNESS, spacing);
    const double length = stiffness / M_PI; /* the wave of period 2 stiffness is followed by half */

    memset(chain, 0, sizeof *chain);
    chain->points = grid.n;
    chain->knots = (size_t)fmax(ceil(range / wanted), 3) + 1;
    chain->start = grid.wavenumber[0];
    chain->step = range / (double)(chain->knots - 1);
    chain->penalty = pow(length, 4) / (spacing * pow(chain->step, 3));
    chain->value = calloc(chain->knots, sizeof *chain->value);
    chain->share = calloc(grid.n, sizeof *chain->share);
    chain->piece = calloc(grid.n, sizeof *chain->piece);
    chain->weight = calloc(grid.n, sizeof *chain->weight);
    chain->line = calloc(grid.n, sizeof *chain->line);
    chain->band = calloc(chain->knots, 3 * sizeof *chain->band);
    if (chain->value == NULL || chain->share == NULL || chain->piece == NULL || chain->weight == NULL ||
        chain->line == NULL || chain->band == NULL) {
        chain_clear(chain);
        return PELLET_E_MEMORY;
    }
    chain->view = gsl_matrix_view_array(chain->band, chain->knots, 3);
    for (size_t i = 0; i < grid.n; i++) {
        const double along = (grid.wavenumber[i] - chain->start) / chain->step;

        chain->piece[i] = (size_t)fmin(floor(along), (double)(chain->knots - 2));
        chain->share[i] = along - (double)chain->piece[i];
        chain->weight[i] = isnan(y[i]) ? 0 : 1;
    }
    return PELLET_OK;
}

/* Second differences penalised: D'D has the rows 1 -2 1 -4 6 ... ; only the lower bands are kept. */
static void add_penalty(struct chain *chain)
{
    static const double row[3] = {1, -2, 1};

    for (size_t k = 0; k + 2 < chain->knots; k++) {
        for (size_t i = 0; i < 3; i++) {
            for (size_t j = 0; j <= i; j++)
                *gsl_matrix_ptr(&chain->view.matrix, k + j, i - j) += chain->penalty * row[i] * row[j];
        }
    }
}

/*
 * One weighted penalised fit: value[] and line[] follow. The points of one piece are summed before they meet
 * the matrix, whose elements GSL hands out by a call each.
 */
static pellet_status chain_fit(struct chain *chain, const double *y)
{
    gsl_vector_view value = gsl_vector_view_array(chain->value, chain->knots);

    gsl_matrix_set_zero(&chain->view.matrix);
    gsl_vector_set_zero(&value.vector);
    add_penalty(chain);
    for (size_t i = 0; i < chain->points;) {
        const size_t k = chain->piece[i];
        double left_left = 0, left_right = 0, right_right = 0, left_y = 0, right_y = 0;

        for (; i < chain->points && chain->piece[i] == k; i++) {
            const double right = chain->share[i], left = 1 - right, w = chain->weight[i];

            if (!(w > 0))
                continue;
            left_left += w * left * left;
            left_right += w * left * right;
            right_right += w * right * right;
            left_y += w * left * y[i];
            right_y += w * right * y[i];
        }
        *gsl_matrix_ptr(&chain->view.matrix, k, 0) += left_left;
        *gsl_matrix_ptr(&chain->view.matrix, k, 1) += left_right;
        *gsl_matrix_ptr(&chain->view.matrix, k + 1, 0) += right_right;
        chain->value[k] += left_y;
        chain->value[k + 1] += right_y;
    }
    if (gsl_linalg_cholesky_band_decomp(&chain->view.matrix) != GSL_SUCCESS ||
        gsl_linalg_cholesky_band_svx(&chain->view.matrix, &value.vector) != GSL_SUCCESS)
        return PELLET_E_FIT;
    for (size_t i = 0; i < chain->points; i++) {
        const size_t k = chain->piece[i];

        chain->line[i] = chain->value[k] + chain->share[i] * (chain->value[k + 1] - chain->value[k]);
    }
    return PELLET_OK;
}

/* Mean and spread of what lies below the line. */
static void below_line(const double *y, const double *line, size_t n, double *mean, double *spread)
{
    double sum = 0, squares = 0, count = 0;

    for (size_t i = 0; i < n; i++) {
        const double d = y[i] - line[i];

        if (d < 0) { /* false for NaN */
            sum += d;
            squares += d * d;
            count++;
        }
    }
    *mean = count > 0 ? sum / count : 0;
    *spread = count > 1 ? sqrt(fmax(squares / count - *mean * *mean, 0)) : 0;
}

/* Baek's logistic weights: 1 below the line and in its noise, 0 well above. Returns the relative change. */
static double reweight(const double *y, const double *line, size_t n, double floor_spread, double *weight)
{
    double mean, spread, change = 0, size = 0;

    below_line(y, line, n, &mean, &spread);
    spread = fmax(spread, floor_spread);
    for (size_t i = 0; i < n; i++) {
        const double d = y[i] - line[i];
        const double power = 2 * (d - (2 * spread - mean)) / spread;
        double w;

        if (isnan(y[i]))
            continue;
        w = power > LOGISTIC_REACH ? 0 : power < -LOGISTIC_REACH ? 1 : 1 / (1 + exp(power));
        change += (w - weight[i]) * (w - weight[i]);
        size += weight[i] * weight[i];
        weight[i] = w;
    }
    return sqrt(change / fmax(size, 1e-30));
}

/*
 * The laws that scatter follows, between a constant and the fourth power of the wavenumber: 1, u, u^2 and u^4
 * with u = wavenumber / top.
 */
static double slope_at(const double c[SLOPE_TERMS], double u)
{
    const double square = u * u;
    return c[0] + c[1] * u + (c[2] + c[3] * square) * square;
}

/* The normal equations of those four from the weighted sums of the powers of u, and of y times them. */
static void slope_sums(struct pellet_grid grid, const double *y, const double *weight, double top,
                       struct signal_least *sums)
{
    static const size_t power[SLOPE_TERMS] = {0, 1, 2, 4};
    double u_sum[9] = {0}, y_sum[5] = {0};

    signal_least_start(sums, SLOPE_TERMS);
    for (size_t i = 0; i < grid.n; i++) {
        const double u = grid.wavenumber[i] / top, u2 = u * u, w = weight[i];
        const double wu = w * u, wu2 = w * u2, wu4 = wu2 * u2;

        if (!(w > 0))
            continue;
        u_sum[0] += w;
        u_sum[1] += wu;
        u_sum[2] += wu2;
        u_sum[3] += wu2 * u;
        u_sum[4] += wu4;
        u_sum[5] += wu4 * u;
        u_sum[6] += wu4 * u2;
        u_sum[8] += wu4 * u2 * u2;
        y_sum[0] += w * y[i];
        y_sum[1] += wu * y[i];
        y_sum[2] += wu2 * y[i];
        y_sum[4] += wu4 * y[i];
        sums->rows++;
    }
    for (size_t i = 0; i < SLOPE_TERMS; i++) {
        sums->atb[i] = y_sum[power[i]];
        for (size_t j = 0; j <= i; j++)
            sums->ata[i * SLOPE_TERMS + j] = u_sum[power[i] + power[j]];
    }
}

/*
 * First the slope of a cloudy pellet: c0 + c1 u + c2 u^2 + c3 u^4 with the same weights. Scatter rises with a
 * power between 0 and 4 of the wavenumber, steepest at the end of the range; a curve that only knows to be
 * smooth would take that end for half a band and never come back to it.
 */
static pellet_status fit_slope(struct pellet_grid grid, const double *y, double floor_spread, double *line,
                               double *weight)
{
    const double top = grid.wavenumber[grid.n - 1];

    for (size_t i = 0; i < grid.n; i++)
        weight[i] = isnan(y[i]) ? 0 : 1;
    for (size_t turn = 0; turn < ITERATIONS_MAX; turn++) {
        struct signal_least sums;
        double c[SLOPE_TERMS];
        pellet_status status;

        slope_sums(grid, y, weight, top, &sums);
        status = signal_least_solve(&sums, c, NULL, NULL);
        if (status != PELLET_OK)
            return status;
        for (size_t i = 0; i < grid.n; i++)
            line[i] = slope_at(c, grid.wavenumber[i] / top);
        if (reweight(y, line, grid.n, floor_spread, weight) < SETTLED)
            break;
    }
    return PELLET_OK;
}

/* Then what is left, by the chain: `rest` is absorbance less slope, `slope` becomes slope plus chain. */
static pellet_status add_chain(struct pellet_grid grid, const double *rest, double stiffness,
                               double floor_spread, double *slope)
{
    struct chain chain;
    pellet_status status = chain_make(grid, rest, stiffness, &chain);

    if (status != PELLET_OK)
        return status;
    for (size_t turn = 0; turn < ITERATIONS_MAX; turn++) {
        status = chain_fit(&chain, rest);
        if (status != PELLET_OK || reweight(rest, chain.line, grid.n, floor_spread, chain.weight) < SETTLED)
            break;
    }
    for (size_t i = 0; status == PELLET_OK && i < grid.n; i++)
        slope[i] += chain.line[i];
    chain_clear(&chain);
    return status;
}

pellet_status pellet_baseline(struct pellet_grid grid, const double *absorbance, double noise,
                              double stiffness_cm1, double *out)
{
    const double floor_spread = fmax(isfinite(noise) ? noise : 0, SPREAD_MIN);
    double *line, *rest;
    pellet_status status;
    size_t usable = 0;

    signal_quiet_gsl();
    for (size_t i = 0; i < grid.n; i++)
        usable += isnan(absorbance[i]) ? 0 : 1;
    if (usable < POINTS_MIN)
        return PELLET_E_SHORT;
    if (!(stiffness_cm1 > 0) || isinf(stiffness_cm1))
        return PELLET_E_RANGE;
    line = malloc(2 * grid.n * sizeof *line);
    if (line == NULL)
        return PELLET_E_MEMORY;
    rest = line + grid.n;
    status = fit_slope(grid, absorbance, floor_spread, line, rest);
    for (size_t i = 0; i < grid.n; i++)
        rest[i] = absorbance[i] - line[i];
    if (status == PELLET_OK)
        status = add_chain(grid, rest, stiffness_cm1, floor_spread, line);
    if (status == PELLET_OK)
        memcpy(out, line, grid.n * sizeof *out);
    free(line);
    return status;
}
