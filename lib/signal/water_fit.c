// SPDX-License-Identifier: GPL-3.0-or-later
/* One fit of water, background and the sample's flanks in a window, at a given shift and width. */
#include "signal/water_window.h"

#include <math.h>

#include <gsl/gsl_sort_double.h>

#include "pellet/reference.h"
#include "signal/least.h"

/* The height of a flank's band is known to this share of itself beforehand, and so large is its dispersion.
 */
static const double HEIGHT_DOUBT = 0.5, DISPERSION = 0.3;
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
static pellet_status start_low(struct signal_water_window *window, double *scratch, double *ug_cm2)
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
    *ug_cm2 = NAN;
    if (inside == 0)
        return PELLET_OK;
    gsl_sort(scratch, 1, inside);
    *ug_cm2 = x[0] = scratch[inside / 4];
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

static void set_pattern(struct signal_water_window *window, double shift, double width)
{
    for (size_t i = 0; i < window->n; i++)
        window->pattern[i] = signal_water_pattern(window->kind, window->x[i], shift, width);
}

double signal_water_window_room(struct signal_water_window *window)
{
    double room = NAN;

    if (window->n == 0)
        return NAN;
    set_pattern(window, 0, 1);
    return start_low(window, window->scratch, &room) == PELLET_OK ? room : NAN;
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
    double x[SIGNAL_BASIS_MAX], inverse[SIGNAL_BASIS_MAX * SIGNAL_BASIS_MAX];
    double spread, wide, start, before = 0;
    pellet_status status;

    set_pattern(window, shift, width);
    status = start_low(window, window->scratch, &start);
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
