// SPDX-License-Identifier: GPL-3.0-or-later
/* The instrument without a pellet: its energy curve and its plain settings. */
#include "synth/model.h"

#include <math.h>

/* Second radiation constant h c / k, cm K. */
#define RADIATION_CM_K 1.438777

void pellet_synth_instrument_init(struct pellet_synth_instrument *instrument)
{
    *instrument = (struct pellet_synth_instrument){
        .low_cm1 = 400.0,
        .high_cm1 = 4000.0,
        .resolution_cm1 = 4.0,
        .spacing_cm1 = 1.928,
        .zero_fill = 1,
        .apodisation = PELLET_SYNTH_HAPP_GENZEL,
        .gain = 1.0,
        .cutoff_cm1 = 380.0,
        .noise = 0.0002,
        .vapour_cm2 = 1e17,
        .carbon_dioxide_cm2 = 1e17,
        .ripple = 0.005,
        .ripple_period_cm1 = 90.0,
        .forward = 0.5,
        .scans = 32,
    };
}

/*
 * A glowing source at 1250 K (Planck), a detector and optics that fade toward high wavenumbers, a beam
 * splitter whose efficiency swings slowly. The temperature, the fading and the swing are invented.
 */
static double curve(double wavenumber)
{
    const double source = pow(wavenumber / 1000.0, 3.0) / expm1(RADIATION_CM_K * wavenumber / 1250.0);
    const double optics = exp(-wavenumber / 2400.0);
    const double splitter = 1.0 + 0.06 * cos(wavenumber / 260.0) + 0.04 * cos(wavenumber / 95.0 + 1.0);
    return source * optics * splitter;
}

/* The greatest value of `curve`, near 1689 cm-1. */
#define CURVE_MAXIMUM 0.4373

double pellet_synth_energy(const struct pellet_synth_instrument *instrument, double wavenumber)
{
    if (wavenumber <= instrument->cutoff_cm1 || wavenumber < instrument->blocked_below_cm1)
        return 0.0;
    const double fades = 1.0 - exp(-(wavenumber - instrument->cutoff_cm1) / 60.0);
    const double ripple =
        1.0 + instrument->ripple * cos(2.0 * M_PI * wavenumber / fmax(instrument->ripple_period_cm1, 1.0));
    return curve(wavenumber) / CURVE_MAXIMUM * fades * ripple * pow(wavenumber / 2000.0, instrument->warmth);
}
