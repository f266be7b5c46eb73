// SPDX-License-Identifier: GPL-3.0-or-later
/* One fit of water, background and the sample's flanks in a window, at a given shift and width. */
#include "signal/water_window.h"

#include <math.h>
#include <string.h>

#include <gsl/gsl_sort_double.h>

#include "pellet/reference.h"
#include "signal/least.h"

/* The height of a flank's band is known to this share of itself beforehand, and so large is its
 * dispersion. */
static const double HEIGHT_DOUBT = 0.5, DISPERSION = 0.3;
/* The misfit is counted against no less water than this (ug/cm2): a trace has no shape. */
static const double MISFIT_LEAST = 10;
/* and its flank is a Lorentz curve to this share of itself. */
static const double SHAPE_DOUBT = 0.1;
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

/* The terms of a row. */
static size_t terms_of(const struct signal_water_window *window)
{
    size_t terms = 1 + window->background;

    for (size_t k = 0; k < window->tails; k++)
        terms += window->tail_broad[k] ? 1 : 2;
    return terms;
}

/* All of a row but the table. */
static void set_row(struct signal_water_window *window, size_t i)
{
    const struct signal_water_kind *kind = window->kind;
    const double u = 2 * (window->x[i] - kind->low) / (kind->high - kind->low) - 1;
    double *row = window->row[i];
    size_t p = 1;

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
}

/* Spread of what lies below the fit, where no band of the sample adds anything. */
static double spread_below(const struct signal_water_window *window, double least)
{
    double squares = 0, count = 0;

    for (size_t i = 0; i < window->n; i++) {
        if (window->rest[i] < 0) {
            squares += window->rest[i] * window->rest[i];
            count++;
        }
    }
    return fmax(count > 0 ? sqrt(squares / count) : 0, least);
}

static double spread_of_all(const struct signal_water_window *window)
{
    double squares = 0;

    for (size_t i = 0; i < window->n; i++)
        squares += window->rest[i] * window->rest[i];
    return sqrt(squares / fmax((double)window->n, 1));
}

/* What the model of the flanks may be wrong by at a point (A), squared: the shape of a band is not quite a
 * Lorentz curve, least so near its core. */
static double shape_doubt(const struct signal_water_window *window, size_t i)
{
    double squares = 0;

    for (size_t k = 0; k < window->tails; k++) {
        const double v = 2 * (window->x[i] - window->tail_at[k]) / window->tail_width[k];
        const double flank = window->tail_broad[k] ? 0 : window->tail_height[k] / (1 + v * v);

        squares += SHAPE_DOUBT * SHAPE_DOUBT * flank * flank;
    }
    return squares;
}

/* A point far above the last fit belongs to a band of the sample; one on a steep flank says little. */
static double weight_of(const struct signal_water_window *window, size_t i, double spread)
{
    const double known = spread * spread + window->doubt[i], rest = window->rest[i];
    const double steep = spread > 0 ? spread * spread / known : 1;
    double beyond;

    if (!(known > 0) || rest <= 0 || rest * rest <= ABOVE * ABOVE * known)
        return steep;
    beyond = rest / (ABOVE * sqrt(known)) - 1;
    return steep / (1 + 4 * beyond * beyond);
}

/* What the terms from..from + p of the rows, times x, leave of the data. */
static void set_rest(struct signal_water_window *window, size_t from, size_t p, const double *x)
{
    for (size_t i = 0; i < window->n; i++) {
        const double *row = window->row[i] + from;
        double fitted = 0;

        for (size_t k = 0; k < p; k++)
            fitted += x[k] * row[k];
        window->rest[i] = window->y[i] - fitted;
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
    struct signal_least sums;
    pellet_status status;

    signal_least_start(&sums, terms_of(window));
    for (size_t i = 0; i < window->n; i++)
        window->scratch[i] = weight_of(window, i, spread);
    signal_least_add_all(&sums, window->row[0], SIGNAL_WATER_TERMS, window->y, window->scratch, window->n);
    add_knowledge(window, spread, &sums);
    status = signal_least_solve(&sums, x, inverse, NULL);
    if (status == PELLET_OK)
        set_rest(window, 0, sums.p, x);
    return status;
}

static bool is_outside(const struct signal_water_window *window, size_t i)
{
    return fabs(window->x[i] - window->kind->centre) > OUTSIDE * window->kind->half;
}

/* Spread of what lies below a background of the points outside water's band. */
static double spread_outside(const struct signal_water_window *window)
{
    double squares = 0, count = 0;

    for (size_t i = 0; i < window->n; i++) {
        if (window->rest[i] < 0 && is_outside(window, i)) {
            squares += window->rest[i] * window->rest[i];
            count++;
        }
    }
    return fmax(count > 0 ? sqrt(squares / count) : 0, fmax(window->noise, SPREAD_MIN));
}

pellet_status signal_water_window_prepare(struct signal_water_window *window)
{
    double x[SIGNAL_BASIS_MAX], spread = 0;

    signal_water_window_drop_covered(window);
    for (size_t i = 0; i < window->n; i++) {
        set_row(window, i);
        window->doubt[i] = shape_doubt(window, i);
        window->rest[i] = 0; /* nothing is known of it yet, and nothing weighs less for it */
    }
    for (size_t turn = 0; turn < START_TURNS; turn++) {
        struct signal_least sums;
        pellet_status status;

        signal_least_start(&sums, window->background);
        for (size_t i = 0; i < window->n; i++) {
            if (is_outside(window, i))
                signal_least_add(&sums, window->row[i] + 1, window->y[i], weight_of(window, i, spread));
        }
        status = signal_least_solve(&sums, x, NULL, NULL);
        if (status != PELLET_OK)
            return status;
        set_rest(window, 1, window->background, x);
        spread = spread_outside(window);
    }
    memcpy(window->outside, window->rest, window->n * sizeof *window->rest);
    return PELLET_OK;
}

/*
 * The start of the reweighting: the background of the points outside water's band, and the amount that a
 * low quartile of the points inside it allows; NaN where no point can be used. Without it a broad band of the
 * sample lifts the background. `rest` follows.
 */
static double start_low(struct signal_water_window *window)
{
    double ug_cm2 = NAN;
    size_t inside = 0;

    for (size_t i = 0; i < window->n; i++) {
        if (fabs(window->x[i] - window->kind->centre) < window->kind->half)
            window->scratch[inside++] = window->outside[i] / window->row[i][0];
    }
    if (inside > 0) {
        gsl_sort(window->scratch, 1, inside);
        ug_cm2 = window->scratch[inside / 4];
    }
    for (size_t i = 0; i < window->n; i++)
        window->rest[i] = window->outside[i] - (inside > 0 ? ug_cm2 * window->row[i][0] : 0);
    return ug_cm2;
}

/* How well the last fit describes its points. */
static void describe(const struct signal_water_window *window, double least, double height,
                     struct signal_water_answer *answer)
{
    double loss = 0, squares = 0, inside = 0;

    for (size_t i = 0; i < window->n; i++) {
        const double rest = window->rest[i];

        loss += log1p(pow(rest / least, 2));
        if (fabs(window->x[i] - window->kind->centre) < window->kind->half) {
            squares += rest * rest;
            inside++;
        }
    }
    answer->loss = loss / fmax((double)window->n, 1);
    answer->misfit = sqrt(squares / fmax(inside, 1)) / height;
}

static void set_pattern(struct signal_water_window *window, double shift, double width)
{
    for (size_t i = 0; i < window->n; i++)
        window->row[i][0] = signal_water_pattern(window->kind, window->x[i], shift, width);
}

double signal_water_window_room(struct signal_water_window *window)
{
    if (window->n == 0)
        return NAN;
    set_pattern(window, 0, 1);
    return start_low(window);
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
    double spread, wide, before = 0;

    set_pattern(window, shift, width);
    (void)start_low(window);
    wide = START_SPREAD * spread_of_all(window);
    spread = fmax(spread_below(window, least), wide);
    for (size_t turn = 0; turn < TURNS; turn++) {
        const pellet_status status = fit_once(window, spread, x, inverse);
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

        if (signal_water_window_prepare(&changed[k]) == PELLET_OK &&
            signal_water_window_fit(&changed[k], shift, width, &other) == PELLET_OK)
            squares += (other.ug_cm2 - answer->ug_cm2) * (other.ug_cm2 - answer->ug_cm2);
    }
    answer->sigma = sqrt(squares);
    (void)signal_water_window_prepare(window); /* the two shared its memory; it could be prepared before */
}
