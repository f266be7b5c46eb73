// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/periodogram.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_fft_complex.h>

/* Places of the grid on each side of a point over which it is spread: 12 give twelve digits. */
enum { SPREAD = 12, PLACES_MIN = 64 };

/*
 * Sums of c exp(i k t) for whole k in -n/2 .. n/2 over points at angles t. Each point is spread over its
 * neighbours on an even grid as a Gaussian, a fast Fourier transform sums the grid, and the Gaussian's known
 * transform is divided out.
 */
struct sums {
    size_t n;               /* how many k, -(n / 2) the first */
    size_t places;          /* of the grid, a power of two */
    double width;           /* of the Gaussian: exp(-t^2 / (4 width)) */
    double far[SPREAD + 1]; /* exp(-(l h)^2 / (4 width)), h between two places */
    double *grid;           /* [2 places], real and imaginary parts in turn */
};

static bool sums_start(struct sums *sums, size_t n)
{
    sums->n = n;
    for (sums->places = PLACES_MIN; sums->places < 2 * n;)
        sums->places *= 2;
    const double ratio = (double)sums->places / (double)n, between = 2 * M_PI / (double)sums->places;
    sums->width = M_PI * SPREAD / ((double)n * (double)n * ratio * (ratio - 0.5));
    for (size_t l = 0; l <= SPREAD; l++) {
        const double distance = (double)l * between;
        sums->far[l] = exp(-distance * distance / (4 * sums->width));
    }
    sums->grid = calloc(2 * sums->places, sizeof *sums->grid);
    return sums->grid != NULL;
}

/* A point of size c exp(i phase) at the angle t. */
static void sums_add(struct sums *sums, double t, double c, double phase)
{
    const size_t mask = sums->places - 1;
    const double between = 2 * M_PI / (double)sums->places, at = floor(t / between);
    const double off = t - at * between; /* exp(-(off - l h)^2) in three factors, two of them powers */
    const double near = exp(-off * off / (4 * sums->width)), by = exp(off * between / (2 * sums->width));
    const double re = c * cos(phase) * near, im = c * sin(phase) * near;
    const size_t place = (size_t)((long)at + (long)sums->places) & mask;
    double up = 1, down = 1;

    for (size_t l = 0; l < SPREAD; l++) {
        double *right = sums->grid + 2 * ((place + l) & mask);
        double *left = sums->grid + 2 * ((place + sums->places - l - 1) & mask);

        down /= by;
        right[0] += re * up * sums->far[l];
        right[1] += im * up * sums->far[l];
        left[0] += re * down * sums->far[l + 1];
        left[1] += im * down * sums->far[l + 1];
        up *= by;
    }
}

static void sums_transform(struct sums *sums)
{
    (void)gsl_fft_complex_radix2_backward(sums->grid, 1, sums->places);
}

/* The sum for the j-th k, after sums_transform. */
static void sums_at(const struct sums *sums, size_t j, double *re, double *im)
{
    const size_t first = sums->n / 2;
    const double k = (double)j - (double)first;
    const double scale = sqrt(M_PI / sums->width) * exp(k * k * sums->width) / (double)sums->places;
    const double *at = sums->grid + 2 * ((j + sums->places - first) & (sums->places - 1));

    *re = scale * at[0];
    *im = scale * at[1];
}

/* From the sums of y exp(iwx) and of exp(2iwx) at one frequency. */
static double power_of(double points, double yc, double ys, double c2, double s2)
{
    const double cc = (points + c2) / 2, cs = s2 / 2, ss = points - cc, determinant = cc * ss - cs * cs;

    if (!(determinant > 1e-9 * cc * ss))
        return 0;
    return (yc * yc * ss - 2 * yc * ys * cs + ys * ys * cc) / determinant / 2;
}

pellet_status signal_periodogram(const double *x, const double *y, size_t points, double low, double high,
                                 size_t n, struct signal_periodogram *made)
{
    const double step = (high - low) / (double)n;
    const size_t before = n / 2;
    const double middle = low + step * ((double)before + 0.5);
    double *power = malloc(n * sizeof *power);
    struct sums curve = {0}, waves = {0};
    pellet_status status = PELLET_E_MEMORY;

    if (power != NULL && sums_start(&curve, n) && sums_start(&waves, n)) {
        for (size_t i = 0; i < points; i++) {
            const double turn = 2 * M_PI * x[i];

            sums_add(&curve, turn * step, y[i], turn * middle);
            sums_add(&waves, 2 * turn * step, 1, 2 * turn * middle);
        }
        sums_transform(&curve);
        sums_transform(&waves);
        for (size_t j = 0; j < n; j++) {
            double yc, ys, c2, s2;

            sums_at(&curve, j, &yc, &ys);
            sums_at(&waves, j, &c2, &s2);
            power[j] = power_of((double)points, yc, ys, c2, s2);
        }
        *made = (struct signal_periodogram){n, low, step, power};
        power = NULL;
        status = PELLET_OK;
    }
    free(power);
    free(curve.grid);
    free(waves.grid);
    return status;
}

void signal_periodogram_clear(struct signal_periodogram *made)
{
    free(made->power);
    memset(made, 0, sizeof *made);
}
