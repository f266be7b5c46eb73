// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/top.h"

#include <math.h>
#include <string.h>

#include "signal/least.h"

/* The top is fitted over the points above this share of the height: much of a band, little of its
 * neighbours. */
static const double TOP_SHARE = 0.65;
/* A degree is worth its terms where each takes so many variances of the noise out of what is left. */
static const double WORTH = 6;
/* Points that a fit must have more than terms, at least, to be richer than the first. */
static const size_t SPARE = 2;
enum { DEGREE_MOST = 10, TERMS_MOST = DEGREE_MOST + 1 };

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

/* The highest place of the polynomial; NaN where it is at an end. */
static double inner_top(const double *c, size_t degree, double *u)
{
    const double highest = polynomial_top(c, degree, u);

    return fabs(*u) < 0.99 ? highest : (double)NAN;
}

/* A fit of the points first..last above the chord: a polynomial of (x - centre) / scale. */
struct polynomial {
    double c[TERMS_MOST], centre, scale, ssr;
    size_t degree, first, last;
};

/* Legendre polynomials of a point's place in -1..1: the sums stay far from dependent. */
static void set_row(const struct signal_curve *curve, const struct polynomial *fit, size_t i, double *row)
{
    const double u = (curve->grid.wavenumber[i] - fit->centre) / fit->scale;

    row[0] = 1;
    row[1] = u;
    for (size_t k = 1; k + 1 < TERMS_MOST; k++)
        row[k + 1] = ((double)(2 * k + 1) * u * row[k] - (double)k * row[k - 1]) / (double)(k + 1);
}

/* The same sum of Legendre polynomials as one of powers. */
static void take_powers(const struct polynomial *fit, double *power)
{
    double before[TERMS_MOST] = {0}, now[TERMS_MOST] = {1}, next[TERMS_MOST];

    for (size_t i = 0; i <= fit->degree; i++)
        power[i] = 0;
    for (size_t k = 0; k <= fit->degree; k++) {
        for (size_t i = 0; i <= k; i++)
            power[i] += fit->c[k] * now[i];
        for (size_t i = 0; i < TERMS_MOST; i++)
            next[i] =
                ((double)(2 * k + 1) * (i > 0 ? now[i - 1] : 0) - (double)k * before[i]) / (double)(k + 1);
        memcpy(before, now, sizeof before);
        memcpy(now, next, sizeof now);
    }
}

/* The sums of the first `terms` unknowns: those of fewer are a corner of those of all. */
static void take_corner(const struct signal_least *all, size_t terms, struct signal_least *sums)
{
    signal_least_start(sums, terms);
    sums->rows = all->rows;
    sums->btb = all->btb;
    for (size_t i = 0; i < terms; i++) {
        sums->atb[i] = all->atb[i];
        for (size_t k = 0; k <= i; k++)
            sums->ata[i * terms + k] = all->ata[i * all->p + k];
    }
}

static bool fit_degree(const struct signal_least *all, size_t degree, struct polynomial *fit)
{
    struct signal_least sums;

    if (degree > DEGREE_MOST)
        return false;
    take_corner(all, degree + 1, &sums);
    fit->degree = degree;
    return signal_least_solve(&sums, fit->c, NULL, &fit->ssr) == PELLET_OK;
}

/*
 * The variance that a smooth curve takes out of noise: that of what the fit leaves, at least that of the
 * noise that is known, times (1 + r)/(1 - r), because noise of neighbours that correlate by r is stronger by
 * that where it is slow.
 */
static double slow_variance(const struct signal_curve *curve, const struct signal_shape *shape,
                            const struct polynomial *fit)
{
    const double freedom = (double)(fit->last - fit->first) - (double)fit->degree;
    double lagged = 0, squares = 0, before = 0;

    for (size_t i = fit->first; i <= fit->last; i++) {
        double row[TERMS_MOST], rest = curve->y[i] - signal_chord_at(curve, shape, i);

        set_row(curve, fit, i, row);
        for (size_t k = 0; k <= fit->degree; k++)
            rest -= fit->c[k] * row[k];
        squares += rest * rest;
        lagged += rest * before;
        before = rest;
    }
    const double r = squares > 0 ? fmin(fmax(lagged / squares, 0), 0.95) : 0;
    return fmax(squares / freedom, pow(curve->sigma[shape->top], 2)) * (1 + r) / (1 - r);
}

/* Whether the richer fit is worth its terms. */
static bool is_worth(const struct signal_curve *curve, const struct signal_shape *shape,
                     const struct polynomial *fit, const struct polynomial *richer)
{
    return fit->ssr - richer->ssr >
           WORTH * (double)(richer->degree - fit->degree) * slow_variance(curve, shape, richer);
}

/* What so many points of a top are fitted by at least: it is neither a parabola nor even. */
static size_t first_degree(size_t points)
{
    return points >= 9 ? 4 : points >= 6 ? 3 : 2;
}

/* From the first degree on as long as one more, or two (a top may be even), is worth it. */
static bool fit_top(const struct signal_curve *curve, const struct signal_shape *shape,
                    struct polynomial *fit)
{
    const double *x = curve->grid.wavenumber;
    struct signal_least all;
    bool richer = true;

    signal_upper_part(curve, shape, TOP_SHARE, &fit->first, &fit->last);
    fit->centre = (x[fit->first] + x[fit->last]) / 2;
    fit->scale = (x[fit->last] - x[fit->first]) / 2;
    signal_least_start(&all, TERMS_MOST);
    for (size_t i = fit->first; i <= fit->last; i++) {
        double row[TERMS_MOST];

        set_row(curve, fit, i, row);
        signal_least_add(&all, row, curve->y[i] - signal_chord_at(curve, shape, i), 1);
    }
    if (!fit_degree(&all, first_degree(all.rows), fit))
        return false;
    while (richer) {
        richer = false;
        for (size_t more = 1; more <= 2 && !richer; more++) {
            struct polynomial tried = *fit;
            richer = all.rows > fit->degree + more + SPARE && fit_degree(&all, fit->degree + more, &tried) &&
                     is_worth(curve, shape, fit, &tried);
            if (richer)
                *fit = tried;
        }
    }
    return true;
}

/*
 * Position and height of the top from a polynomial through the raw points of the upper part, which uses all
 * of them and so is finer than the spacing. Its degree is as high as the points bear out: a neighbour bends
 * the curve, noise does not. The position is where A itself is highest, as tables of bands give it; the
 * height is the highest above the chord. On a slope the two are not at one place.
 */
void signal_top_fit(const struct signal_curve *curve, const struct signal_shape *shape,
                    struct pellet_band *band)
{
    struct polynomial fit;
    double power[TERMS_MOST], u;

    band->at_cm1 = curve->grid.wavenumber[shape->top];
    band->height = shape->height;
    band->top = curve->smooth[shape->top];
    if (!fit_top(curve, shape, &fit))
        return;
    take_powers(&fit, power);
    const double height = inner_top(power, fit.degree, &u);
    if (height > 0)
        band->height = height;
    power[0] += shape->left_level + shape->slope * (fit.centre - curve->grid.wavenumber[shape->left]);
    power[1] += shape->slope * fit.scale;
    const double highest = inner_top(power, fit.degree, &u);
    if (!isfinite(highest))
        return;
    band->at_cm1 = fit.centre + fit.scale * u;
    band->top = highest;
}
