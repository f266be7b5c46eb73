// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Rules, first that fits wins:
 *  - carbon dioxide: the top lies in 2380-2300, or within 8 cm-1 of the Q branch at 667;
 *  - water vapour: no wider than three resolution elements, within one element of a tabulated line, and no
 * higher than half as much again as the fitted pattern of lines: a strong narrow band that only happens to
 * stand at a line is the sample's;
 *  - liquid water: the fitted water makes up at least 60 % of the band, at its top;
 *  - impurity: in a listed range, lower than 0.05 A and lower than a fifth of the strongest band: a
 * carbonate's own band at 1430 is its sample, not its impurity.
 */
#include "judge/classify.h"

#include "checks/vapour.h"
#include "pellet/reference.h"

#include <math.h>

#define VAPOUR_ALLOWANCE      1.5
#define WATER_SHARE           0.6
#define IMPURITY_HIGHEST_A    0.05
#define IMPURITY_SHARE        0.2
#define CO2_BEND_HALF_WIDTH   8.0
#define CO2_BEND_WIDTH        25.0 /* the Q branch with its wings at a coarse resolution */
#define LIKELY_RESOLUTION_CM1 4.0  /* where the file states none; common practice, no source */

static bool is_carbon_dioxide(const struct pellet_band *band)
{
    return (band->at_cm1 >= PELLET_CO2_LOW && band->at_cm1 <= PELLET_CO2_HIGH && band->width_cm1 < 80.0) ||
           (fabs(band->at_cm1 - PELLET_CO2_BEND) <= CO2_BEND_HALF_WIDTH &&
            band->width_cm1 < CO2_BEND_HALF_WIDTH);
}

static bool is_vapour(const struct pellet_band *band, double element, double lines)
{
    if (band->width_cm1 > 3.0 * element || band->height > VAPOUR_ALLOWANCE * lines)
        return false;
    for (size_t i = 0; i < pellet_vapour_line_count; i++) {
        if (fabs(pellet_vapour_lines[i].wavenumber - band->at_cm1) <= element)
            return true;
    }
    return false;
}

static bool is_water(const struct pellet_measurement *m, const struct pellet_band *band)
{
    const struct pellet_grid grid = {m->n, m->wavenumber};

    if (!m->water.fitted || m->water.ug_cm2 <= 0.0)
        return false;
    return pellet_grid_at(grid, m->residual_water, band->at_cm1) >= WATER_SHARE * band->height;
}

static bool is_impurity(const struct pellet_band *band, double strongest)
{
    return pellet_impurity_at(band->at_cm1) != NULL && band->height < IMPURITY_HIGHEST_A &&
           band->height < IMPURITY_SHARE * strongest;
}

pellet_status pellet_bands_classify(struct pellet_measurement *m)
{
    const double element = fmax(isnan(m->resolution) ? LIKELY_RESOLUTION_CM1 : m->resolution, m->spacing);
    struct pellet_vapour air = {0};
    const pellet_status status = pellet_vapour_fit(m, &air);
    /* Where the pattern cannot be fitted nothing is put down to it. */
    const double lines = status == PELLET_OK ? fabs(air.peak_to_peak) : 0.0;
    const double strongest = m->band_count > 0 ? m->band[0].height : 0.0;

    if (status == PELLET_E_MEMORY)
        return status;
    for (size_t i = 0; i < m->band_count; i++) {
        struct pellet_band *band = &m->band[i];
        band->kind = is_carbon_dioxide(band)           ? PELLET_BAND_CO2
                     : is_vapour(band, element, lines) ? PELLET_BAND_VAPOUR
                     : is_water(m, band)               ? PELLET_BAND_WATER
                     : is_impurity(band, strongest)    ? PELLET_BAND_IMPURITY
                                                       : PELLET_BAND_SAMPLE;
    }
    return PELLET_OK;
}
