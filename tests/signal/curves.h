// SPDX-License-Identifier: GPL-3.0-or-later
/* Curves made from the published definitions, and seeded noise: what the tests of this room measure. */
#ifndef PELLET_TEST_CURVES_H
#define PELLET_TEST_CURVES_H

#include "testing.h"

#include "pellet/signal.h"

#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>

/* An even grid and one curve on it; the test frees both by curves_free. */
struct curves {
    struct pellet_grid grid;
    double *x, *y, *out;
    gsl_rng *rng;
};

static inline struct curves curves_make(double low, double high, double spacing, unsigned long seed)
{
    struct curves c = {.grid.n = (size_t)((high - low) / spacing + 1e-9) + 1};

    c.x = calloc(c.grid.n, sizeof *c.x);
    c.y = calloc(c.grid.n, sizeof *c.y);
    c.out = calloc(c.grid.n, sizeof *c.out);
    c.rng = gsl_rng_alloc(gsl_rng_mt19937);
    assert_true(c.x != NULL && c.y != NULL && c.out != NULL && c.rng != NULL);
    gsl_rng_set(c.rng, seed);
    for (size_t i = 0; i < c.grid.n; i++)
        c.x[i] = low + spacing * (double)i;
    c.grid.wavenumber = c.x;
    return c;
}

static inline void curves_free(struct curves *c)
{
    free(c->x);
    free(c->y);
    free(c->out);
    gsl_rng_free(c->rng);
}

static inline double curves_uniform(struct curves *c, double low, double high)
{
    return low + (high - low) * gsl_rng_uniform(c->rng);
}

/* Full widths at half height. */
static inline double curves_gauss(double nu, double at, double width)
{
    return exp(-4 * M_LN2 * pow((nu - at) / width, 2));
}

static inline double curves_lorentz(double nu, double at, double width)
{
    return 1 / (1 + 4 * pow((nu - at) / width, 2));
}

static inline void curves_add(struct curves *c, double (*shape)(double, double, double), double height,
                              double at, double width)
{
    for (size_t i = 0; i < c->grid.n; i++)
        c->y[i] += height * shape(c->x[i], at, width);
}

static inline void curves_ripple(struct curves *c, double amplitude, double period, double phase)
{
    for (size_t i = 0; i < c->grid.n; i++)
        c->y[i] += amplitude * cos(2 * M_PI * c->x[i] / period + phase);
}

/*
 * Normal noise whose spectrum is flat up to 1/filled of the highest frequency, as zero-filling `filled` times
 * leaves it: independent numbers every `filled` points, joined by the sampling theorem's sinc.
 */
static inline void curves_noise(struct curves *c, double sigma, size_t filled)
{
    const size_t n = c->grid.n / filled + 2, reach = 60;
    double *e = calloc(n, sizeof *e);

    assert_non_null(e);
    for (size_t k = 0; k < n; k++)
        e[k] = gsl_ran_gaussian(c->rng, sigma);
    for (size_t i = 0; i < c->grid.n; i++) {
        const size_t middle = i / filled, first = middle > reach ? middle - reach : 0;

        for (size_t k = first; k < n && k <= middle + reach; k++) {
            const double t = M_PI * ((double)i / (double)filled - (double)k);

            c->y[i] += e[k] * (fabs(t) < 1e-12 ? 1 : sin(t) / t);
        }
    }
    free(e);
}

#endif
