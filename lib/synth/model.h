// SPDX-License-Identifier: GPL-3.0-or-later
/* What the parts of the model share: the fine grid, and the functions of one wavenumber. */
#ifndef PELLET_SYNTH_MODEL_H
#define PELLET_SYNTH_MODEL_H

#include "pellet/synth.h"

#include <stddef.h>

/*
 * The fine grid of transmitted intensity. 0.25 cm-1 is a quarter of the finest resolution and a tenth of the
 * closest fringes; lines of air are narrower and are averaged over each cell (air.c). The ends leave room for
 * the line shape at 16 cm-1 beyond 360..4060.
 */
#define PELLET_SYNTH_FINE_LOW  260.0
#define PELLET_SYNTH_FINE_STEP 0.25
#define PELLET_SYNTH_FINE_N    15601 /* to 4160 */

static inline double pellet_synth_fine(size_t i)
{
    return PELLET_SYNTH_FINE_LOW + PELLET_SYNTH_FINE_STEP * (double)i;
}

/* Decadic absorbance of the parts of a pellet at one wavenumber, reflection left out. */
struct pellet_synth_parts {
    double sample;     /* grains of the compound: bands and scatter */
    double background; /* what the same grains would take if the compound had no bands */
    double scatter;    /* what they would take if they did not absorb, the bands' dispersion left in */
    double haze;
    double water;
    double residue;
    double impurity;
};

void pellet_synth_parts_at(const struct pellet_synth_pellet *pellet, double forward, double wavenumber,
                           struct pellet_synth_parts *parts);

/* Transmittance at one wavenumber of faces, leak and shade around an absorbance inside; with or without
 * fringes. */
double pellet_synth_transmit(const struct pellet_synth_pellet *pellet, double wavenumber, double absorbance,
                             bool fringes);

/* ---------------------------------------------------------------- compounds.c */

/*
 * A compound at one wavenumber.
 *
 * Returned:  absorptivity  decadic, cm2/mg
 *            dispersion    what its bands add to its refractive index
 */
void pellet_synth_compound_at(const struct pellet_synth_compound *compound, double wavenumber,
                              double *absorptivity, double *dispersion);

/* Height 1 at the centre, `width` at half height; `gauss` is the share of the Gauss curve. */
double pellet_synth_band_shape(double offset, double width, double gauss);

/* ---------------------------------------------------------------- grains.c */

/*
 * Absorbance of spheres by anomalous diffraction.
 *
 * Given:     volume_cm   volume of the spheres in the beam per area (cm)
 *            radius_cm
 *            difference  of the real index against the surroundings
 *            k           imaginary index
 *            wavenumber  cm-1
 *            forward     share of the scattered light that is collected all the same, 0..1
 */
double pellet_synth_grains(double volume_cm, double radius_cm, double difference, double k, double wavenumber,
                           double forward);

/* Extinction efficiency of spheres that do not absorb, from the phase shift rho through the middle. */
double pellet_synth_scatter_efficiency(double rho);

/* ---------------------------------------------------------------- air.c */

/* Natural optical depth of one column of each gas on a grid finer than its lines. */
struct pellet_synth_air;
struct pellet_synth_air *pellet_synth_air_new(void); /* NULL when memory runs out */
void pellet_synth_air_free(struct pellet_synth_air *air);
/* Multiply beam[PELLET_SYNTH_FINE_N] by the transmittance of the air, averaged over each cell of the fine
 * grid. */
void pellet_synth_air_apply(const struct pellet_synth_air *air, double vapour_cm2, double carbon_dioxide_cm2,
                            double *beam);

/* ---------------------------------------------------------------- energy.c */

/* Energy of the open beam without air, line shape and gain; the greatest value of a plain instrument is 1. */
double pellet_synth_energy(const struct pellet_synth_instrument *instrument, double wavenumber);

/* ---------------------------------------------------------------- lineshape.c */

/* The instrument's line shape, sampled on the fine grid for a set of places between its points. */
struct pellet_synth_lineshape {
    double resolution_cm1; /* 0: not made yet */
    enum pellet_synth_apodisation apodisation;
    size_t half; /* points on either side */
    double *weight;
};
pellet_status pellet_synth_lineshape_make(struct pellet_synth_lineshape *shape, double resolution_cm1,
                                          enum pellet_synth_apodisation apodisation);
void pellet_synth_lineshape_clear(struct pellet_synth_lineshape *shape);
/* The convolution of beam[PELLET_SYNTH_FINE_N] with the line shape at one wavenumber. */
double pellet_synth_lineshape_apply(const struct pellet_synth_lineshape *shape, const double *beam,
                                    double wavenumber);
/* The line shape itself at `offset` from its centre, not normalised; greatest at 0. */
double pellet_synth_line(enum pellet_synth_apodisation apodisation, double resolution_cm1, double offset);

/* ---------------------------------------------------------------- noise.c */

/*
 * Add Gauss noise of standard deviation `sigma` to y[n]: independent at every `zero_fill`th point and
 * interpolated between as zero-filling does.
 */
pellet_status pellet_synth_noise_add(double *y, size_t n, unsigned zero_fill, double sigma,
                                     unsigned long seed);

#endif
