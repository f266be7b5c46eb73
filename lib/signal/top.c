// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/top.h"

#include <math.h>

#include "signal/least.h"

/* The top is fitted over the points above one of these shares of the height, */
static const double top_shares[] = {0.9, 0.8, 0.65};
enum { TOP_SHARES = sizeof top_shares / sizeof top_shares[0] };
/* with so many points at least, or all that the last share gives. */
static const size_t TOP_POINTS = 7;
/* Two places disagree beyond so many standard deviations of the one from fewer points. */
static const double TOP_SIGMAS = 3;

double signal_chord_at(const struct signal_curve *curve, const struct signal_shape *shape, size_t i)
{
    return shape->left_level +
           shape->slope * (curve->grid.wavenumber[i] - curve->grid.wavenumber[shape->left]);
}

void signal_upper_part(const struct signal_curve *curve, const struct signal_shape *shape, double share,
                       size_t *first, size_t *last)
{
    const double level = share * shape->height;

    *first = *last = shape->top;
    while (*first > shape->left &&
           curve->smooth[*first - 1] - signal_chord_at(curve, shape, *first - 1) >= level)
        (*first)--;
    while (*last < shape->right &&
           curve->smooth[*last + 1] - signal_chord_at(curve, shape, *last + 1) >= level)
        (*last)++;
    if (*first == shape->top && *first > shape->left)
        (*first)--;
    if (*last == shape->top && *last < shape->right)
        (*last)++;
}

/* The maximum of a polynomial c[0..degree] in -1..1, by trial and then by parabolas; u is where. */
static double polynomial_top(const double *c, size_t degree, double *u)
{
    double best = -HUGE_VAL, step = 0.02;

    for (double t = -1; t <= 1.0001; t += step) {
        double value = 0;

        for (size_t k = degree + 1; k-- > 0;)
            value = value * t + c[k];
        if (value > best) {
            best = value;
            *u = t;
        }
    }
    for (size_t turn = 0; turn < 3; turn++) {
        double first = 0, second = 0;

        for (size_t k = degree; k >= 1; k--)
            first = first * *u + (double)k * c[k];
        for (size_t k = degree; k >= 2; k--)
            second = second * *u + (double)(k * (k - 1)) * c[k];
        if (second < 0 && fabs(first / second) < step)
            *u -= first / second;
    }
    best = 0;
    for (size_t k = degree + 1; k-- > 0;)
        best = best * *u + c[k];
    return best;
}

/* What a polynomial through the raw points of a top tells. */
struct top {
    double at, sigma; /* where A is highest, cm-1, and its standard deviation; NaN where it is not inside */
    double highest;   /* A there */
    double height;    /* the highest above the chord; NaN where it is not inside */
};

/* The highest place of the polynomial; NaN where it is at an end. */
static double inner_top(const double *c, size_t degree, double *u)
{
    const double highest = polynomial_top(c, degree, u);

    return fabs(*u) < 0.99 ? highest : (double)NAN;
}

/* A fit of the points first..last: a polynomial of (x - centre) / scale. */
struct polynomial {
    double c[5], inverse[25], centre, scale;
    size_t degree, first, last;
};

static double rest_at(const struct signal_curve *curve, const struct signal_shape *shape,
                      const struct polynomial *fit, size_t i)
{
    const double u = (curve->grid.wavenumber[i] - fit->centre) / fit->scale;
    double value = 0;

    for (size_t k = fit->degree + 1; k-- > 0;)
        value = value * u + fit->c[k];
    return curve->y[i] - signal_chord_at(curve, shape, i) - value;
}

/*
 * The noise that the place has to be held against: what the fit leaves, at least the noise that is known,
 * times the root of (1 + r)/(1 - r), because noise of neighbours that correlate by r carries so much fewer
 * points.
 */
static double noise_of(const struct signal_curve *curve, const struct signal_shape *shape,
                       const struct polynomial *fit)
{
    const double freedom = (double)(fit->last - fit->first) - (double)fit->degree;
    double squares = 0, lagged = 0, before = 0;

    for (size_t i = fit->first; i <= fit->last; i++) {
        const double rest = rest_at(curve, shape, fit, i);

        squares += rest * rest;
        lagged += rest * before;
        before = rest;
    }
    const double r = squares > 0 ? fmin(fmax(lagged / squares, 0), 0.95) : 0;
    return fmax(sqrt(squares / fmax(freedom, 1)), curve->sigma[shape->top]) * sqrt((1 + r) / (1 - r));
}

/* The standard deviation of the place u of a top: that of the slope there over the curvature. */
static double place_sigma(const struct polynomial *fit, double u, double noise)
{
    const size_t terms = fit->degree + 1;
    double slope[5] = {0}, bend = 0, variance = 0;

    for (size_t k = 1; k <= fit->degree; k++)
        slope[k] = (double)k * pow(u, (double)(k - 1));
    for (size_t k = 2; k <= fit->degree; k++)
        bend += (double)(k * (k - 1)) * fit->c[k] * pow(u, (double)(k - 2));
    for (size_t i = 1; i < terms; i++) {
        for (size_t k = 1; k < terms; k++)
            variance += slope[i] * fit->inverse[i * terms + k] * slope[k];
    }
    return fit->scale * noise * sqrt(variance) / fabs(bend);
}

/* Fit the points above a share of the height; false where they are fewer than `least` or cannot be fitted.
 * The degree follows the number of points. */
static bool fit_share(const struct signal_curve *curve, const struct signal_shape *shape, double share,
                      size_t least, struct top *top)
{
    const double *x = curve->grid.wavenumber;
    struct polynomial fit;
    struct signal_least sums;
    double u;

    signal_upper_part(curve, shape, share, &fit.first, &fit.last);
    const size_t n = fit.last - fit.first + 1;
    fit.degree = n >= 9 ? 4 : n >= 6 ? 3 : 2;
    fit.centre = (x[fit.first] + x[fit.last]) / 2;
    fit.scale = (x[fit.last] - x[fit.first]) / 2;
    if (n < least)
        return false;
    signal_least_start(&sums, fit.degree + 1);
    for (size_t i = fit.first; i <= fit.last; i++) {
        double row[5] = {1};

        for (size_t k = 1; k <= fit.degree; k++)
            row[k] = row[k - 1] * (x[i] - fit.centre) / fit.scale;
        signal_least_add(&sums, row, curve->y[i] - signal_chord_at(curve, shape, i), 1);
    }
    if (signal_least_solve(&sums, fit.c, fit.inverse, NULL) != PELLET_OK)
        return false;
    const double noise = noise_of(curve, shape, &fit);
    top->height = inner_top(fit.c, fit.degree, &u);
    fit.c[0] += shape->left_level + shape->slope * (fit.centre - x[shape->left]);
    fit.c[1] += shape->slope * fit.scale;
    top->highest = inner_top(fit.c, fit.degree, &u);
    top->at = isnan(top->highest) ? (double)NAN : fit.centre + fit.scale * u;
    top->sigma = place_sigma(&fit, u, noise);
    return true;
}

/* Whether a place agrees with each of those before, within what these know. */
static bool agrees(const struct top *top, const struct top *before, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (!(fabs(top->at - before[i].at) <= TOP_SIGMAS * before[i].sigma))
            return false;
    }
    return true;
}

/*
 * Position and height of the top from a polynomial through the raw points of the upper part, which uses all
 * of them and so is finer than the spacing. The more of the band the less noise, but a neighbour bends the
 * curve: the widest part is taken whose place agrees with those of all narrower ones (after O. V. Lepskii,
 * Theory Probab. Appl. 35, 454 (1990), from memory). The position is where A itself is highest, as tables of
 * bands give it; the height is the highest above the chord. On a slope the two are not at one place.
 */
void signal_top_fit(const struct signal_curve *curve, const struct signal_shape *shape,
                    struct pellet_band *band)
{
    struct top top[TOP_SHARES], widest;
    size_t count = 0;

    band->at_cm1 = curve->grid.wavenumber[shape->top];
    band->height = shape->height;
    band->top = curve->smooth[shape->top];
    if (!fit_share(curve, shape, top_shares[TOP_SHARES - 1], 0, &widest))
        return;
    if (widest.height > 0)
        band->height = widest.height;
    for (size_t k = 0; k < TOP_SHARES; k++) {
        const bool last = k + 1 == TOP_SHARES;

        if (last)
            top[count] = widest;
        else if (!fit_share(curve, shape, top_shares[k], TOP_POINTS, &top[count]))
            continue;
        if (!isfinite(top[count].at) || !agrees(&top[count], top, count))
            break;
        count++;
    }
    if (count == 0)
        return;
    band->at_cm1 = top[count - 1].at;
    band->top = top[count - 1].highest;
}
