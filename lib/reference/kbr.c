// SPDX-License-Identifier: GPL-3.0-or-later
/* Potassium bromide: dispersion, reflection, and the geometry of a pressed pellet. */
#include "pellet/reference.h"

#include <math.h>

#define STANDARD_GRAVITY 9.80665 /* m/s2, by definition */

/* n^2 - 1 = constant + sum of strength L^2 / (L^2 - resonance^2), L in um (Li 1976). */
static const double sellmeier_constant = 0.39408;
static const struct {
    double strength, resonance_um;
} sellmeier[] = {
    {0.79221, 0.146}, {0.01981, 0.173}, {0.15587, 0.187}, {0.17673, 60.61}, {2.06217, 87.72},
};
#define SELLMEIER_TERMS (sizeof sellmeier / sizeof sellmeier[0])

static bool in_range(double wavenumber)
{
    return wavenumber >= 1e4 / 42.0 && wavenumber <= 1e4 / 0.20;
}

/* With s = wavenumber in um-1, L^2/(L^2 - W^2) is 1/(1 - W^2 s^2): no division by a vanishing wavelength. */
double pellet_kbr_index(double wavenumber)
{
    if (!in_range(wavenumber))
        return (double)NAN;
    const double s = wavenumber * 1e-4;
    double square = 1.0 + sellmeier_constant;
    for (size_t i = 0; i < SELLMEIER_TERMS; i++) {
        const double w = sellmeier[i].resonance_um * s;
        square += sellmeier[i].strength / (1.0 - w * w);
    }
    return sqrt(square);
}

/* s dn/ds = (1/2n) sum of 2 B W^2 s^2 / (1 - W^2 s^2)^2. */
double pellet_kbr_group_index(double wavenumber)
{
    const double n = pellet_kbr_index(wavenumber), s = wavenumber * 1e-4;
    double sum = 0.0;
    for (size_t i = 0; i < SELLMEIER_TERMS; i++) {
        const double w = sellmeier[i].resonance_um * s, rest = 1.0 - w * w;
        sum += sellmeier[i].strength * w * w / (rest * rest);
    }
    return n + sum / n;
}

double pellet_kbr_reflectance(double wavenumber)
{
    const double n = pellet_kbr_index(wavenumber), r = (n - 1.0) / (n + 1.0);
    return r * r;
}

double pellet_kbr_plate_transmittance(double wavenumber)
{
    const double r = pellet_kbr_reflectance(wavenumber);
    return (1.0 - r) / (1.0 + r);
}

double pellet_die_area_cm2(double die_mm)
{
    const double radius_cm = die_mm / 20.0;
    return M_PI * radius_cm * radius_cm;
}

double pellet_kbr_thickness_mm(double mass_mg, double die_mm)
{
    const double volume_cm3 = mass_mg * 1e-3 / PELLET_KBR_DENSITY;
    return 10.0 * volume_cm3 / pellet_die_area_cm2(die_mm);
}

double pellet_die_pressure_mpa(double load_t, double die_mm)
{
    const double newton = load_t * 1e3 * STANDARD_GRAVITY;
    return newton / (100.0 * pellet_die_area_cm2(die_mm)); /* N/mm2 */
}

double pellet_fringe_thickness_mm(double period, double group_index)
{
    return 10.0 / (2.0 * group_index * period);
}
