// SPDX-License-Identifier: GPL-3.0-or-later
/* Draws that the bench makes of its amounts. */
#ifndef BENCH_RANDOM_H
#define BENCH_RANDOM_H

#include <gsl/gsl_rng.h>
#include <math.h>

static inline double uniform(gsl_rng *rng, double low, double high)
{
    return low + (high - low) * gsl_rng_uniform(rng);
}

static inline double log_uniform(gsl_rng *rng, double low, double high)
{
    return low * pow(high / low, gsl_rng_uniform(rng));
}

#endif
