// SPDX-License-Identifier: GPL-3.0-or-later
/* Detector noise on a single beam, white in the spectrum and correlated where the file is zero-filled. */
#include "synth/model.h"

#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>
#include <math.h>
#include <stdlib.h>

/* Native points on either side that an interpolated point is made of. */
#define LOBES 8

/* The sinc that zero-filling interpolates with, faded by a wider one (Lanczos). */
static double lanczos(double x)
{
    if (fabs(x) < 1e-9)
        return 1.0;
    if (fabs(x) >= LOBES)
        return 0.0;
    return sin(M_PI * x) / (M_PI * x) * sin(M_PI * x / LOBES) / (M_PI * x / LOBES);
}

/* Weights for a place `fraction` after a native point, scaled to keep the variance. */
static void weigh(double fraction, double weight[2 * LOBES])
{
    double squares = 0.0;
    for (int i = 0; i < 2 * LOBES; i++) {
        weight[i] = lanczos((double)(i - LOBES + 1) - fraction);
        squares += weight[i] * weight[i];
    }
    for (int i = 0; i < 2 * LOBES; i++)
        weight[i] /= sqrt(squares);
}

pellet_status pellet_synth_noise_add(double *y, size_t n, unsigned zero_fill, double sigma,
                                     unsigned long seed)
{
    if (n == 0 || !(sigma > 0.0))
        return PELLET_OK;
    pellet_status status = PELLET_E_MEMORY;
    const size_t native = (n - 1) / zero_fill + 2 * LOBES + 1;
    double *white = calloc(native, sizeof *white);
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_mt19937);
    if (!white || !rng)
        goto out;
    gsl_rng_set(rng, seed);
    for (size_t i = 0; i < native; i++)
        white[i] = gsl_ran_gaussian_ziggurat(rng, sigma);
    double weight[2 * LOBES];
    for (unsigned phase = 0; phase < zero_fill; phase++) {
        weigh((double)phase / zero_fill, weight);
        for (size_t i = phase; i < n; i += zero_fill)
            for (size_t k = 0; k < 2 * LOBES; k++)
                y[i] += weight[k] * white[i / zero_fill + k];
    }
    status = PELLET_OK;
out:
    if (rng)
        gsl_rng_free(rng);
    free(white);
    return status;
}
