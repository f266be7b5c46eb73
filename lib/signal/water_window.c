// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/water_window.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_sort_double.h>

#include "pellet/reference.h"
#include "signal/least.h"

/*
 * The windows reach beyond the bands to where neither water nor most samples absorb, so that the background
 * stands on something. The stretch moves much with the hydrogen bonds, the bend little. A band of bulk water
 * is about 400 and 80 cm-1 wide; what is much narrower is not water.
 */
const struct signal_water_kind signal_water_kinds[SIGNAL_WATER_KINDS] = {
    [SIGNAL_WATER_STRETCH] = {.low = 1880,
                              .high = 3990,
                              .centre = 3404,
                              .step = 10,
                              .shift_max = 60,
                              .half = 200,
                              .seen_min = 0.25,
                              .zone = 150,
                              .sample_width = 150,
                              .broad_width = 120,
                              .background = 3},
    [SIGNAL_WATER_BEND] = {.low = 1480,
                           .high = 1880,
                           .centre = 1643.5,
                           .step = 4,
                           .shift_max = 20,
                           .half = 40,
                           .seen_min = 0.5,
                           .zone = 30,
                           .sample_width = 42,
                           .broad_width = 200,
                           .background = 2},
};

/* A band of the sample hides this many of its widths to each side; its flanks beyond are fitted. */
static const double CORE_WIDTHS = 1.2;
/* and what is this broad is the background's or water's own. */
static const double SAMPLE_WIDTH_MAX = 600;
/* Bands lower than this (A) do not matter beside the water that does. */
static const double SAMPLE_HEIGHT = 0.02;
/* and narrower ones (cm-1) are noise more often than bands. */
static const double SAMPLE_WIDTH_MIN = 5;
/* The height of a flank's band is known to this share of itself beforehand, and so large is its dispersion.
 */
static const double HEIGHT_DOUBT = 0.5, DISPERSION = 0.3;
/* Flanks are fitted of bands within this distance of the window (cm-1). */
static const double TAIL_REACH = 150;
/* The misfit is counted against no less water than this (ug/cm2): a trace has no shape. */
static const double MISFIT_LEAST = 10;
static const size_t TURNS = 15, START_TURNS = 4;
/* At first more counts as spread than what lies below, halved at each turn: so the fit can still rise from
 * its low start. This share of the rms of all that is left. */
static const double START_SPREAD = 1;
/* The background starts from the points further than this many halves from the centre. */
static const double OUTSIDE = 1.6;
/* Points of the sample's own bands lie above the fit; from this many spreads on they lose their weight. */
static const double ABOVE = 2;
/* The model (the table, the background) is never believed better than this (A), */
static const double SPREAD_MIN = 2e-4;
/* nor than this share of the water's own height. */
static const double SPREAD_SHARE = 0.01;

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

double signal_water_pattern(const struct signal_water_kind *kind, double wavenumber, double shift,
                            double width)
{
    return table_at(kind->centre + (wavenumber - kind->centre - shift) / width) / width;
}

void signal_water_window_clear(struct signal_water_window *window)
{
    free(window->x);
    memset(window, 0, sizeof *window);
}

/* The mean of the usable points of one step is appended; returns how many there were. */
static size_t add_step(struct pellet_grid grid, const double *y, double low, double high,
                       struct signal_water_window *window)
{
    size_t first, last, count = 0;
    double x = 0, sum = 0;

    pellet_grid_window(grid, low, high, &first, &last);
    for (size_t i = first; i < last; i++) {
        const bool in_air = grid.wavenumber[i] >= PELLET_CO2_LOW && grid.wavenumber[i] <= PELLET_CO2_HIGH;

        if (isnan(y[i]) || in_air)
            continue;
        x += grid.wavenumber[i];
        sum += y[i];
        count++;
    }
    if (count > 0) {
        window->x[window->n] = x / (double)count;
        window->keep[window->n] = 1;
        window->y[window->n++] = sum / (double)count;
    }
    return count;
}

static bool is_sample(const struct signal_water_kind *kind, const struct pellet_band *band)
{
    if (band->height < SAMPLE_HEIGHT || band->width_cm1 < SAMPLE_WIDTH_MIN ||
        band->at_cm1 < kind->low - TAIL_REACH || band->at_cm1 > kind->high + TAIL_REACH)
        return false;
    if (fabs(band->at_cm1 - kind->centre) < kind->zone)
        return band->width_cm1 < kind->sample_width;
    return band->width_cm1 < SAMPLE_WIDTH_MAX;
}

/* Bands come strongest first, so that the strongest ones' flanks are fitted. */
static void cover_band(const struct pellet_band *band, struct signal_water_window *window)
{
    const bool broad = band->width_cm1 > window->kind->broad_width;

    for (size_t i = 0; !broad && i < window->n; i++) {
        if (fabs(window->x[i] - band->at_cm1) < CORE_WIDTHS * band->width_cm1)
            window->keep[i] = 0;
    }
    if (window->tails == SIGNAL_TAILS_MAX)
        return;
    window->tail_at[window->tails] = band->at_cm1;
    window->tail_width[window->tails] = band->width_cm1;
    window->tail_height[window->tails] = band->height;
    window->tail_broad[window->tails++] = broad;
}

/* The cores of the sample's bands stop counting; their flanks are remembered. */
static void cover_bands(const struct pellet_band *band, size_t count, struct signal_water_window *window)
{
    const struct signal_water_kind *kind = window->kind;
    double seen = 0, all = 0;

    for (size_t b = 0; b < count; b++) {
        if (is_sample(kind, &band[b]))
            cover_band(&band[b], window);
    }
    for (size_t i = 0; i < window->n; i++) {
        if (fabs(window->x[i] - kind->centre) > kind->half)
            continue;
        seen += window->keep[i];
        all++;
    }
    window->hidden = !(seen >= kind->seen_min * all);
}

void signal_water_window_uncover(struct signal_water_window *window)
{
    for (size_t i = 0; i < window->n; i++)
        window->keep[i] = 1;
    window->tails = 0;
}

pellet_status signal_water_window_make(struct pellet_grid grid, const double *y, double noise,
                                       const struct pellet_band *band, size_t count,
                                       const struct signal_water_kind *kind,
                                       struct signal_water_window *window)
{
    const double step = fmax(kind->step, pellet_grid_spacing(grid));
    const size_t steps = (size_t)ceil((kind->high - kind->low) / step);
    size_t points = 0;

    memset(window, 0, sizeof *window);
    window->kind = kind;
    window->background = kind->background;
    window->x = malloc(6 * steps * sizeof *window->x);
    if (window->x == NULL)
        return PELLET_E_MEMORY;
    window->y = window->x + steps;
    window->pattern = window->y + steps;
    window->rest = window->pattern + steps;
    window->keep = window->rest + steps;
    window->scratch = window->keep + steps;
    for (size_t k = 0; k < steps; k++)
        points += add_step(grid, y, kind->low + (double)k * step, kind->low + (double)(k + 1) * step, window);
    if (window->n < steps * 2 / 3) {
        signal_water_window_clear(window);
        return PELLET_OK;
    }
    window->noise = noise / sqrt((double)points / (double)window->n);
    cover_bands(band, count, window);
    return PELLET_OK;
}

static size_t basis_row(const struct signal_water_window *window, size_t i, double *row)
{
    const struct signal_water_kind *kind = window->kind;
    const double u = 2 * (window->x[i] - kind->low) / (kind->high - kind->low) - 1;
    size_t p = 0;

    row[p++] = window->pattern[i];
    row[p++] = 1;
    for (size_t k = 1; k < window->background; k++, p++)
        row[p] = row[p - 1] * u;
    for (size_t k = 0; k < window->tails; k++) {
        const double v = 2 * (window->x[i] - window->tail_at[k]) / window->tail_width[k];

        if (window->tail_broad[k]) {
            row[p++] = exp(-M_LN2 * v * v);
        } else { /* with the dispersive part that coarse grains add */
            row[p++] = 1 / (1 + v * v);
            row[p++] = v / (1 + v * v);
        }
    }
    return p;
}

/* Spread of what lies below the fit, where no band of the sample adds anything. */
static double spread_below(const struct signal_water_window *window, double least)
{
    double squares = 0, count = 0;

    for (size_t i = 0; i < window->n; i++) {
        if (window->rest[i] < 0 && window->keep[i] > 0) {
            squares += window->rest[i] * window->rest[i];
            count++;
        }
    }
    return fmax(count > 0 ? sqrt(squares / count) : 0, least);
}

static double spread_of_all(const struct signal_water_window *window)
{
    double squares = 0, count = 0;

    for (size_t i = 0; i < window->n; i++) {
        squares += window->keep[i] * window->rest[i] * window->rest[i];
        count += window->keep[i];
    }
    return sqrt(squares / fmax(count, 1));
}

/* A point far above the last fit belongs to a band of the sample. */
static double weight_of(const struct signal_water_window *window, size_t i, double spread)
{
    const double above = spread > 0 ? window->rest[i] / (ABOVE * spread) : 0;

    return window->keep[i] * (above > 1 ? 1 / (1 + 4 * (above - 1) * (above - 1)) : 1);
}

static void set_rest(struct signal_water_window *window, size_t p, const double *x)
{
    double row[SIGNAL_BASIS_MAX];

    for (size_t i = 0; i < window->n; i++) {
        basis_row(window, i, row);
        window->rest[i] = window->y[i];
        for (size_t k = 0; k < p; k++)
            window->rest[i] -= x[k] * row[k];
    }
}

/*
 * What is known of the flanks beforehand, as further rows: about the height of their band, and a dispersive
 * part that is smaller. Without them neighbouring bands' flanks could not be told apart.
 */
static void add_knowledge(const struct signal_water_window *window, double spread, struct signal_least *sums)
{
    size_t p = 1 + window->background;

    for (size_t k = 0; k < window->tails; k++) {
        const double height = window->tail_height[k];
        double row[SIGNAL_BASIS_MAX] = {0};

        row[p] = 1;
        signal_least_add(sums, row, height, pow(spread / (HEIGHT_DOUBT * height), 2));
        row[p++] = 0;
        if (window->tail_broad[k])
            continue;
        row[p++] = 1;
        signal_least_add(sums, row, 0, pow(spread / (DISPERSION * height), 2));
    }
}

/* One weighted fit; `rest` follows. */
static pellet_status fit_once(struct signal_water_window *window, double spread, double *x, double *inverse)
{
    double row[SIGNAL_BASIS_MAX];
    struct signal_least sums;
    pellet_status status;

    signal_least_start(&sums, basis_row(window, 0, row));
    for (size_t i = 0; i < window->n; i++) {
        basis_row(window, i, row);
        signal_least_add(&sums, row, window->y[i], weight_of(window, i, spread));
    }
    add_knowledge(window, spread, &sums);
    status = signal_least_solve(&sums, x, inverse, NULL);
    if (status == PELLET_OK)
        set_rest(window, sums.p, x);
    return status;
}

/*
 * The start of the reweighting: the background of the points outside water's band, and the amount that a
 * low quartile of the points inside it allows. Without it a broad band of the sample lifts the background.
 */
static pellet_status start_low(struct signal_water_window *window, double *scratch)
{
    const struct signal_water_kind *kind = window->kind;
    double x[SIGNAL_BASIS_MAX] = {0}, row[SIGNAL_BASIS_MAX], spread = 0;
    size_t inside = 0;

    for (size_t turn = 0; turn < START_TURNS; turn++) {
        struct signal_least sums;
        double squares = 0, count = 0;
        pellet_status status;

        signal_least_start(&sums, window->background);
        for (size_t i = 0; i < window->n; i++) {
            basis_row(window, i, row);
            if (fabs(window->x[i] - kind->centre) > OUTSIDE * kind->half)
                signal_least_add(&sums, row + 1, window->y[i], weight_of(window, i, spread));
        }
        status = signal_least_solve(&sums, x + 1, NULL, NULL);
        if (status != PELLET_OK)
            return status;
        set_rest(window, 1 + window->background, x);
        for (size_t i = 0; i < window->n; i++) {
            if (window->rest[i] < 0 && window->keep[i] > 0 &&
                fabs(window->x[i] - kind->centre) > OUTSIDE * kind->half) {
                squares += window->rest[i] * window->rest[i];
                count++;
            }
        }
        spread = fmax(count > 0 ? sqrt(squares / count) : 0, fmax(window->noise, SPREAD_MIN));
    }
    for (size_t i = 0; i < window->n; i++) {
        if (fabs(window->x[i] - kind->centre) < kind->half && window->keep[i] > 0)
            scratch[inside++] = window->rest[i] / window->pattern[i];
    }
    if (inside == 0)
        return PELLET_OK;
    gsl_sort(scratch, 1, inside);
    x[0] = scratch[inside / 4];
    set_rest(window, 1 + window->background, x);
    return PELLET_OK;
}

/* How well the last fit describes its points. */
static void describe(const struct signal_water_window *window, double least, double height,
                     struct signal_water_answer *answer)
{
    double loss = 0, kept = 0, squares = 0, inside = 0;

    for (size_t i = 0; i < window->n; i++) {
        const double keep = window->keep[i], rest = window->rest[i];

        loss += keep * log1p(pow(rest / least, 2));
        kept += keep;
        if (fabs(window->x[i] - window->kind->centre) < window->kind->half) {
            squares += keep * rest * rest;
            inside += keep;
        }
    }
    answer->loss = loss / fmax(kept, 1);
    answer->misfit = sqrt(squares / fmax(inside, 1)) / height;
}

/*
 * Water, background and flanks together by reweighted least squares: the background is projected out of data
 * and table by one and the same weighted operator.
 */
pellet_status signal_water_window_fit(struct signal_water_window *window, double shift, double width,
                                      struct signal_water_answer *answer)
{
    const double peak = pellet_water_absorbance(window->kind->centre);
    const double least = fmax(window->noise, SPREAD_MIN);
    double x[SIGNAL_BASIS_MAX], inverse[SIGNAL_BASIS_MAX * SIGNAL_BASIS_MAX], spread, wide, before = 0;
    pellet_status status;

    for (size_t i = 0; i < window->n; i++)
        window->pattern[i] = signal_water_pattern(window->kind, window->x[i], shift, width);
    status = start_low(window, window->scratch);
    if (status != PELLET_OK)
        return status;
    wide = START_SPREAD * spread_of_all(window);
    spread = fmax(spread_below(window, least), wide);
    for (size_t turn = 0; turn < TURNS; turn++) {
        status = fit_once(window, spread, x, inverse);
        if (status != PELLET_OK)
            return status;
        wide /= 2;
        spread = fmax(spread_below(window, fmax(least, SPREAD_SHARE * fabs(x[0]) * peak)), wide);
        if (turn > 0 && fabs(x[0] - before) < 1e-3 * fabs(before))
            break;
        before = x[0];
    }
    answer->ug_cm2 = x[0];
    answer->sigma = spread * sqrt(inverse[0]);
    describe(window, least, fmax(fabs(x[0]), MISFIT_LEAST) * peak / width, answer);
    return PELLET_OK;
}

void signal_water_window_doubt(struct signal_water_window *window, double shift, double width,
                               struct signal_water_answer *answer)
{
    struct signal_water_window changed[2] = {*window, *window};
    double squares = answer->sigma * answer->sigma;

    changed[0].background++;
    changed[1].tails = 0;
    for (size_t k = 0; k < window->tails; k++) {
        if (window->tail_broad[k])
            continue;
        changed[1].tail_at[changed[1].tails] = window->tail_at[k];
        changed[1].tail_width[changed[1].tails] = window->tail_width[k];
        changed[1].tail_height[changed[1].tails] = window->tail_height[k];
        changed[1].tail_broad[changed[1].tails++] = false;
    }
    for (size_t k = 0; k < 2; k++) {
        struct signal_water_answer other;

        if (signal_water_window_fit(&changed[k], shift, width, &other) == PELLET_OK)
            squares += (other.ug_cm2 - answer->ug_cm2) * (other.ug_cm2 - answer->ug_cm2);
    }
    answer->sigma = sqrt(squares);
}
