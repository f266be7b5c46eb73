// SPDX-License-Identifier: GPL-3.0-or-later
#include "pellet/signal.h"

#include <math.h>
#include <stdlib.h>

#include "pellet/reference.h"
#include "signal/water_window.h"

static const double WIDTH_MIN = 0.8, WIDTH_MAX = 1.3, WIDTH_STEP = 0.1;
/* Steps from 0 to the largest shift in the first of the rounds; each round's are a third of the
 * last one's. */
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
/* A band lower than this share of the bend that was taken out may be its rim. */
static const double RIM_SHARE = 0.4;
/* A bend that is fitted this well is broad and shaped as water's: few bands of a solid are. */
static const double CLEAR = 0.1;
/* and one that is told from it alone must lie this far inside the shifts that are allowed, as a share: at
 * their end the fit leans on a band of the sample. */
static const double CLEAR_SHIFT = 0.9;

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

/* Whether the two bands ask for the same amount, within what is known of them. */
static bool agree(const struct trial trial[KINDS])
{
    const struct signal_water_answer *stretch = &trial[STRETCH].answer, *bend = &trial[BEND].answer;
    const double larger = fmax(fabs(stretch->ug_cm2), fabs(bend->ug_cm2));
    const double noise = hypot(stretch->sigma, bend->sigma);

    return fabs(stretch->ug_cm2 - bend->ug_cm2) <= fmax(AGREE * larger, fmax(AGREE_MIN, AGREE_SIGMA * noise));
}

/* The weighted mean of the two. */
static void combine(const struct trial trial[KINDS], struct pellet_water *water)
{
    const struct signal_water_answer *stretch = &trial[STRETCH].answer, *bend = &trial[BEND].answer;
    const double a = 1 / pow(stretch->sigma, 2), b = 1 / pow(bend->sigma, 2);

    water->ug_cm2 = (a * stretch->ug_cm2 + b * bend->ug_cm2) / (a + b);
    water->sigma_ug_cm2 = 1 / sqrt(a + b);
}

/* Whether a band is there, in sight, and says an amount. */
static bool speaks(const struct signal_water_window *window, const struct trial *trial)
{
    return window->n > 0 && !window->hidden && trial->answer.misfit < MISFIT_MAX &&
           trial->answer.sigma <= fmax(AGREE * fabs(trial->answer.ug_cm2), SPEAK_MIN);
}

/*
 * Whether the bend alone tells the amount. A sample's own O-H lies over the stretch and adds to it, so a
 * stretch that asks for more water than the bend does not speak against the bend; one that asks for less
 * does, and so does one that leaves no room for as much: then the amide or another band of the sample is in
 * the bend.
 */
static bool bend_tells(const struct trial trial[KINDS], bool stretch, double room)
{
    const struct trial *bend = &trial[BEND];
    const double amount = bend->answer.ug_cm2, reach = signal_water_kinds[BEND].shift_max;

    return bend->answer.misfit < CLEAR && fabs(bend->shift) < CLEAR_SHIFT * reach &&
           (!stretch || trial[STRETCH].answer.ug_cm2 > amount) &&
           !(room < amount - fmax(AGREE * fabs(amount), AGREE_MIN));
}

/* What one band leaves room for. */
static double most(const struct trial *trial)
{
    return trial->answer.ug_cm2 + PELLET_WATER_CERTAIN * trial->answer.sigma;
}

static void take(const struct trial *trial, bool upper_bound, struct pellet_water *water)
{
    water->upper_bound = upper_bound;
    water->ug_cm2 = trial->answer.ug_cm2;
    water->sigma_ug_cm2 = trial->answer.sigma;
}

static void report(struct signal_water_window window[KINDS], const struct trial trial[KINDS],
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
    if (stretch && bend && agree(trial)) {
        combine(trial, water);
    } else if (bend && bend_tells(trial, stretch, signal_water_window_room(&window[STRETCH]))) {
        take(&trial[BEND], false, water);
        water->bend_alone = true;
    } else if (stretch && bend) {
        take(&trial[most(&trial[STRETCH]) < most(&trial[BEND]) ? STRETCH : BEND], true, water);
    } else {
        take(shown, true, water);
    }
}

static void render(struct pellet_grid grid, const struct pellet_water *water, double *fitted)
{
    for (size_t i = 0; i < grid.n; i++)
        fitted[i] = water->ug_cm2 * signal_water_curve(water, grid.wavenumber[i]);
}

/* A list that owns its bands. */
struct bands {
    struct pellet_band *band;
    size_t count;
};

/* The sample's bands, over a baseline of the curve's own. */
static pellet_status find_bands(struct pellet_grid grid, const double *absorbance, double noise,
                                struct bands *bands)
{
    double *baseline = malloc((grid.n ? grid.n : 1) * sizeof *baseline);
    pellet_status status;

    if (baseline == NULL)
        return PELLET_E_MEMORY;
    status = pellet_baseline(grid, absorbance, noise, PELLET_BASELINE_STIFFNESS, baseline);
    if (status == PELLET_OK)
        status = pellet_bands_find(grid, absorbance, baseline, noise, NULL, &bands->band, &bands->count);
    free(baseline);
    return status;
}

/* One band: the best fit, and what it is worth. A window that the spectrum does not reach stays empty. */
static pellet_status fit_band(struct pellet_grid grid, const double *y, double noise,
                              const struct bands *bands, size_t kind, struct signal_water_window *window,
                              struct trial *trial)
{
    pellet_status status = signal_water_window_make(grid, y, noise, bands->band, bands->count,
                                                    &signal_water_kinds[kind], window);

    if (status != PELLET_OK || window->n == 0)
        return status;
    if (window->hidden)
        signal_water_window_uncover(window, bands->band, bands->count);
    status = signal_water_window_prepare(window);
    if (status == PELLET_OK)
        status = search(window, trial);
    if (status == PELLET_OK)
        signal_water_window_doubt(window, trial->shift, trial->width, &trial->answer);
    return status;
}

/* Leave out what is lower than `least`; the order stays. */
static void drop_low(struct bands *bands, double least)
{
    size_t kept = 0;

    for (size_t b = 0; b < bands->count; b++) {
        if (bands->band[b].height >= least)
            bands->band[kept++] = bands->band[b];
    }
    bands->count = kept;
}

/*
 * Where and how wide the bend is, if the table describes what is there without any band of the sample; else
 * the table as it stands. E_MEMORY or the fit's own errors.
 */
static pellet_status bare_bend(struct pellet_grid grid, const double *y, double noise,
                               struct pellet_water *water)
{
    const struct bands none = {0};
    struct signal_water_window window = {0};
    struct trial trial = {0};
    const pellet_status status = fit_band(grid, y, noise, &none, BEND, &window, &trial);

    water->bend_shift_cm1 = 0;
    water->bend_width = 1;
    if (status == PELLET_OK && window.n > 0 && trial.answer.misfit < MISFIT_MAX) {
        water->bend_shift_cm1 = trial.shift;
        water->bend_width = trial.width;
    }
    signal_water_window_clear(&window);
    return status;
}

/*
 * Less water than the reference is a broad valley, whose rims look like bands, and more of it is a hill on
 * which a narrow band of the sample looks as broad as the hill: they are sought again without the water that
 * the stretch tells.
 */
static pellet_status find_bands_without(struct pellet_grid grid, const double *y, double noise,
                                        const struct trial *stretch, struct bands *bands)
{
    struct pellet_water water = {
        .ug_cm2 = stretch->answer.ug_cm2, .shift_cm1 = stretch->shift, .width = stretch->width};
    const double peak = pellet_water_absorbance(signal_water_kinds[BEND].centre);
    double *rest = malloc((grid.n ? grid.n : 1) * sizeof *rest);
    pellet_status status = rest == NULL ? PELLET_E_MEMORY : bare_bend(grid, y, noise, &water);

    if (status != PELLET_OK)
        goto out;
    render(grid, &water, rest);
    for (size_t i = 0; i < grid.n; i++)
        rest[i] = y[i] - rest[i];
    free(bands->band);
    *bands = (struct bands){0};
    status = find_bands(grid, rest, noise, bands);
    drop_low(bands, RIM_SHARE * fabs(stretch->answer.ug_cm2) * peak);
out:
    free(rest);
    return status;
}

/*
 * The bend once more, where bands of the sample seem to hide it and the stretch tells of more water than in
 * the reference. That may be the sample's own O-H: it only counts where the bend, in the curve as it is,
 * agrees.
 */
static pellet_status uncover_bend(struct pellet_grid grid, const double *y, double noise, struct bands *bands,
                                  struct signal_water_window *window, struct trial trial[KINDS])
{
    struct signal_water_window other = {0};
    struct trial again[KINDS] = {[STRETCH] = trial[STRETCH]};
    pellet_status status = find_bands_without(grid, y, noise, &trial[STRETCH], bands);

    if (status == PELLET_OK)
        status = fit_band(grid, y, noise, bands, BEND, &other, &again[BEND]);
    if (status == PELLET_OK && speaks(&other, &again[BEND]) && agree(again)) {
        const struct signal_water_window hidden = *window;

        *window = other;
        other = hidden;
        trial[BEND] = again[BEND];
    }
    signal_water_window_clear(&other);
    return status;
}

pellet_status pellet_water_fit(struct pellet_grid grid, const double *absorbance, double noise,
                               struct pellet_water *water, double *fitted)
{
    const double sigma = isfinite(noise) ? noise : 0;
    struct signal_water_window window[KINDS] = {0};
    struct trial trial[KINDS] = {0};
    struct bands bands = {0};
    bool told = false;
    pellet_status status = find_bands(grid, absorbance, sigma, &bands);

    if (status == PELLET_OK)
        status = fit_band(grid, absorbance, sigma, &bands, STRETCH, &window[STRETCH], &trial[STRETCH]);
    if (status == PELLET_OK)
        told = speaks(&window[STRETCH], &trial[STRETCH]) &&
               fabs(trial[STRETCH].answer.ug_cm2) > AGREE_SIGMA * trial[STRETCH].answer.sigma;
    if (told && trial[STRETCH].answer.ug_cm2 < 0)
        status = find_bands_without(grid, absorbance, sigma, &trial[STRETCH], &bands);
    if (status == PELLET_OK)
        status = fit_band(grid, absorbance, sigma, &bands, BEND, &window[BEND], &trial[BEND]);
    if (status == PELLET_OK && told && trial[STRETCH].answer.ug_cm2 > 0 && window[BEND].n > 0 &&
        !speaks(&window[BEND], &trial[BEND]))
        status = uncover_bend(grid, absorbance, sigma, &bands, &window[BEND], trial);
    if (status == PELLET_OK && window[STRETCH].n == 0 && window[BEND].n == 0)
        status = PELLET_E_SHORT;
    if (status == PELLET_OK) {
        report(window, trial, water);
        if (fitted != NULL)
            render(grid, water, fitted);
    }
    for (size_t k = 0; k < KINDS; k++)
        signal_water_window_clear(&window[k]);
    free(bands.band);
    return status;
}
