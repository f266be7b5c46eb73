// SPDX-License-Identifier: GPL-3.0-or-later
/* What checks ask of a measurement. */
#include "checks/checks.h"

const struct pellet_band *pellet_strongest_band(const struct pellet_measurement *measurement)
{
    for (size_t i = 0; i < measurement->band_count; i++) {
        if (measurement->band[i].kind == PELLET_BAND_SAMPLE)
            return &measurement->band[i];
    }
    return NULL;
}

struct pellet_grid pellet_measurement_grid(const struct pellet_measurement *measurement)
{
    return (struct pellet_grid){measurement->n, measurement->wavenumber};
}
