// SPDX-License-Identifier: GPL-3.0-or-later
/* What there is to fit: points, neighbours, the model's own grid, the instrument's line shape. */
#include "signal/flank.h"

#include <math.h>
#include <stdlib.h>

/* How far the line shape is followed, in units of the resolution. */
static const double LINE_REACH = 8.0;
/* How far the band is followed, in its widths. */
static const double REACH_WIDTHS = 1.5;
static const size_t POINTS_MIN = 12;
/* A model of a few smooth bands is not true to more than this: A, and a share of A. It keeps the many points
 * beside the band, which are known far better, from bending it. */
static const double MODEL_ERROR = 0.01, MODEL_ERROR_SHARE = 0.015;

/* ---------------------------------------------------------------- the instrument's line shape */

static double sinc(double x)
{
    return fabs(x) < 1e-6 ? 1.0 : sin(M_PI * x) / (M_PI * x);
}

/* Of unit height; x in units of the resolution, the inverse of the longest path difference. */
static double line_at(enum pellet_line line, double x)
{
    switch (line) {
    case PELLET_LINE_HAPP_GENZEL:
        return 0.54 * sinc(2.0 * x) + 0.23 * (sinc(2.0 * x - 1.0) + sinc(2.0 * x + 1.0));
    case PELLET_LINE_TRIANGULAR:
        return sinc(x) * sinc(x);
    case PELLET_LINE_UNKNOWN:
        break;
    }
    return exp(-4.0 * M_LN2 * x * x / (0.9 * 0.9)); /* as wide at half height as the two others */
}

static bool make_weights(struct flank_problem *problem, enum pellet_line line, double resolution)
{
    const double half = LINE_REACH * resolution;

    problem->taps = 2 * (size_t)(half / problem->fine_step) + 1;
    problem->weight = malloc(problem->n * problem->taps * sizeof *problem->weight);
    if (problem->weight == NULL)
        return false;
    for (size_t i = 0; i < problem->n; i++) {
        double *row = problem->weight + i * problem->taps, sum = 0.0;
        const double place = (problem->nu[i] - problem->fine_low) / problem->fine_step;

        problem->first[i] = (size_t)lround(place) - problem->taps / 2;
        for (size_t k = 0; k < problem->taps; k++) {
            const double offset = ((double)(problem->first[i] + k) - place) * problem->fine_step;
            row[k] = resolution > 0.0 ? line_at(line, offset / resolution) : 1.0;
            sum += row[k];
        }
        for (size_t k = 0; k < problem->taps; k++)
            row[k] /= sum;
    }
    return true;
}

/* ---------------------------------------------------------------- neighbours and points */

static double weight_of(const struct pellet_band *band, const struct pellet_band *other)
{
    const double x = (other->at_cm1 - band->at_cm1) / (other->width_cm1 + band->width_cm1);
    return other->height / (1.0 + x * x);
}

/* The neighbours that matter most within `reach` cm-1. */
static void choose_neighbours(struct flank_problem *problem, const struct pellet_band *bands, size_t count,
                              double reach)
{
    for (size_t i = 0; i < count; i++) {
        const struct pellet_band *other = &bands[i];
        size_t k = problem->neighbours;

        if (other == problem->band ||
            fabs(other->at_cm1 - problem->band->at_cm1) > reach + other->width_cm1 ||
            other->height < 0.03 * problem->band->height)
            continue;
        if (k == FLANK_NEIGHBOURS_MAX) {
            k = 0;
            for (size_t j = 1; j < FLANK_NEIGHBOURS_MAX; j++) {
                if (weight_of(problem->band, problem->other[j]) < weight_of(problem->band, problem->other[k]))
                    k = j;
            }
            if (weight_of(problem->band, other) <= weight_of(problem->band, problem->other[k]))
                continue;
        } else {
            problem->neighbours++;
        }
        problem->other[k] = other;
    }
}

/* Where bands that cannot be told from the saturated top would stand: on its two sides, within its width. */
static void suppose_shoulders(struct flank_problem *problem)
{
    for (size_t k = 0; k < FLANK_SHOULDERS; k++) {
        struct pellet_band *shoulder = &problem->shoulder[k];
        *shoulder = *problem->band;
        shoulder->height *= 0.4;
        shoulder->width_cm1 *= 0.5;
        shoulder->at_cm1 += (k == 0 ? -0.35 : 0.35) * problem->band->width_cm1;
        problem->other[problem->neighbours + k] = shoulder;
    }
}

/* At most FLANK_POINTS_MAX points of the window, no closer than half the resolution: closer ones are not
 * independent. */
static void take_points(struct flank_problem *problem, const struct flank_data *data, double reach)
{
    const struct pellet_grid grid = data->grid;
    const double closest = fmax(0.45 * data->resolution, 2.0 * reach / (FLANK_POINTS_MAX - 1));
    size_t first, last;
    double next = -HUGE_VAL;

    pellet_grid_window(grid, problem->band->at_cm1 - reach, problem->band->at_cm1 + reach, &first, &last);
    for (size_t i = first; i < last && problem->n < FLANK_POINTS_MAX; i++) {
        const double t = data->transmittance[i];
        if (!isfinite(t) || grid.wavenumber[i] < next)
            continue;
        const double s = isfinite(data->sigma[i]) ? data->sigma[i] : 1e-3;
        const double above = fmax(-log10(fmax(t, s)) - data->baseline[i], 0.0);
        problem->nu[problem->n] = grid.wavenumber[i];
        problem->t[problem->n] = t;
        problem->sigma[problem->n++] =
            hypot(s, M_LN10 * fmax(t, 0.0) * (MODEL_ERROR + MODEL_ERROR_SHARE * above));
        next = grid.wavenumber[i] + closest;
    }
}

static void make_fine(struct flank_problem *problem, const struct flank_data *data)
{
    const struct pellet_grid grid = data->grid;
    const double resolution = data->resolution, beside = (LINE_REACH + 1.0) * resolution;
    const double low = problem->nu[0] - beside, high = problem->nu[problem->n - 1] + beside;
    const double wanted = resolution > 0.0 ? fmin(problem->band->width_cm1 / 16.0, resolution / 5.0)
                                           : problem->band->width_cm1 / 16.0;

    problem->fine_step = fmax(wanted, (high - low) / (FLANK_FINE_MAX / 2.0 - 1.0));
    problem->fine_low = low - 2.0 * problem->fine_step;
    problem->fine_n = (size_t)((high - problem->fine_low) / problem->fine_step) + 4;
    for (size_t i = 0; i < problem->fine_n; i++) {
        const double nu = problem->fine_low + problem->fine_step * (double)i;
        const double at = fmin(fmax(nu, grid.wavenumber[0]), grid.wavenumber[grid.n - 1]);
        const double base = pellet_grid_at(grid, data->baseline, at);
        problem->base[i] = isfinite(base) ? base : 0.0;
    }
}

pellet_status flank_problem_take(const struct flank_data *data, struct flank_problem *problem)
{
    problem->band = &data->bands[data->which];
    const double reach = fmax(REACH_WIDTHS * problem->band->width_cm1, 2.0 * data->resolution);
    choose_neighbours(problem, data->bands, data->count, reach);
    suppose_shoulders(problem);
    take_points(problem, data, reach);
    if (problem->n < POINTS_MIN)
        return PELLET_E_SHORT;
    make_fine(problem, data);
    return make_weights(problem, data->line, data->resolution) ? PELLET_OK : PELLET_E_MEMORY;
}

void flank_problem_clear(struct flank_problem *problem)
{
    free(problem->weight);
    problem->weight = NULL;
}
