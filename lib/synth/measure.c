// SPDX-License-Identifier: GPL-3.0-or-later
/* From a pellet and an instrument to a single beam. */
#include "synth/model.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct pellet_synth {
    struct pellet_synth_air *air;
    struct pellet_synth_lineshape lineshape;
    double beam[PELLET_SYNTH_FINE_N];
};

pellet_status pellet_synth_new(struct pellet_synth **model, struct pellet_error *error)
{
    struct pellet_synth *made = calloc(1, sizeof *made);
    if (made)
        made->air = pellet_synth_air_new();
    if (!made || !made->air) {
        pellet_synth_free(made);
        return pellet_fail(error, PELLET_E_MEMORY, "no memory for the model");
    }
    *model = made;
    return PELLET_OK;
}

void pellet_synth_free(struct pellet_synth *model)
{
    if (!model)
        return;
    pellet_synth_air_free(model->air);
    pellet_synth_lineshape_clear(&model->lineshape);
    free(model);
}

/* ---------------------------------------------------------------- what is allowed */

struct bound {
    const char *name;
    double value, low, high;
};

static pellet_status check_bounds(const struct bound *bound, size_t n, struct pellet_error *error)
{
    for (size_t i = 0; i < n; i++) {
        if (!(bound[i].value >= bound[i].low && bound[i].value <= bound[i].high))
            return pellet_fail(error, PELLET_E_RANGE, "%s is %g: %g to %g is allowed", bound[i].name,
                               bound[i].value, bound[i].low, bound[i].high);
    }
    return PELLET_OK;
}

static pellet_status check_instrument(const struct pellet_synth_instrument *it, struct pellet_error *error)
{
    const struct bound bound[] = {
        {"low_cm1", it->low_cm1, 360.0, 4060.0},
        {"high_cm1", it->high_cm1, it->low_cm1, 4060.0},
        {"resolution_cm1", it->resolution_cm1, 1.0, 16.0},
        {"spacing_cm1", it->spacing_cm1, 0.1, 16.0},
        {"zero_fill", it->zero_fill, 1.0, 64.0},
        {"apodisation", it->apodisation, 0.0, PELLET_SYNTH_APODISATION_COUNT - 1},
        {"gain", it->gain, 1e-9, 1e9},
        {"warmth", it->warmth, -2.0, 2.0},
        {"noise", it->noise, 0.0, 1.0},
        {"false_zero", it->false_zero, -1.0, 1.0},
        {"vapour_cm2", it->vapour_cm2, 0.0, 1e22},
        {"carbon_dioxide_cm2", it->carbon_dioxide_cm2, 0.0, 1e22},
        {"ripple", it->ripple, 0.0, 0.5},
        {"forward", it->forward, 0.0, 1.0},
        {"scale_ppm", it->scale_ppm, -2000.0, 2000.0},
    };
    return check_bounds(bound, sizeof bound / sizeof bound[0], error);
}

static pellet_status check_pellet(const struct pellet_synth_pellet *it, struct pellet_error *error)
{
    const struct bound bound[] = {
        {"dose_mg_cm2", it->dose_mg_cm2, 0.0, 1000.0},
        {"grain_um", it->grain_um, 0.05, 20.0},
        {"thickness_mm", it->thickness_mm, 0.01, 3.0},
        {"fringes", it->fringes, 0.0, 1.0},
        {"roughness_um", it->roughness_um, 0.0, 10.0},
        {"haze", it->haze, 0.0, 10.0},
        {"haze_um", it->haze_um, 0.01, 20.0},
        {"water_ug_cm2", it->water_ug_cm2, 0.0, 1e5},
        {"water_shift_cm1", it->water_shift_cm1, -100.0, 100.0},
        {"water_width", it->water_width, 0.5, 2.0},
        {"residue_mg_cm2", it->residue_mg_cm2, 0.0, 1000.0},
        {"impurity_count", (double)it->impurity_count, 0.0, PELLET_SYNTH_IMPURITIES_MAX},
        {"leak", it->leak, 0.0, 1.0},
        {"shaded", it->shaded, 0.0, 1.0},
    };
    return check_bounds(bound, sizeof bound / sizeof bound[0], error);
}

/* ---------------------------------------------------------------- the beam */

static double transmittance(const struct pellet_synth_pellet *pellet, double forward, double wavenumber)
{
    struct pellet_synth_parts parts;
    pellet_synth_parts_at(pellet, forward, wavenumber, &parts);
    const double inside = parts.sample + parts.haze + parts.water + parts.residue + parts.impurity;
    return pellet_synth_transmit(pellet, wavenumber, inside, true);
}

/* The line shape and a wrong scale reach no further beyond the ends of the file; see model.h for the grid. */
#define MARGIN_CM1 120.0

static size_t fine_index(double wavenumber)
{
    const double place = (wavenumber - PELLET_SYNTH_FINE_LOW) / PELLET_SYNTH_FINE_STEP;
    return (size_t)fmin(fmax(place, 0.0), (double)PELLET_SYNTH_FINE_N);
}

/* The beam as far as the file needs it; dark elsewhere. */
static void fill_beam(struct pellet_synth *model, const struct pellet_synth_pellet *pellet,
                      const struct pellet_synth_instrument *instrument)
{
    const size_t first = fine_index(instrument->low_cm1 - MARGIN_CM1);
    const size_t last = fine_index(instrument->high_cm1 + MARGIN_CM1);
    memset(model->beam, 0, sizeof model->beam);
    for (size_t i = first; i < last; i++) {
        const double wavenumber = pellet_synth_fine(i);
        double energy = pellet_synth_energy(instrument, wavenumber);
        if (pellet && energy > 0.0)
            energy *= transmittance(pellet, instrument->forward, wavenumber);
        model->beam[i] = energy;
    }
    pellet_synth_air_apply(model->air, instrument->vapour_cm2, instrument->carbon_dioxide_cm2, model->beam);
}

/* What the file says is the true wavenumber times 1 + scale error. */
static void sample_beam(const struct pellet_synth *model, const struct pellet_synth_instrument *instrument,
                        struct pellet_spectrum *spectrum)
{
    const double scale = 1.0 + 1e-6 * instrument->scale_ppm;
    for (size_t i = 0; i < spectrum->n; i++) {
        const double stated = instrument->low_cm1 + instrument->spacing_cm1 * (double)i;
        spectrum->wavenumber[i] = stated;
        spectrum->y[i] = pellet_synth_lineshape_apply(&model->lineshape, model->beam, stated / scale) +
                         instrument->false_zero;
    }
}

static const char *const apodisation_name[PELLET_SYNTH_APODISATION_COUNT] = {"Happ-Genzel", "triangular",
                                                                             "Gauss"};

static pellet_status state_settings(const struct pellet_synth_instrument *instrument,
                                    struct pellet_spectrum *spectrum)
{
    char resolution[32], scans[32];
    snprintf(resolution, sizeof resolution, "%g", instrument->resolution_cm1);
    snprintf(scans, sizeof scans, "%u", instrument->scans);
    char **setting = spectrum->setting;
    setting[PELLET_SETTING_RESOLUTION] = strdup(resolution);
    setting[PELLET_SETTING_SCANS] = strdup(scans);
    setting[PELLET_SETTING_APODISATION] = strdup(apodisation_name[instrument->apodisation]);
    const bool all = setting[PELLET_SETTING_RESOLUTION] && setting[PELLET_SETTING_SCANS] &&
                     setting[PELLET_SETTING_APODISATION];
    return all ? PELLET_OK : PELLET_E_MEMORY;
}

static pellet_status make_spectrum(const struct pellet_synth_instrument *instrument,
                                   struct pellet_spectrum *spectrum)
{
    const double span = (instrument->high_cm1 - instrument->low_cm1) / instrument->spacing_cm1;
    spectrum->n = (size_t)floor(span + 1e-9) + 1;
    spectrum->wavenumber = malloc(spectrum->n * sizeof *spectrum->wavenumber);
    spectrum->y = malloc(spectrum->n * sizeof *spectrum->y);
    spectrum->ordinate = PELLET_ORDINATE_SINGLE_BEAM;
    spectrum->resolution = instrument->resolution_cm1;
    spectrum->measured = PELLET_NO_TIME;
    if (!spectrum->wavenumber || !spectrum->y)
        return PELLET_E_MEMORY;
    return state_settings(instrument, spectrum);
}

pellet_status pellet_synth_measure(struct pellet_synth *model, const struct pellet_synth_pellet *pellet,
                                   const struct pellet_synth_instrument *instrument, unsigned long seed,
                                   struct pellet_spectrum *spectrum, struct pellet_synth_truth *truth,
                                   struct pellet_error *error)
{
    struct pellet_spectrum made = {0};
    pellet_status status = check_instrument(instrument, error);
    if (status == PELLET_OK && pellet)
        status = check_pellet(pellet, error);
    if (status != PELLET_OK)
        return status;
    status = make_spectrum(instrument, &made);
    if (status == PELLET_OK)
        status = pellet_synth_lineshape_make(&model->lineshape, instrument->resolution_cm1,
                                             instrument->apodisation);
    if (status != PELLET_OK)
        goto fail;
    fill_beam(model, pellet, instrument);
    sample_beam(model, instrument, &made);
    status = pellet_synth_noise_add(made.y, made.n, instrument->zero_fill, instrument->noise, seed);
    if (status != PELLET_OK)
        goto fail;
    for (size_t i = 0; i < made.n; i++)
        made.y[i] *= instrument->gain;
    if (truth && pellet)
        pellet_synth_truth_find(pellet, instrument, truth);
    *spectrum = made;
    return PELLET_OK;
fail:
    pellet_spectrum_clear(&made);
    return pellet_fail(error, status, "no memory for a spectrum");
}
