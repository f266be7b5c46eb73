// SPDX-License-Identifier: GPL-3.0-or-later
#include "pellet/signal.h"

#include <math.h>
#include <stdlib.h>

#include "signal/water_window.h"

static const double WIDTH_MIN = 0.8, WIDTH_MAX = 1.3, WIDTH_STEP = 0.1;
/* Steps from 0 to the largest shift in the first of the rounds; each round's are a third of the last one's.
 */
static const double SHIFT_STEPS = 4;
static const size_t ROUNDS = 3;
/* Two one-band estimates that differ by more make the smaller one an upper bound (design: moisture), */
static const double AGREE = 0.3;
/* unless the difference lies within this many sigma, or is as small as this (ug/cm2). */
static const double AGREE_SIGMA = 3, AGREE_MIN = 5;
/* A band whose amount is less certain than by AGREE or by this (ug/cm2) says nothing. */
static const double SPEAK_MIN = 10;
/* Nor does one that the table does not describe to this share of its height. */
static const double MISFIT_MAX = 0.25;
/* A bend that is fitted this well is broad and shaped as water's: few bands of a solid are. */
static const double CLEAR = 0.1;
/* Above this the absorption is counted to the stretch, below it to the bend: water's clearest place. */
static const double BETWEEN = 1880;

enum { STRETCH = SIGNAL_WATER_STRETCH, BEND = SIGNAL_WATER_BEND, KINDS = SIGNAL_WATER_KINDS };

/* The best fit of one band. */
struct trial {
    double shift, width;
    struct signal_water_answer answer;
};

/* Two fields to search: from low to high in steps. */
struct field {
    double low, high, step;
};

/* The next round looks around the best place, in finer steps. */
static struct field narrowed(struct field field, double about, double low, double high)
{
    return (struct field){fmax(about - field.step * 2 / 3, low), fmin(about + field.step * 2 / 3, high),
                          field.step / 3};
}

/* Shift and width at which the table fits best: over all that is allowed, then finer. */
static pellet_status search(struct signal_water_window *window, struct trial *best)
{
    const double reach = window->kind->shift_max;
    struct field shifts = {-reach, reach, reach / SHIFT_STEPS}, widths = {WIDTH_MIN, WIDTH_MAX, WIDTH_STEP};

    best->answer.loss = HUGE_VAL;
    for (size_t round = 0; round < ROUNDS; round++) {
        for (double shift = shifts.low; shift <= shifts.high + 1e-9; shift += shifts.step) {
            for (double width = widths.low; width <= widths.high + 1e-9; width += widths.step) {
                struct signal_water_answer answer;
                const pellet_status status = signal_water_window_fit(window, shift, width, &answer);

                if (status != PELLET_OK)
                    return status;
                if (answer.loss < best->answer.loss)
                    *best = (struct trial){shift, width, answer};
            }
        }
        shifts = narrowed(shifts, best->shift, -reach, reach);
        widths = narrowed(widths, best->width, WIDTH_MIN, WIDTH_MAX);
    }
    return PELLET_OK;
}

/* What the two bands say together: their weighted mean where they agree, else the smaller as a bound. */
static void combine(const struct trial trial[KINDS], struct pellet_water *water)
{
    const struct signal_water_answer *stretch = &trial[STRETCH].answer, *bend = &trial[BEND].answer;
    const double apart = fabs(stretch->ug_cm2 - bend->ug_cm2);
    const double larger = fmax(fabs(stretch->ug_cm2), fabs(bend->ug_cm2));
    const double noise = hypot(stretch->sigma, bend->sigma);
    const double a = 1 / pow(stretch->sigma, 2), b = 1 / pow(bend->sigma, 2);

    water->upper_bound = apart > fmax(AGREE * larger, fmax(AGREE_MIN, AGREE_SIGMA * noise));
    if (water->upper_bound) {
        water->ug_cm2 = fmin(stretch->ug_cm2, bend->ug_cm2);
        water->sigma_ug_cm2 = stretch->ug_cm2 < bend->ug_cm2 ? stretch->sigma : bend->sigma;
    } else {
        water->ug_cm2 = (a * stretch->ug_cm2 + b * bend->ug_cm2) / (a + b);
        water->sigma_ug_cm2 = 1 / sqrt(a + b);
    }
}

/* Whether a band is there, in sight, and says an amount. */
static bool speaks(const struct signal_water_window *window, const struct trial *trial)
{
    return window->n > 0 && !window->hidden && trial->answer.misfit < MISFIT_MAX &&
           trial->answer.sigma <= fmax(AGREE * fabs(trial->answer.ug_cm2), SPEAK_MIN);
}

static void report(const struct signal_water_window window[KINDS], const struct trial trial[KINDS],
                   struct pellet_water *water)
{
    const bool stretch = speaks(&window[STRETCH], &trial[STRETCH]);
    const bool bend = speaks(&window[BEND], &trial[BEND]);
    const struct trial *shown = &trial[window[STRETCH].n > 0 && (stretch || !bend) ? STRETCH : BEND];

    *water = (struct pellet_water){.fitted = true,
                                   .stretch_ug_cm2 = stretch ? trial[STRETCH].answer.ug_cm2 : NAN,
                                   .bend_ug_cm2 = bend ? trial[BEND].answer.ug_cm2 : NAN,
                                   .shift_cm1 = trial[STRETCH].shift,
                                   .bend_shift_cm1 = trial[BEND].shift,
                                   .width = shown->width,
                                   .bend_width = trial[BEND].width,
                                   .bend_clear = bend && trial[BEND].answer.misfit < CLEAR};
    if (stretch && bend) {
        combine(trial, water);
    } else {
        water->upper_bound = true;
        water->ug_cm2 = shown->answer.ug_cm2;
        water->sigma_ug_cm2 = shown->answer.sigma;
    }
}

static void render(struct pellet_grid grid, const struct pellet_water *water, double *fitted)
{
    for (size_t i = 0; i < grid.n; i++) {
        const bool stretch = grid.wavenumber[i] > BETWEEN;

        fitted[i] = water->ug_cm2 * signal_water_pattern(&signal_water_kinds[stretch ? STRETCH : BEND],
                                                         grid.wavenumber[i],
                                                         stretch ? water->shift_cm1 : water->bend_shift_cm1,
                                                         stretch ? water->width : water->bend_width);
    }
}

/* The sample's bands, over a baseline of the curve's own. */
static pellet_status find_bands(struct pellet_grid grid, const double *absorbance, double noise,
                                struct pellet_band **band, size_t *count)
{
    double *baseline = malloc((grid.n ? grid.n : 1) * sizeof *baseline);
    pellet_status status;

    if (baseline == NULL)
        return PELLET_E_MEMORY;
    status = pellet_baseline(grid, absorbance, noise, PELLET_BASELINE_STIFFNESS, baseline);
    if (status == PELLET_OK)
        status = pellet_bands_find(grid, absorbance, baseline, noise, NULL, band, count);
    free(baseline);
    return status;
}

pellet_status pellet_water_fit(struct pellet_grid grid, const double *absorbance, double noise,
                               struct pellet_water *water, double *fitted)
{
    const double sigma = isfinite(noise) ? noise : 0;
    struct signal_water_window window[KINDS] = {0};
    struct trial trial[KINDS] = {0};
    struct pellet_band *band = NULL;
    size_t bands = 0;
    pellet_status status = find_bands(grid, absorbance, sigma, &band, &bands);

    for (size_t k = 0; status == PELLET_OK && k < KINDS; k++) {
        status = signal_water_window_make(grid, absorbance, sigma, band, bands, &signal_water_kinds[k],
                                          &window[k]);
        if (status != PELLET_OK || window[k].n == 0)
            continue;
        if (window[k].hidden)
            signal_water_window_uncover(&window[k]);
        status = search(&window[k], &trial[k]);
        if (status == PELLET_OK)
            signal_water_window_doubt(&window[k], trial[k].shift, trial[k].width, &trial[k].answer);
    }
    if (status == PELLET_OK && window[STRETCH].n == 0 && window[BEND].n == 0)
        status = PELLET_E_SHORT;
    if (status == PELLET_OK) {
        report(window, trial, water);
        if (fitted != NULL)
            render(grid, water, fitted);
    }
    for (size_t k = 0; k < KINDS; k++)
        signal_water_window_clear(&window[k]);
    free(band);
    return status;
}
