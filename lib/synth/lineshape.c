// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The instrument's line shape: the Fourier transform of the apodisation that an interferogram of path
 * differences up to L = 1/resolution is multiplied with. It acts on intensity, not on absorbance, which is
 * why a strong narrow band reads too low. Source: P. R. Griffiths, J. A. de Haseth, Fourier Transform
 * Infrared Spectrometry, chapter on apodisation (from memory; each transform is elementary).
 */
#include "synth/model.h"

#include <math.h>
#include <stdlib.h>

/* How far the line shape is followed, in units of the resolution; what is cut off is scaled back in. */
#define REACH 6.0
/* Places between two points of the fine grid at which the line shape is tabulated: 0.008 cm-1 apart. */
#define PHASES 32

static double sinc(double x)
{
    return fabs(x) < 1e-6 ? 1.0 : sin(M_PI * x) / (M_PI * x);
}

/* x counts in units of the resolution, so that L x offset = x. */
static double happ_genzel(double x)
{
    return 0.54 * sinc(2.0 * x) + 0.23 * (sinc(2.0 * x - 1.0) + sinc(2.0 * x + 1.0));
}

static double triangular(double x)
{
    return sinc(x) * sinc(x);
}

static double gauss(double x)
{
    return exp(-4.0 * M_LN2 * x * x);
}

static double (*const line_of[PELLET_SYNTH_APODISATION_COUNT])(double) = {happ_genzel, triangular, gauss};

double pellet_synth_line(enum pellet_synth_apodisation apodisation, double resolution_cm1, double offset)
{
    return line_of[apodisation](offset / resolution_cm1);
}

static void fill_row(struct pellet_synth_lineshape *shape, size_t phase)
{
    const size_t taps = 2 * shape->half + 1;
    double *row = shape->weight + phase * taps, sum = 0.0;
    for (size_t i = 0; i < taps; i++) {
        const double steps = (double)i - (double)shape->half - (double)phase / PHASES;
        row[i] = pellet_synth_line(shape->apodisation, shape->resolution_cm1, steps * PELLET_SYNTH_FINE_STEP);
        sum += row[i];
    }
    for (size_t i = 0; i < taps; i++)
        row[i] /= sum;
}

pellet_status pellet_synth_lineshape_make(struct pellet_synth_lineshape *shape, double resolution_cm1,
                                          enum pellet_synth_apodisation apodisation)
{
    if (shape->weight && shape->resolution_cm1 == resolution_cm1 && shape->apodisation == apodisation)
        return PELLET_OK;
    const size_t half = (size_t)ceil(REACH * resolution_cm1 / PELLET_SYNTH_FINE_STEP);
    struct pellet_synth_lineshape made = {resolution_cm1, apodisation, half, NULL};
    made.weight = malloc((PHASES + 1) * (2 * half + 1) * sizeof *made.weight);
    if (!made.weight)
        return PELLET_E_MEMORY;
    for (size_t phase = 0; phase <= PHASES; phase++)
        fill_row(&made, phase);
    free(shape->weight);
    *shape = made;
    return PELLET_OK;
}

void pellet_synth_lineshape_clear(struct pellet_synth_lineshape *shape)
{
    free(shape->weight);
    *shape = (struct pellet_synth_lineshape){0};
}

double pellet_synth_lineshape_apply(const struct pellet_synth_lineshape *shape, const double *beam,
                                    double wavenumber)
{
    const double place = (wavenumber - PELLET_SYNTH_FINE_LOW) / PELLET_SYNTH_FINE_STEP;
    const size_t centre = (size_t)place, phase = (size_t)lround((place - (double)centre) * PHASES);
    const size_t taps = 2 * shape->half + 1;
    const double *row = shape->weight + phase * taps, *from = beam + centre - shape->half;
    double sum = 0.0;
    for (size_t i = 0; i < taps; i++)
        sum += row[i] * from[i];
    return sum;
}
