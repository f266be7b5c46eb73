// SPDX-License-Identifier: GPL-3.0-or-later
#include "pellet/signal.h"

#include <math.h>

#include "signal/sinusoid.h"

/* Ripples shorter than this are noise to us: the thinnest period is that of a pellet far beyond 1.6 mm. */
static const double PERIOD_MIN = 1.8;
/* and shorter than this many points cannot be told from noise, */
static const double PERIOD_POINTS = 3;
/* while longer ones than this share of the window are what the quadratic is for. */
static const double PERIOD_SHARE = 1.0 / 3;
static const size_t POINTS_MIN = 12;

pellet_status pellet_noise_window(struct pellet_grid grid, const double *y, double low, double high,
                                  struct pellet_noise *noise)
{
    const double shortest = fmax(PERIOD_MIN, PERIOD_POINTS * pellet_grid_spacing(grid));
    struct signal_wave wave;
    bool found = true;
    double significance;
    pellet_status status = signal_wave_start(grid, y, low, high, POINTS_MIN, &wave);

    if (status != PELLET_OK)
        return status;
    status = signal_wave_fit(&wave);
    while (status == PELLET_OK && found && wave.count < SIGNAL_SINUSOIDS_MAX)
        status =
            signal_wave_add(&wave, 1 / ((high - low) * PERIOD_SHARE), 1 / shortest, &found, &significance);
    if (status == PELLET_OK) {
        const double freedom = (double)wave.n - 3 - 2 * (double)wave.count;

        noise->rms = sqrt(wave.ssr / freedom);
        noise->correlation = signal_wave_correlation(&wave);
        noise->ripples = wave.count;
        noise->points = wave.n;
    }
    signal_wave_clear(&wave);
    return status;
}
