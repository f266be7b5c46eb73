// SPDX-License-Identifier: GPL-3.0-or-later
#include "pellet/signal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_linalg.h>

#include "signal/least.h"

/* Knots for each stiffness length; more do not change the curve, fewer show as corners. */
static const double KNOTS_PER_STIFFNESS = 100;
static const size_t POINTS_MIN = 8;
static const size_t ITERATIONS_MAX = 60;
/* Relative change of the weights at which the baseline has settled. */
static const double SETTLED = 1e-3;
/* The spread of the baseline's own points is never taken below this (A): rounding in files is as large. */
static const double SPREAD_MIN = 2e-5;

/* The baseline is a chain of straight pieces between evenly spaced knots; all arrays belong to it. */
struct chain {
    size_t points, knots;
    double start, step;
    double penalty;     /* on the squared second differences of the knots */
    double *value;      /* [knots] */
    double *share;      /* [points] how far along its piece a point lies, 0..1 */
    size_t *piece;      /* [points] */
    double *weight;     /* [points]; 0 where the point cannot be used */
    double *line;       /* [points] the chain at the points */
    gsl_matrix *system; /* [knots][3]: the lower bands of the symmetric normal matrix, as GSL wants them */
};

static void chain_clear(struct chain *chain)
{
    free(chain->value);
    free(chain->share);
    free(chain->piece);
    free(chain->weight);
    free(chain->line);
    if (chain->system != NULL)
        gsl_matrix_free(chain->system);
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
    chain->system = gsl_matrix_alloc(chain->knots, 3);
    if (chain->value == NULL || chain->share == NULL || chain->piece == NULL || chain->weight == NULL ||
        chain->line == NULL || chain->system == NULL) {
        chain_clear(chain);
        return PELLET_E_MEMORY;
    }
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
                *gsl_matrix_ptr(chain->system, k + j, i - j) += chain->penalty * row[i] * row[j];
        }
    }
}

/* One weighted penalised fit: value[] and line[] follow. */
static pellet_status chain_fit(struct chain *chain, const double *y)
{
    gsl_vector_view value = gsl_vector_view_array(chain->value, chain->knots);

    gsl_matrix_set_zero(chain->system);
    gsl_vector_set_zero(&value.vector);
    add_penalty(chain);
    for (size_t i = 0; i < chain->points; i++) {
        const double right = chain->share[i], left = 1 - right, w = chain->weight[i];
        const size_t k = chain->piece[i];

        if (!(w > 0))
            continue;
        *gsl_matrix_ptr(chain->system, k, 0) += w * left * left;
        *gsl_matrix_ptr(chain->system, k, 1) += w * left * right;
        *gsl_matrix_ptr(chain->system, k + 1, 0) += w * right * right;
        chain->value[k] += w * left * y[i];
        chain->value[k + 1] += w * right * y[i];
    }
    if (gsl_linalg_cholesky_band_decomp(chain->system) != GSL_SUCCESS ||
        gsl_linalg_cholesky_band_svx(chain->system, &value.vector) != GSL_SUCCESS)
        return PELLET_E_FIT;
    for (size_t i = 0; i < chain->points; i++) {
        const size_t k = chain->piece[i];

        chain->line[i] = chain->value[k] + chain->share[i] * (chain->value[k + 1] - chain->value[k]);
    }
    return PELLET_OK;
}

/* Mean and spread of what lies below the line. */
static void below_line(const struct chain *chain, const double *y, double *mean, double *spread)
{
    double sum = 0, squares = 0, count = 0;

    for (size_t i = 0; i < chain->points; i++) {
        const double d = y[i] - chain->line[i];

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
static double reweight(struct chain *chain, const double *y, double floor_spread)
{
    double mean, spread, change = 0, size = 0;

    below_line(chain, y, &mean, &spread);
    spread = fmax(spread, floor_spread);
    for (size_t i = 0; i < chain->points; i++) {
        const double d = y[i] - chain->line[i];
        double w;

        if (isnan(y[i]))
            continue;
        w = 1 / (1 + exp(fmin(2 * (d - (2 * spread - mean)) / spread, 700)));
        change += (w - chain->weight[i]) * (w - chain->weight[i]);
        size += chain->weight[i] * chain->weight[i];
        chain->weight[i] = w;
    }
    return sqrt(change / fmax(size, 1e-30));
}

pellet_status pellet_baseline(struct pellet_grid grid, const double *absorbance, double noise,
                              double stiffness_cm1, double *out)
{
    const double floor_spread = fmax(isfinite(noise) ? noise : 0, SPREAD_MIN);
    struct chain chain;
    pellet_status status;
    size_t usable = 0;

    signal_quiet_gsl();
    for (size_t i = 0; i < grid.n; i++)
        usable += isnan(absorbance[i]) ? 0 : 1;
    if (usable < POINTS_MIN)
        return PELLET_E_SHORT;
    if (!(stiffness_cm1 > 0) || isinf(stiffness_cm1))
        return PELLET_E_RANGE;
    status = chain_make(grid, absorbance, stiffness_cm1, &chain);
    if (status != PELLET_OK)
        return status;
    for (size_t turn = 0; turn < ITERATIONS_MAX; turn++) {
        status = chain_fit(&chain, absorbance);
        if (status != PELLET_OK || reweight(&chain, absorbance, floor_spread) < SETTLED)
            break;
    }
    if (status == PELLET_OK)
        memcpy(out, chain.line, grid.n * sizeof *out);
    chain_clear(&chain);
    return status;
}
