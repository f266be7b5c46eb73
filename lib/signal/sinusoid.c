// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/sinusoid.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_min.h>

#include "signal/least.h"

static const double USABLE_SHARE = 0.8;
/* Trial frequencies for each independent one (1 / length of the window). */
static const double OVERSAMPLING = 4;
/* Independent frequencies on each side that tell how strong the noise is. */
static const double NEIGHBOURS = 15;
static const size_t TRIALS_MAX = 20000;
static const size_t REFINE_TURNS = 40;

static double window_length(const struct signal_wave *wave)
{
    return (wave->x[wave->n - 1] - wave->x[0]) * wave->scale;
}

pellet_status signal_wave_start(struct pellet_grid grid, const double *y, double low, double high,
                                size_t least, struct signal_wave *wave)
{
    size_t first, last;
    double *memory;

    if (!(low < high))
        return PELLET_E_RANGE;
    pellet_grid_window(grid, low, high, &first, &last);
    if (first == last)
        return PELLET_E_RANGE;
    memory = malloc(3 * (last - first) * sizeof *memory);
    if (memory == NULL)
        return PELLET_E_MEMORY;
    memset(wave, 0, sizeof *wave);
    wave->centre = (low + high) / 2;
    wave->scale = (high - low) / 2;
    wave->x = memory;
    wave->y = memory + (last - first);
    wave->rest = wave->y + (last - first);
    for (size_t i = first; i < last; i++) {
        if (isnan(y[i]))
            continue;
        wave->x[wave->n] = (grid.wavenumber[i] - wave->centre) / wave->scale;
        wave->y[wave->n++] = y[i];
    }
    if (wave->n < least || (double)wave->n < USABLE_SHARE * (double)(last - first)) {
        signal_wave_clear(wave);
        return PELLET_E_SHORT;
    }
    return PELLET_OK;
}

void signal_wave_clear(struct signal_wave *wave)
{
    free(wave->x);
    memset(wave, 0, sizeof *wave);
}

static size_t basis_row(const struct signal_wave *wave, size_t i, double *row)
{
    const double x = wave->x[i];
    size_t p = 3;

    row[0] = 1;
    row[1] = x;
    row[2] = x * x;
    for (size_t k = 0; k < wave->count; k++) {
        const double angle = 2 * M_PI * wave->frequency[k] * wave->scale * x;

        row[p++] = cos(angle);
        row[p++] = sin(angle);
    }
    return p;
}

pellet_status signal_wave_fit(struct signal_wave *wave)
{
    double row[3 + 2 * SIGNAL_SINUSOIDS_MAX], coefficient[SIGNAL_BASIS_MAX];
    struct signal_least sums;
    pellet_status status;

    signal_least_start(&sums, 3 + 2 * wave->count);
    for (size_t i = 0; i < wave->n; i++) {
        basis_row(wave, i, row);
        signal_least_add(&sums, row, wave->y[i], 1);
    }
    status = signal_least_solve(&sums, coefficient, NULL, NULL);
    if (status != PELLET_OK)
        return status;
    memcpy(wave->coefficient, coefficient, sums.p * sizeof *coefficient);
    wave->ssr = 0; /* summed afresh: the difference of large sums would lose a small rest */
    for (size_t i = 0; i < wave->n; i++) {
        double value = 0;
        const size_t p = basis_row(wave, i, row);

        for (size_t k = 0; k < p; k++)
            value += coefficient[k] * row[k];
        wave->rest[i] = wave->y[i] - value;
        wave->ssr += wave->rest[i] * wave->rest[i];
    }
    return PELLET_OK;
}

/*
 * Power of `rest` at one frequency: the part of its sum of squares that a cosine and a sine explain, halved,
 * so that white noise of variance s2 has the mean s2 (Lomb's normalisation before division by the variance).
 * Source: N. R. Lomb, Astrophys. Space Sci. 39, 447 (1976); J. D. Scargle, Astrophys. J. 263, 835 (1982).
 */
static double power_at(const struct signal_wave *wave, double frequency)
{
    const double omega = 2 * M_PI * frequency * wave->scale;
    double cc = 0, ss = 0, cs = 0, yc = 0, ys = 0, determinant;

    for (size_t i = 0; i < wave->n; i++) {
        const double c = cos(omega * wave->x[i]), s = sin(omega * wave->x[i]);

        cc += c * c;
        ss += s * s;
        cs += c * s;
        yc += wave->rest[i] * c;
        ys += wave->rest[i] * s;
    }
    determinant = cc * ss - cs * cs;
    if (!(determinant > 1e-9 * cc * ss))
        return 0;
    return (yc * yc * ss - 2 * yc * ys * cs + ys * ys * cc) / determinant / 2;
}

/*
 * The strongest of evenly spaced trial frequencies, and the mean power of the noise there: from the median of
 * its neighbours, because the noise of a zero-filled spectrum has no power at the high frequencies.
 */
static pellet_status search(const struct signal_wave *wave, double low, double high, double *best,
                            double *power, double *noise)
{
    const double step = 1 / (window_length(wave) * OVERSAMPLING);
    const size_t trials = (size_t)fmin(floor((high - low) / step) + 1, (double)TRIALS_MAX);
    const size_t reach = (size_t)(NEIGHBOURS * OVERSAMPLING);
    double *all = malloc(trials * sizeof *all);
    size_t at = 0, first;

    if (all == NULL)
        return PELLET_E_MEMORY;
    *power = -1;
    for (size_t k = 0; k < trials; k++) {
        const double frequency = low + (high - low) * ((double)k + 0.5) / (double)trials;

        all[k] = power_at(wave, frequency);
        if (all[k] > *power) {
            *power = all[k];
            *best = frequency;
            at = k;
        }
    }
    first = at > reach ? at - reach : 0;
    /* The power of noise is distributed exponentially: its median is ln 2 times its mean. */
    *noise = signal_median(all + first, (trials < at + reach + 1 ? trials : at + reach + 1) - first) / M_LN2;
    free(all);
    return PELLET_OK;
}

struct trial {
    struct signal_wave *wave;
    size_t which;
};

static double ssr_at(double frequency, void *context)
{
    struct trial *trial = context;

    trial->wave->frequency[trial->which] = frequency;
    return signal_wave_fit(trial->wave) == PELLET_OK ? trial->wave->ssr : HUGE_VAL;
}

/*
 * Least squares in one frequency, all linear coefficients refitted at each trial (variable projection), by
 * Brent's method. Keeps the frequency where no minimum lies between the neighbours.
 */
static void refine(struct signal_wave *wave, size_t which, double reach)
{
    struct trial trial = {wave, which};
    gsl_function function = {ssr_at, &trial};
    const double start = wave->frequency[which], low = fmax(start - reach, start / 2), high = start + reach;
    gsl_min_fminimizer *brent = gsl_min_fminimizer_alloc(gsl_min_fminimizer_brent);
    double answer = start;

    if (brent != NULL && gsl_min_fminimizer_set(brent, &function, start, low, high) == GSL_SUCCESS) {
        for (size_t turn = 0; turn < REFINE_TURNS; turn++) {
            if (gsl_min_fminimizer_iterate(brent) != GSL_SUCCESS ||
                gsl_min_test_interval(gsl_min_fminimizer_x_lower(brent), gsl_min_fminimizer_x_upper(brent),
                                      1e-5 * reach, 0) == GSL_SUCCESS)
                break;
        }
        answer = gsl_min_fminimizer_x_minimum(brent);
    }
    if (brent != NULL)
        gsl_min_fminimizer_free(brent);
    wave->frequency[which] = answer;
}

pellet_status signal_wave_add(struct signal_wave *wave, double low, double high, bool *found,
                              double *significance)
{
    const double length = window_length(wave), independent = fmax((high - low) * length, 1);
    double best = low, power = 0, noise = 0;
    pellet_status status;

    signal_quiet_gsl();
    *found = false;
    *significance = 0;
    if (wave->count == SIGNAL_SINUSOIDS_MAX || !(low < high))
        return PELLET_OK;
    status = search(wave, low, high, &best, &power, &noise);
    if (status != PELLET_OK)
        return status;
    *significance = noise > 0 ? power / noise : 0;
    if (*significance < log(independent / SIGNAL_FALSE_ALARM))
        return PELLET_OK;
    wave->frequency[wave->count++] = best;
    for (size_t round = 0; round < wave->count; round++) {
        for (size_t k = wave->count; k-- > 0;)
            refine(wave, k, 0.5 / length);
    }
    status = signal_wave_fit(wave);
    if (status == PELLET_E_FIT) { /* two frequencies that cannot be told apart */
        wave->count--;
        return signal_wave_fit(wave);
    }
    *found = status == PELLET_OK;
    return status;
}

double signal_wave_correlation(const struct signal_wave *wave)
{
    double product = 0, squares = 0;

    for (size_t i = 0; i < wave->n; i++) {
        squares += wave->rest[i] * wave->rest[i];
        if (i > 0)
            product += wave->rest[i] * wave->rest[i - 1];
    }
    return squares > 0 ? product / squares : 0;
}
