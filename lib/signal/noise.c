// SPDX-License-Identifier: GPL-3.0-or-later
#include "pellet/signal.h"

#include <math.h>

#include "signal/wave.h"

/* Ripples shorter than this are noise to us: a pellet of KBr as thick as 3 mm makes longer ones. */
static const double PERIOD_MIN = 1.0;
/* Two points a period are the least that a sinusoid needs, */
static const double PERIOD_POINTS = 2.05;
/* and one whole period in the window. */
static const double PERIOD_SHARE = 1;
static const size_t POINTS_MIN = 12;

/* Quadratic and ripples, each time without what stands out of them. */
static pellet_status fit(struct signal_wave *wave, double longest, double shortest)
{
    bool found = true;
    double significance;
    pellet_status status = signal_wave_fit(wave);

    while (status == PELLET_OK && found) {
        status = signal_wave_trim(wave);
        found = false;
        if (status == PELLET_OK && wave->count < SIGNAL_SINUSOIDS_MAX)
            status = signal_wave_add(wave, 1 / longest, 1 / shortest, &found, &significance);
    }
    return status;
}

pellet_status pellet_noise_window(struct pellet_grid grid, const double *y, double low, double high,
                                  struct pellet_noise *noise)
{
    const double shortest = fmax(PERIOD_MIN, PERIOD_POINTS * pellet_grid_spacing(grid));
    struct signal_wave wave;
    pellet_status status = signal_wave_start(grid, y, low, high, POINTS_MIN, &wave);

    if (status != PELLET_OK)
        return status;
    status = fit(&wave, (high - low) * PERIOD_SHARE, shortest);
    if (status == PELLET_OK) {
        const double alike = signal_wave_alike(&wave), fitted = 3 + 2 * (double)wave.count;
        const double freedom = fmax((double)wave.n - alike * fitted, 1);

        noise->rms = sqrt(wave.ssr / freedom);
        noise->correlation = signal_wave_correlation(&wave);
        noise->alike = alike;
        noise->share = (double)wave.n / (double)wave.all;
        noise->ripples = wave.count;
        noise->points = wave.n;
    }
    signal_wave_clear(&wave);
    return status;
}
