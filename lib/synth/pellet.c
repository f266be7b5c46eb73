// SPDX-License-Identifier: GPL-3.0-or-later
/* The pellet at one wavenumber: what is in it, its two faces, and the light that goes beside it. */
#include "pellet/reference.h"
#include "synth/model.h"

#include <math.h>

/* Refractive index of the film (invented; polymers stand near it) and the grain radius of a carried-over
 * residue. */
#define FILM_INDEX       1.59
#define RESIDUE_GRAIN_UM 0.2

#define CM_PER_UM 1e-4
#define CM_PER_MM 0.1

void pellet_synth_pellet_init(struct pellet_synth_pellet *pellet)
{
    *pellet = (struct pellet_synth_pellet){
        .grain_um = 0.5,
        .thickness_mm = 0.55,
        .fringes = 0.10,
        .roughness_um = 0.05,
        .haze = 0.01,
        .haze_um = 0.3,
        .water_ug_cm2 = 5.0,
        .water_shift_cm1 = 30.0,
        .water_width = 1.0,
    };
}

void pellet_synth_pellet_press(struct pellet_synth_pellet *pellet, double fraction, double pressed_mg,
                               double die_mm)
{
    pellet->dose_mg_cm2 = fraction * pressed_mg / pellet_die_area_cm2(die_mm);
    pellet->thickness_mm = pellet_kbr_thickness_mm((1.0 - fraction) * pressed_mg, die_mm);
}

static double host_index(const struct pellet_synth_pellet *pellet, double wavenumber)
{
    return pellet->film ? FILM_INDEX : pellet_kbr_index(wavenumber);
}

/* ---------------------------------------------------------------- what is inside */

/* From decadic absorptivity (cm2/mg) of the solid to its imaginary index. */
static double imaginary_index(const struct pellet_synth_compound *compound, double absorptivity,
                              double wavenumber)
{
    return absorptivity * 1e3 * compound->density * M_LN10 / (4.0 * M_PI * wavenumber);
}

/* Grains of a compound; into `parts` also what they would take without bands and without absorption. */
static double grains(const struct pellet_synth_compound *compound, double dose_mg_cm2, double radius_um,
                     double host, double wavenumber, double forward, struct pellet_synth_parts *parts)
{
    double absorptivity = 0.0, dispersion = 0.0;
    pellet_synth_compound_at(compound, wavenumber, &absorptivity, &dispersion);
    const double volume = 1e-3 * dose_mg_cm2 / compound->density, radius = radius_um * CM_PER_UM;
    const double difference = compound->index - host;
    const double k = imaginary_index(compound, absorptivity, wavenumber);
    if (parts) {
        parts->background = pellet_synth_grains(volume, radius, difference, 0.0, wavenumber, forward);
        parts->scatter =
            pellet_synth_grains(volume, radius, difference + dispersion, 0.0, wavenumber, forward);
    }
    return pellet_synth_grains(volume, radius, difference + dispersion, k, wavenumber, forward);
}

static double film_absorbance(const struct pellet_synth_pellet *pellet, double wavenumber)
{
    double absorptivity = 0.0, dispersion = 0.0;
    pellet_synth_compound_at(pellet->compound, wavenumber, &absorptivity, &dispersion);
    const double dose_mg_cm2 = pellet->thickness_mm * CM_PER_MM * pellet->compound->density * 1e3;
    return absorptivity * dose_mg_cm2;
}

/* Air-filled voids scatter as spheres; only the slope is theirs, the strength is set at 2000 cm-1. */
static double haze(const struct pellet_synth_pellet *pellet, double wavenumber)
{
    if (!(pellet->haze > 0.0))
        return 0.0;
    const double radius = pellet->haze_um * CM_PER_UM;
    const double rho = 4.0 * M_PI * radius * wavenumber * (host_index(pellet, wavenumber) - 1.0);
    const double rho_2000 = 4.0 * M_PI * radius * 2000.0 * (host_index(pellet, 2000.0) - 1.0);
    return pellet->haze * pellet_synth_scatter_efficiency(rho) / pellet_synth_scatter_efficiency(rho_2000);
}

/* 0 below `from`, 1 above `to`, smooth between. */
static double ramp(double x, double from, double to)
{
    const double t = fmin(1.0, fmax(0.0, (x - from) / (to - from)));
    return t * t * (3.0 - 2.0 * t);
}

/* Liquid water beyond the end of the table fades by half in the 73 cm-1 in which the table's last rows do. */
static double water_absorbance(double wavenumber)
{
    const double last = 1e4 / pellet_water_rows[0].wavelength_um;
    if (wavenumber <= last)
        return pellet_water_absorbance(wavenumber);
    return pellet_water_absorbance(last) * exp2((last - wavenumber) / 73.0);
}

/*
 * Adsorbed water is not quite bulk water: its stretching band moves and widens, and where the hydrogen bonds
 * weaken the stretch rises while the bend falls by about a quarter of that (proportion invented). Each of the
 * two bands keeps its integrated strength; between and below them nothing moves.
 */
static double water(const struct pellet_synth_pellet *pellet, double wavenumber)
{
    const double width = pellet->water_width, shift = pellet->water_shift_cm1;
    const double stretch_at = 3400.0, bend_at = 1640.0;
    const double stretch = ramp(wavenumber, 2500.0, 2900.0);
    const double bend = ramp(wavenumber, 1350.0, 1500.0) * (1.0 - ramp(wavenumber, 1800.0, 2000.0));
    const double from_stretch = (wavenumber - stretch_at - shift) / width + stretch_at - wavenumber;
    const double from_bend = (wavenumber - bend_at + 0.25 * shift) / width + bend_at - wavenumber;
    const double moved = wavenumber + stretch * from_stretch + bend * from_bend;
    const double weaker = 1.0 + (stretch + bend) * (1.0 / width - 1.0);
    return pellet->water_ug_cm2 * weaker * water_absorbance(moved);
}

static double impurities(const struct pellet_synth_pellet *pellet, double wavenumber)
{
    double sum = 0.0;
    for (size_t i = 0; i < pellet->impurity_count; i++) {
        const struct pellet_synth_impurity *impurity = &pellet->impurity[i];
        sum += impurity->height *
               pellet_synth_band_shape(wavenumber - impurity->at_cm1, impurity->width_cm1, 0.5);
    }
    return sum;
}

void pellet_synth_parts_at(const struct pellet_synth_pellet *pellet, double forward, double wavenumber,
                           struct pellet_synth_parts *parts)
{
    const double host = host_index(pellet, wavenumber);
    *parts = (struct pellet_synth_parts){
        .haze = haze(pellet, wavenumber),
        .water = water(pellet, wavenumber),
        .impurity = impurities(pellet, wavenumber),
    };
    if (pellet->compound && pellet->film)
        parts->sample = film_absorbance(pellet, wavenumber);
    else if (pellet->compound && pellet->dose_mg_cm2 > 0.0)
        parts->sample =
            grains(pellet->compound, pellet->dose_mg_cm2, pellet->grain_um, host, wavenumber, forward, parts);
    if (pellet->residue && pellet->residue_mg_cm2 > 0.0)
        parts->residue = grains(pellet->residue, pellet->residue_mg_cm2, RESIDUE_GRAIN_UM, host, wavenumber,
                                forward, NULL);
}

/* ---------------------------------------------------------------- faces and edges */

/*
 * A plane-parallel plate that absorbs: all internal reflections added up, in phase as far as wedge, beam
 * spread and roughness leave them so. With q = R tau x coherence and the phase delta = 4 pi n d nu: T = (1 -
 * R)^2 tau / (1 - R^2 tau^2)  x  (1 - q^2) / (1 - 2 q cos delta + q^2) Full coherence gives Airy's formula,
 * none the sum of intensities. The loss of coherence by roughness is that of a Gauss distribution of path
 * differences. Source: any text on optics (M. Born, E. Wolf, Principles of Optics).
 */
static double plate(const struct pellet_synth_pellet *pellet, double wavenumber, double tau, bool fringes)
{
    const double n = host_index(pellet, wavenumber), r = (n - 1.0) / (n + 1.0), big_r = r * r;
    const double incoherent = (1.0 - big_r) * (1.0 - big_r) * tau / (1.0 - big_r * big_r * tau * tau);
    if (!fringes || !(pellet->fringes > 0.0))
        return incoherent;
    const double spread = 4.0 * M_PI * n * pellet->roughness_um * CM_PER_UM * wavenumber;
    const double q = big_r * tau * pellet->fringes * exp(-0.5 * spread * spread);
    const double delta = 4.0 * M_PI * n * pellet->thickness_mm * CM_PER_MM * wavenumber;
    return incoherent * (1.0 - q * q) / (1.0 - 2.0 * q * cos(delta) + q * q);
}

double pellet_synth_transmit(const struct pellet_synth_pellet *pellet, double wavenumber, double absorbance,
                             bool fringes)
{
    const double through = plate(pellet, wavenumber, pow(10.0, -absorbance), fringes);
    return (1.0 - pellet->shaded) * (pellet->leak + (1.0 - pellet->leak) * through);
}
