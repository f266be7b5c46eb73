// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The air in the beam: water vapour by the strong HITRAN lines, carbon dioxide by a rotating molecule's two
 * bands. Lines are pressure-broadened (Lorentz) and narrower than the fine grid, so transmittance is computed
 * on a grid sixteen times finer and averaged over each cell: intensity adds up, absorbance does not.
 *
 * Invented or from memory: one half width for all lines of a gas; band strengths of CO2; its rotational
 * constants. Left out: weak lines, temperature, the hot bands.
 */
#include "pellet/reference.h"
#include "synth/model.h"

#include <math.h>
#include <stdlib.h>

#define SUBSTEPS   16
#define SUBSTEP    (PELLET_SYNTH_FINE_STEP / SUBSTEPS)
#define LINE_REACH 25.0 /* cm-1 on either side */

#define VAPOUR_HALF_WIDTH 0.08 /* cm-1 at 1 atm; measured lines have 0.03 to 0.1 (from memory) */
#define CO2_HALF_WIDTH    0.07
#define ROOM_KELVIN       296.0
#define RADIATION_CM_K    1.438777

/* A stretch of the fine grid that a gas darkens, and its natural optical depth per molecule/cm2 on the
 * substeps. */
struct region {
    double low, high;
    size_t first, cells;
    double *depth; /* [cells x SUBSTEPS] */
};

enum { VAPOUR_BEND, VAPOUR_STRETCH, CO2_STRETCH, CO2_BEND, REGIONS };

static const struct {
    double low, high;
} ends[REGIONS] = {
    [VAPOUR_BEND] = {1385.0, 1925.0},
    [VAPOUR_STRETCH] = {3475.0, 3975.0},
    [CO2_STRETCH] = {2250.0, 2420.0},
    [CO2_BEND] = {580.0, 760.0},
};

struct pellet_synth_air {
    struct region region[REGIONS];
};

/* A vibration of CO2: centre, integrated strength (cm/molecule), rotational constant above, share of the Q
 * branch. */
struct co2_band {
    double centre, strength, upper_b, q_share;
};

static const struct co2_band co2_stretch = {PELLET_CO2_STRETCH, 9.5e-17, 0.3871, 0.0};
static const struct co2_band co2_bend = {PELLET_CO2_BEND, 8.0e-18, 0.3906, 0.5};

static void add_line(struct region *region, double at, double strength, double half_width)
{
    const double origin = region->low - 0.5 * PELLET_SYNTH_FINE_STEP + 0.5 * SUBSTEP;
    const double first = fmax(0.0, ceil((at - LINE_REACH - origin) / SUBSTEP));
    const double last = fmin((double)(region->cells * SUBSTEPS), floor((at + LINE_REACH - origin) / SUBSTEP));
    for (size_t i = (size_t)first; last > 0.0 && i < (size_t)last; i++) {
        const double offset = origin + (double)i * SUBSTEP - at;
        region->depth[i] += strength * half_width / M_PI / (offset * offset + half_width * half_width);
    }
}

static void add_vapour(struct region *region)
{
    for (size_t i = 0; i < pellet_vapour_line_count; i++) {
        const struct pellet_vapour_line *line = &pellet_vapour_lines[i];
        if (line->wavenumber > region->low && line->wavenumber < region->high)
            add_line(region, line->wavenumber, line->intensity, VAPOUR_HALF_WIDTH);
    }
}

/*
 * P and R lines of a linear molecule with even J only (the oxygen nuclei have no spin), strength by
 * Hoenl-London factor times Boltzmann; the Q branch of the bend in one crowd of lines. Any text on molecular
 * spectra.
 */
static void add_co2(struct region *region, const struct co2_band *band)
{
    const double b = PELLET_CO2_B, sum_of_states = 0.5 * ROOM_KELVIN / (RADIATION_CM_K * b);
    for (int j = 0; j <= 80; j += 2) {
        const double population = exp(-RADIATION_CM_K * b * j * (j + 1) / ROOM_KELVIN) / sum_of_states;
        const double unit = band->strength * population, pr = (1.0 - band->q_share) * unit;
        const double up = j + 1.0, down = -(double)j;
        add_line(region, band->centre + (band->upper_b + b) * up + (band->upper_b - b) * up * up,
                 pr * (j + 1), CO2_HALF_WIDTH);
        add_line(region, band->centre + (band->upper_b + b) * down + (band->upper_b - b) * down * down,
                 pr * j, CO2_HALF_WIDTH);
        if (band->q_share > 0.0)
            add_line(region, band->centre + (band->upper_b - b) * j * (j + 1),
                     band->q_share * unit * (2 * j + 1), CO2_HALF_WIDTH);
    }
}

static bool make_region(struct region *region, double low, double high)
{
    region->first = (size_t)lround((low - PELLET_SYNTH_FINE_LOW) / PELLET_SYNTH_FINE_STEP);
    region->cells = (size_t)lround((high - low) / PELLET_SYNTH_FINE_STEP);
    region->low = low;
    region->high = high;
    region->depth = calloc(region->cells * SUBSTEPS, sizeof *region->depth);
    return region->depth != NULL;
}

struct pellet_synth_air *pellet_synth_air_new(void)
{
    struct pellet_synth_air *air = calloc(1, sizeof *air);
    if (!air)
        return NULL;
    for (size_t i = 0; i < REGIONS; i++) {
        if (!make_region(&air->region[i], ends[i].low, ends[i].high)) {
            pellet_synth_air_free(air);
            return NULL;
        }
    }
    add_vapour(&air->region[VAPOUR_BEND]);
    add_vapour(&air->region[VAPOUR_STRETCH]);
    add_co2(&air->region[CO2_STRETCH], &co2_stretch);
    add_co2(&air->region[CO2_BEND], &co2_bend);
    return air;
}

void pellet_synth_air_free(struct pellet_synth_air *air)
{
    if (!air)
        return;
    for (size_t i = 0; i < REGIONS; i++)
        free(air->region[i].depth);
    free(air);
}

static void darken(const struct region *region, double column, double *beam)
{
    if (!(column > 0.0))
        return;
    for (size_t cell = 0; cell < region->cells; cell++) {
        const double *depth = region->depth + cell * SUBSTEPS;
        double sum = 0.0;
        for (size_t k = 0; k < SUBSTEPS; k++)
            sum += exp(-column * depth[k]);
        beam[region->first + cell] *= sum / SUBSTEPS;
    }
}

void pellet_synth_air_apply(const struct pellet_synth_air *air, double vapour_cm2, double carbon_dioxide_cm2,
                            double *beam)
{
    darken(&air->region[VAPOUR_BEND], vapour_cm2, beam);
    darken(&air->region[VAPOUR_STRETCH], vapour_cm2, beam);
    darken(&air->region[CO2_STRETCH], carbon_dioxide_cm2, beam);
    darken(&air->region[CO2_BEND], carbon_dioxide_cm2, beam);
}
