// SPDX-License-Identifier: GPL-3.0-or-later
#include "pellet/signal.h"

#include <math.h>

#include "signal/least.h"
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

enum { DEGREE_MAX = 7 };

pellet_status pellet_ripple_wave(struct pellet_grid grid, const double *y, double low, double high,
                                 double period_cm1, double slowest_cm1, double *cosine, double *sine)
{
    const double middle = 0.5 * (low + high), half = 0.5 * (high - low);
    double row[DEGREE_MAX + 3], x[SIGNAL_BASIS_MAX];
    struct signal_least sums;
    size_t first, last;

    if (!(low < high) || !(period_cm1 > 0) || !(slowest_cm1 >= period_cm1))
        return PELLET_E_RANGE;
    const size_t slow = 1 + (size_t)fmin(half / slowest_cm1 + 1, DEGREE_MAX);

    pellet_grid_window(grid, low, high, &first, &last);
    signal_least_start(&sums, slow + 2);
    for (size_t i = first; i < last; i++) {
        const double angle = 2 * M_PI * grid.wavenumber[i] / period_cm1;

        row[0] = 1;
        for (size_t k = 1; k < slow; k++)
            row[k] = row[k - 1] * (grid.wavenumber[i] - middle) / half;
        row[slow] = cos(angle);
        row[slow + 1] = sin(angle);
        signal_least_add(&sums, row, isnan(y[i]) ? 0 : y[i], isnan(y[i]) ? 0 : 1);
    }
    const pellet_status status = signal_least_solve(&sums, x, NULL, NULL);
    if (status == PELLET_OK) {
        *cosine = x[slow];
        *sine = x[slow + 1];
    }
    return status;
}
