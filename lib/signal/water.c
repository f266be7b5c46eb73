// SPDX-License-Identifier: GPL-3.0-or-later
#include "pellet/signal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "pellet/reference.h"
#include "signal/least.h"

/* The fit's own step (cm-1): water's bands are broad, and means over a step lower the noise. */
static const double STEP = 6;
static const double WIDTH_MIN = 0.8, WIDTH_MAX = 1.3, WIDTH_STEP = 0.1;
/* Steps from 0 to the largest shift in the first of the rounds; each round's are a third of the last one's.
 */
static const double SHIFT_STEPS = 4;
static const size_t ROUNDS = 3;
static const size_t TURNS = 25;
/* Points of the sample's own bands lie above the fit; from this many spreads on they lose their weight. */
static const double ABOVE = 2;
/* The model (the table, the straight background) is never believed better than this (A), */
static const double SPREAD_MIN = 2e-4;
/* nor than this share of the water's own height. */
static const double SPREAD_SHARE = 0.01;
/* Two one-band estimates that differ by more make the smaller one an upper bound (design: moisture). */
static const double AGREE = 0.3;

/* One of water's two bands: where it is fitted, where its table is scaled about, its background. */
struct band_window {
    double low, high, centre;
    size_t background; /* coefficients of the polynomial background */
    double shift_max;  /* either way; a weaker hydrogen bond moves the stretch much, the bend little */
};

enum { STRETCH, BEND, WINDOWS };

/* Above this the absorption is counted to the stretch, below it to the bend: water's clearest place. */
static const double BETWEEN = 2450;

static const struct band_window WINDOW[WINDOWS] = {
    [STRETCH] = {2400, 3980, 3404, 3, 60},
    [BEND] = {1480, 1850, 1643.5, 2, 20},
};

/* The data of one window in steps, and scratch for the fit. Owns x. */
struct part {
    const struct band_window *window;
    size_t n;
    double *x, *y, *pattern, *rest;
    double noise; /* of one step */
};

/* What one fit of one window found. */
struct answer {
    double ug_cm2, sigma;
    double loss; /* the smaller the better the table fits at this shift and width */
};

/* The table, and beyond its upper end the fall of its last two rows carried on: a step would be fitted. */
static double table_at(double wavenumber)
{
    const double last = 1e4 / pellet_water_rows[0].wavelength_um;
    const double before = 1e4 / pellet_water_rows[1].wavelength_um;
    double ratio;

    if (wavenumber <= last)
        return pellet_water_absorbance(wavenumber);
    ratio = pellet_water_absorbance(last) / pellet_water_absorbance(before);
    return pellet_water_absorbance(last) * pow(ratio, (wavenumber - last) / (last - before));
}

/*
 * The table moved by shift and stretched about the band's centre, per ug/cm2. A wider band is a lower one:
 * the integrated strength belongs to the molecules.
 */
static double pattern_at(const struct band_window *window, double wavenumber, double shift, double width)
{
    return table_at(window->centre + (wavenumber - window->centre - shift) / width) / width;
}

static void part_clear(struct part *part)
{
    free(part->x);
    memset(part, 0, sizeof *part);
}

/* Means of the usable points over steps of the window. */
static pellet_status part_make(struct pellet_grid grid, const double *y, double noise,
                               const struct band_window *window, struct part *part)
{
    const double step = fmax(STEP, pellet_grid_spacing(grid));
    const size_t steps = (size_t)ceil((window->high - window->low) / step);
    size_t first, last, points = 0;

    memset(part, 0, sizeof *part);
    part->window = window;
    part->x = malloc(4 * steps * sizeof *part->x);
    if (part->x == NULL)
        return PELLET_E_MEMORY;
    part->y = part->x + steps;
    part->pattern = part->y + steps;
    part->rest = part->pattern + steps;
    for (size_t k = 0; k < steps; k++) {
        double x = 0, sum = 0, count = 0;

        pellet_grid_window(grid, window->low + (double)k * step, window->low + (double)(k + 1) * step, &first,
                           &last);
        for (size_t i = first; i < last; i++) {
            if (isnan(y[i]))
                continue;
            x += grid.wavenumber[i];
            sum += y[i];
            count++;
        }
        if (count > 0) {
            part->x[part->n] = x / count;
            part->y[part->n++] = sum / count;
            points += (size_t)count;
        }
    }
    part->noise = part->n > 0 ? noise / sqrt((double)points / (double)part->n) : 0;
    if (part->n < steps / 2) {
        part_clear(part);
        return PELLET_E_SHORT;
    }
    return PELLET_OK;
}

static void basis_row(const struct part *part, size_t i, double *row)
{
    const double u = 2 * (part->x[i] - part->window->low) / (part->window->high - part->window->low) - 1;

    row[0] = part->pattern[i];
    row[1] = 1;
    row[2] = u;
    row[3] = u * u;
}

/* Spread of what lies below the fit, where no band of the sample adds anything. */
static double spread_below(const struct part *part, double least)
{
    double squares = 0, count = 0;

    for (size_t i = 0; i < part->n; i++) {
        if (part->rest[i] < 0) {
            squares += part->rest[i] * part->rest[i];
            count++;
        }
    }
    return fmax(count > 0 ? sqrt(squares / count) : 0, least);
}

/*
 * Water and background together by reweighted least squares: the background is projected out of data and
 * table by one and the same weighted operator. A point far above the fit belongs to a band of the sample.
 */
static pellet_status fit_part(struct part *part, double shift, double width, struct answer *answer)
{
    const size_t p = 1 + part->window->background;
    double x[SIGNAL_BASIS_MAX], inverse[SIGNAL_BASIS_MAX * SIGNAL_BASIS_MAX], row[4], spread = 0, kept = 0;
    double peak = pellet_water_absorbance(part->window->centre);
    pellet_status status = PELLET_OK;

    for (size_t i = 0; i < part->n; i++)
        part->pattern[i] = pattern_at(part->window, part->x[i], shift, width);
    for (size_t turn = 0; turn < TURNS; turn++) {
        struct signal_least sums;

        signal_least_start(&sums, p);
        kept = 0;
        for (size_t i = 0; i < part->n; i++) {
            const double above = turn == 0 ? 0 : part->rest[i] / (ABOVE * spread);
            const double weight = above > 1 ? 1 / (1 + pow(above - 1, 2) * 4) : 1;

            basis_row(part, i, row);
            signal_least_add(&sums, row, part->y[i], weight);
            kept += weight;
        }
        status = signal_least_solve(&sums, x, inverse, NULL);
        if (status != PELLET_OK)
            return status;
        for (size_t i = 0; i < part->n; i++) {
            basis_row(part, i, row);
            part->rest[i] = part->y[i];
            for (size_t k = 0; k < p; k++)
                part->rest[i] -= x[k] * row[k];
        }
        spread = spread_below(part, fmax(fmax(part->noise, SPREAD_MIN), SPREAD_SHARE * fabs(x[0]) * peak));
    }
    answer->ug_cm2 = x[0];
    answer->sigma = spread * sqrt(inverse[0]);
    answer->loss = 0;
    for (size_t i = 0; i < part->n; i++)
        answer->loss += log1p(pow(part->rest[i] / fmax(part->noise, SPREAD_MIN), 2)) / (double)part->n;
    return PELLET_OK;
}

/* The best of one window at a given width. */
struct trial {
    double shift;
    struct answer answer;
};

/* The shift at which the table fits one window best: over the whole allowed field, then finer twice. */
static pellet_status search_shift(struct part *part, double width, struct trial *best)
{
    double low = -part->window->shift_max, high = part->window->shift_max;
    double step = high / SHIFT_STEPS;

    best->answer.loss = HUGE_VAL;
    for (size_t round = 0; round < ROUNDS; round++) {
        for (double shift = low; shift <= high + 1e-9; shift += step) {
            struct answer answer;
            const pellet_status status = fit_part(part, shift, width, &answer);

            if (status != PELLET_OK)
                return status;
            if (answer.loss < best->answer.loss)
                *best = (struct trial){shift, answer};
        }
        low = fmax(best->shift - step * 2 / 3, -part->window->shift_max);
        high = fmin(best->shift + step * 2 / 3, part->window->shift_max);
        step /= 3;
    }
    return PELLET_OK;
}

/* Both windows share the width and have each its own shift; a window that is not there has n == 0. */
struct choice {
    double width, loss;
    struct trial trial[WINDOWS];
};

static pellet_status try_width(struct part part[WINDOWS], double width, struct choice *best)
{
    struct choice choice = {.width = width};

    for (size_t k = 0; k < WINDOWS; k++) {
        pellet_status status;

        if (part[k].n == 0)
            continue;
        status = search_shift(&part[k], width, &choice.trial[k]);
        if (status != PELLET_OK)
            return status;
        choice.loss += choice.trial[k].answer.loss;
    }
    if (choice.loss < best->loss)
        *best = choice;
    return PELLET_OK;
}

static pellet_status search(struct part part[WINDOWS], struct choice *best)
{
    double low = WIDTH_MIN, high = WIDTH_MAX, step = WIDTH_STEP;

    best->loss = HUGE_VAL;
    for (size_t round = 0; round < 2; round++) {
        for (double width = low; width <= high + 1e-9; width += step) {
            const pellet_status status = try_width(part, width, best);

            if (status != PELLET_OK)
                return status;
        }
        low = fmax(best->width - step / 2, WIDTH_MIN);
        high = fmin(best->width + step / 2, WIDTH_MAX);
        step /= 4;
    }
    return PELLET_OK;
}

/* Two one-band estimates become one: their weighted mean where they agree, else the smaller, as a bound. */
static void combine(const struct part part[WINDOWS], const struct choice *best, struct pellet_water *water)
{
    const struct answer *stretch = &best->trial[STRETCH].answer, *bend = &best->trial[BEND].answer;
    const bool both = part[STRETCH].n > 0 && part[BEND].n > 0;

    water->fitted = true;
    water->shift_cm1 = best->trial[STRETCH].shift;
    water->bend_shift_cm1 = best->trial[BEND].shift;
    water->width = best->width;
    water->stretch_ug_cm2 = part[STRETCH].n > 0 ? stretch->ug_cm2 : NAN;
    water->bend_ug_cm2 = part[BEND].n > 0 ? bend->ug_cm2 : NAN;
    if (both) {
        const double apart = fabs(stretch->ug_cm2 - bend->ug_cm2);
        const double larger = fmax(fabs(stretch->ug_cm2), fabs(bend->ug_cm2));
        const double noise = hypot(stretch->sigma, bend->sigma);
        const struct answer *smaller = stretch->ug_cm2 < bend->ug_cm2 ? stretch : bend;

        water->upper_bound = apart > AGREE * larger && apart > 3 * noise;
        if (water->upper_bound) {
            water->ug_cm2 = smaller->ug_cm2;
            water->sigma_ug_cm2 = smaller->sigma;
        } else {
            const double a = 1 / pow(stretch->sigma, 2), b = 1 / pow(bend->sigma, 2);

            water->ug_cm2 = (a * stretch->ug_cm2 + b * bend->ug_cm2) / (a + b);
            water->sigma_ug_cm2 = 1 / sqrt(a + b);
        }
    } else {
        const struct answer *only = part[STRETCH].n > 0 ? stretch : bend;

        water->upper_bound = true;
        water->ug_cm2 = only->ug_cm2;
        water->sigma_ug_cm2 = only->sigma;
    }
}

static void render(struct pellet_grid grid, const struct pellet_water *water, double *fitted)
{
    for (size_t i = 0; i < grid.n; i++) {
        const bool stretch = grid.wavenumber[i] > BETWEEN;

        fitted[i] =
            water->ug_cm2 * pattern_at(&WINDOW[stretch ? STRETCH : BEND], grid.wavenumber[i],
                                       stretch ? water->shift_cm1 : water->bend_shift_cm1, water->width);
    }
}

pellet_status pellet_water_fit(struct pellet_grid grid, const double *absorbance, double noise,
                               struct pellet_water *water, double *fitted)
{
    struct part part[WINDOWS] = {0};
    struct pellet_water result = {0};
    struct choice best = {0};
    pellet_status status = PELLET_OK;

    for (size_t k = 0; status == PELLET_OK && k < WINDOWS; k++) {
        status = part_make(grid, absorbance, isfinite(noise) ? noise : 0, &WINDOW[k], &part[k]);
        if (status == PELLET_E_SHORT)
            status = PELLET_OK; /* this window is not there */
    }
    if (status == PELLET_OK && part[STRETCH].n == 0 && part[BEND].n == 0)
        status = PELLET_E_SHORT;
    if (status == PELLET_OK)
        status = search(part, &best);
    if (status == PELLET_OK) {
        combine(part, &best, &result);
        *water = result;
        if (fitted != NULL)
            render(grid, water, fitted);
    }
    for (size_t k = 0; k < WINDOWS; k++)
        part_clear(&part[k]);
    return status;
}
