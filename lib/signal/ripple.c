// SPDX-License-Identifier: GPL-3.0-or-later
#include "pellet/signal.h"

#include <math.h>

#include "signal/wave.h"

static const size_t POINTS_MIN = 12;
/* Two points a period are the least that a sinusoid needs. */
static const double PERIOD_POINTS = 2.05;

/* A sine is half a period wide at half its height; grid and beats of two ripples blur that and the height. */
static const double CREST_WIDTH_LOW = 0.25, CREST_WIDTH_HIGH = 0.75, CREST_HEIGHT = 1.5;

bool pellet_ripple_is_crest(const struct pellet_ripple *ripple, const struct pellet_band *band)
{
    return ripple->amplitude > 0 && band->height < CREST_HEIGHT * 2 * ripple->amplitude &&
           band->width_cm1 > CREST_WIDTH_LOW * ripple->period_cm1 &&
           band->width_cm1 < CREST_WIDTH_HIGH * ripple->period_cm1;
}

pellet_status pellet_ripple_find(struct pellet_grid grid, const double *y, double low, double high,
                                 double period_low, double period_high, struct pellet_ripple *ripple)
{
    struct pellet_ripple result = {.low_cm1 = low, .high_cm1 = high};
    const double shortest = fmax(period_low, PERIOD_POINTS * pellet_grid_spacing(grid));
    struct signal_wave wave;
    bool found = false;
    pellet_status status;

    if (!(period_low > 0) || !(period_low < period_high))
        return PELLET_E_RANGE;
    status = signal_wave_start(grid, y, low, high, POINTS_MIN, &wave);
    if (status != PELLET_OK)
        return status;
    status = signal_wave_fit(&wave);
    if (status == PELLET_OK && shortest < period_high)
        status = signal_wave_add(&wave, 1 / period_high, 1 / shortest, &found, &result.significance);
    if (status == PELLET_OK && found) {
        const double c = wave.coefficient[3], s = wave.coefficient[4];
        const double turns = wave.frequency[0] * wave.centre;

        result.amplitude = hypot(c, s);
        result.period_cm1 = 1 / wave.frequency[0];
        /* c cos(w(nu - centre)) + s sin(w(nu - centre)) = R cos(w nu - w centre - atan2(s, c)) */
        result.phase = remainder(-2 * M_PI * turns - atan2(s, c), 2 * M_PI);
    }
    if (status == PELLET_OK)
        *ripple = result;
    signal_wave_clear(&wave);
    return status;
}
