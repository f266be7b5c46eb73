// SPDX-License-Identifier: GPL-3.0-or-later
/* An earlier sample's spectrum as a pattern to look for. */
#include "checks/earlier.h"

#include "checks/view.h"
#include "pellet/reference.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define BASELINE_WIDTH 700.0 /* cm-1 */
#define NOISE_UNKNOWN  1e-3  /* A */

void checks_earlier_close(struct checks_earlier *curve)
{
    free(curve->wavenumber);
    free(curve->absorbance);
    free(curve->band);
    *curve = (struct checks_earlier){0};
}

/* Absorbance of the earlier spectrum on its own grid, ratioed over its blank where it is a single beam. */
static pellet_status take_absorbance(const struct pellet_earlier *earlier, struct checks_earlier *curve)
{
    const struct pellet_spectrum *s = earlier->source.spectrum, *blank = earlier->blank;
    const struct pellet_grid grid = {s->n, s->wavenumber};
    const bool beams = s->ordinate == PELLET_ORDINATE_SINGLE_BEAM;
    pellet_status status = PELLET_OK;

    if (beams ? blank == NULL || blank->ordinate != PELLET_ORDINATE_SINGLE_BEAM
              : s->ordinate != PELLET_ORDINATE_TRANSMITTANCE && s->ordinate != PELLET_ORDINATE_ABSORBANCE)
        return PELLET_E_USAGE;
    curve->n = s->n;
    curve->wavenumber = malloc(s->n * sizeof *curve->wavenumber);
    curve->absorbance = malloc(s->n * sizeof *curve->absorbance);
    if (curve->wavenumber == NULL || curve->absorbance == NULL)
        return PELLET_E_MEMORY;
    memcpy(curve->wavenumber, s->wavenumber, s->n * sizeof *curve->wavenumber);
    if (beams)
        status = pellet_grid_resample((struct pellet_grid){blank->n, blank->wavenumber}, blank->y, grid,
                                      curve->absorbance);
    for (size_t i = 0; status == PELLET_OK && i < s->n; i++) {
        const double t = beams ? s->y[i] / curve->absorbance[i] : s->y[i];
        if (s->ordinate == PELLET_ORDINATE_ABSORBANCE)
            curve->absorbance[i] = s->y[i];
        else
            curve->absorbance[i] = t > 0.0 && isfinite(t) ? -log10(t) : NAN;
    }
    return status;
}

static pellet_status find_bands(struct checks_earlier *curve)
{
    const struct pellet_grid grid = {curve->n, curve->wavenumber};
    struct pellet_noise noise = {.rms = NOISE_UNKNOWN};
    double *baseline = malloc(curve->n * sizeof *baseline);
    pellet_status status;

    if (baseline == NULL)
        return PELLET_E_MEMORY;
    status = pellet_noise_window(grid, curve->absorbance, 2000.0, 2200.0, &noise);
    if (status != PELLET_OK && status != PELLET_E_MEMORY)
        status = pellet_noise_window(grid, curve->absorbance, 2500.0, 2700.0, &noise);
    if (status != PELLET_E_MEMORY)
        status = pellet_baseline(grid, curve->absorbance, noise.rms, BASELINE_WIDTH, baseline);
    if (status == PELLET_OK)
        status = pellet_bands_find(grid, curve->absorbance, baseline, noise.rms, NULL, &curve->band,
                                   &curve->band_count);
    free(baseline);
    return status;
}

pellet_status checks_earlier_open(const struct pellet_earlier *earlier, struct checks_earlier *curve)
{
    pellet_status status;

    *curve = (struct checks_earlier){0};
    status = take_absorbance(earlier, curve);
    if (status == PELLET_OK)
        status = find_bands(curve);
    if (status != PELLET_OK)
        checks_earlier_close(curve);
    return status;
}

bool checks_is_everywhere(const struct pellet_band *band)
{
    return (band->at_cm1 >= PELLET_CO2_LOW && band->at_cm1 <= PELLET_CO2_HIGH) ||
           (band->at_cm1 >= PELLET_VAPOUR_STRETCH_LOW && band->at_cm1 <= PELLET_VAPOUR_STRETCH_HIGH);
}

const struct pellet_band *checks_earlier_scale(const struct pellet_measurement *measurement,
                                               const struct checks_earlier *curve)
{
    const double weak = checks_rule_quantity(measurement, &pellet_check_weak, 0);
    const double strong = checks_rule_quantity(measurement, &pellet_check_saturation, 0);
    const struct pellet_band *strongest = NULL;

    for (size_t i = 0; i < curve->band_count; i++) {
        const struct pellet_band *band = &curve->band[i];
        if (checks_is_everywhere(band))
            continue;
        if (band->flat_top || band->at_least || band->top > strong)
            return NULL;
        if (strongest == NULL)
            strongest = band;
    }
    return strongest != NULL && strongest->height >= weak ? strongest : NULL;
}
