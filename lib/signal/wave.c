// SPDX-License-Identifier: GPL-3.0-or-later
/* A window of points, one quadratic and some sinusoids in it by least squares. */
#include "signal/wave.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "signal/least.h"

static const double USABLE_SHARE = 0.8;
/* A point this many deviations off stands in the foot of a band, or in a dip: noise alone puts one in 16000
 * there. */
static const double TRIM_SIGMA = 4;
/* The median of the size of normal noise is this share of its standard deviation. */
static const double MEDIAN_SHARE = 0.6745;
static const double TRIM_LEAST = 0.5;
static const size_t TRIM_TURNS = 20;
/* Neighbours up to this lag may vary together: zero-filling more than eight times is not done. */
static const size_t LAG_MAX = 12;

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
    memory = malloc((3 + SIGNAL_WAVE_TERMS) * (last - first) * sizeof *memory);
    if (memory == NULL)
        return PELLET_E_MEMORY;
    memset(wave, 0, sizeof *wave);
    wave->centre = (low + high) / 2;
    wave->scale = (high - low) / 2;
    wave->x = memory;
    wave->y = memory + (last - first);
    wave->rest = wave->y + (last - first);
    wave->row = (double(*)[SIGNAL_WAVE_TERMS])(wave->rest + (last - first));
    for (size_t i = first; i < last; i++) {
        if (isnan(y[i]))
            continue;
        const double x = (grid.wavenumber[i] - wave->centre) / wave->scale;
        wave->x[wave->n] = x;
        wave->row[wave->n][0] = 1;
        wave->row[wave->n][1] = x;
        wave->row[wave->n][2] = x * x;
        wave->y[wave->n++] = y[i];
    }
    wave->all = last - first;
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

/* The cosines and sines of sinusoid k, worked out only where its frequency has changed. */
static void set_sinusoid(struct signal_wave *wave, size_t k)
{
    const double turn = 2 * M_PI * wave->frequency[k] * wave->scale;

    if (wave->in_row[k] == wave->frequency[k])
        return;
    for (size_t i = 0; i < wave->n; i++) {
        const double angle = turn * wave->x[i];
        wave->row[i][3 + 2 * k] = cos(angle);
        wave->row[i][4 + 2 * k] = sin(angle);
    }
    wave->in_row[k] = wave->frequency[k];
}

pellet_status signal_wave_fit(struct signal_wave *wave)
{
    double coefficient[SIGNAL_BASIS_MAX];
    struct signal_least sums;
    pellet_status status;

    for (size_t k = 0; k < wave->count; k++)
        set_sinusoid(wave, k);
    signal_least_start(&sums, 3 + 2 * wave->count);
    signal_least_add_all(&sums, wave->row[0], SIGNAL_WAVE_TERMS, wave->y, NULL, wave->n);
    status = signal_least_solve(&sums, coefficient, NULL, NULL);
    if (status != PELLET_OK)
        return status;
    memcpy(wave->coefficient, coefficient, sums.p * sizeof *coefficient);
    wave->ssr = 0; /* summed afresh: the difference of large sums would lose a small rest */
    for (size_t i = 0; i < wave->n; i++) {
        double value = 0;

        for (size_t k = 0; k < sums.p; k++)
            value += coefficient[k] * wave->row[i][k];
        wave->rest[i] = wave->y[i] - value;
        wave->ssr += wave->rest[i] * wave->rest[i];
    }
    return PELLET_OK;
}

/* Leave out what lies further off than `reach`; the order stays. Returns how many points went. */
static size_t drop_beyond(struct signal_wave *wave, double reach)
{
    size_t kept = 0;

    for (size_t i = 0; i < wave->n; i++) {
        if (!(fabs(wave->rest[i]) <= reach))
            continue;
        memmove(wave->row[kept], wave->row[i], sizeof wave->row[i]);
        wave->x[kept] = wave->x[i];
        wave->y[kept] = wave->y[i];
        wave->rest[kept++] = wave->rest[i];
    }
    const size_t gone = wave->n - kept;
    wave->n = kept;
    return gone;
}

static size_t count_within(const double *size, size_t n, double reach)
{
    size_t count = 0;

    for (size_t i = 0; i < n; i++)
        count += size[i] <= reach;
    return count;
}

pellet_status signal_wave_trim(struct signal_wave *wave)
{
    const double least = TRIM_LEAST * (double)wave->all;
    double *size = malloc(wave->n * sizeof *size);
    pellet_status status = size != NULL ? PELLET_OK : PELLET_E_MEMORY;

    for (size_t turn = 0; status == PELLET_OK && turn < TRIM_TURNS; turn++) {
        double reach;

        for (size_t i = 0; i < wave->n; i++)
            size[i] = fabs(wave->rest[i]);
        reach = TRIM_SIGMA * signal_median(size, wave->n) / MEDIAN_SHARE;
        if (!(reach > 0) || (double)count_within(size, wave->n, reach) < least ||
            drop_beyond(wave, reach) == 0)
            break;
        status = signal_wave_fit(wave);
    }
    free(size);
    return status;
}

/* Correlation of rest with itself `lag` points on. */
static double correlation(const struct signal_wave *wave, size_t lag)
{
    double product = 0, squares = 0;

    for (size_t i = 0; i < wave->n; i++) {
        squares += wave->rest[i] * wave->rest[i];
        if (i >= lag)
            product += wave->rest[i] * wave->rest[i - lag];
    }
    return squares > 0 ? product / squares : 0;
}

double signal_wave_correlation(const struct signal_wave *wave)
{
    return correlation(wave, 1);
}

double signal_wave_alike(const struct signal_wave *wave)
{
    double sum = 1;

    for (size_t lag = 1; lag <= LAG_MAX && 2 * lag < wave->n; lag++)
        sum += 2 * (1 - (double)lag / (double)(LAG_MAX + 1)) * correlation(wave, lag);
    return fmax(sum, 1);
}
