// SPDX-License-Identifier: GPL-3.0-or-later
/* What checks ask of a measurement. */
#include "checks/checks.h"

#include <math.h>
#include <stdlib.h>

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

double *pellet_measurement_without(const struct pellet_measurement *measurement, const double *curve,
                                   unsigned marks)
{
    double *copy = malloc((measurement->n ? measurement->n : 1) * sizeof *copy);

    for (size_t i = 0; copy != NULL && i < measurement->n; i++)
        copy[i] = (measurement->mark[i] & marks) ? NAN : curve[i];
    return copy;
}
