// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/band.h"

#include <math.h>

#include "signal/least.h"
#include "signal/top.h"

/* The feet are looked for within this many full widths of the top (design: band height). */
static const double FEET_WIDTHS = 3;
/* Noise of so many standard deviations is not taken for a foot: hardly one of a thousand points is as far
 * off. */
static const double FOOT_SIGMAS = 4;
/* Feet and width depend on each other; this often they are found in turn. */
static const size_t TURNS = 4;
/* A level top is not looked for below this absorbance: it would take more than 10 % of false light, while two
 * bands that overlap make one at any height. */
static const double FLAT_ABSORBANCE = 1.0;
/* nor on a band lower than this: false light would have to be nearly half of what passes beside the band. */
static const double FLAT_HEIGHT = 0.5;
/* The middle of the band, as a share of its width to each side, in which a saturated top is level, */
static const double FLAT_REACH = 0.15;
/* does not slope from the centre to there by more than this share of the height (two bands that overlap
 * do), */
static const double FLAT_SLOPE = 0.01;
/* where it is as high as the band's top, within this many sigma of a point beside that share, */
static const double FLAT_SIGMAS = 3;
/* and where the curvature is below this share of what a Gaussian of that height and width has. */
static const double FLAT_CURVATURE = 0.35;

/* How high a point can be above the baseline, in view of its noise. */
static double at_most(const struct signal_curve *curve, size_t i)
{
    return curve->smooth[i] - curve->baseline[i] + FOOT_SIGMAS * curve->smooth_share * curve->sigma[i];
}

/* The lowest point over the baseline from `from` to `to`, in either direction: where it is so for sure, not
 * where noise dips. */
static size_t lowest(const struct signal_curve *curve, size_t from, size_t to)
{
    const size_t first = from < to ? from : to, last = from < to ? to : from;
    double least = HUGE_VAL;
    size_t best = from;

    for (size_t i = first; i <= last; i++) {
        const double value = at_most(curve, i);

        if (value < least) {
            least = value;
            best = i;
        }
    }
    return best;
}

/* The last point from `top` towards `bound` that is no further away than `reach`. */
static size_t within(const struct signal_curve *curve, size_t top, size_t bound, double reach)
{
    const double *x = curve->grid.wavenumber;
    size_t i = top;

    while (i != bound) {
        const size_t next = bound < top ? i - 1 : i + 1;

        if (fabs(x[next] - x[top]) > reach)
            break;
        i = next;
    }
    return i;
}

static void draw_chord(const struct signal_curve *curve, struct signal_shape *shape)
{
    const double *x = curve->grid.wavenumber;

    shape->left_level = curve->smooth[shape->left];
    shape->slope =
        (curve->smooth[shape->right] - curve->smooth[shape->left]) / (x[shape->right] - x[shape->left]);
    shape->height = curve->smooth[shape->top] - signal_chord_at(curve, shape, shape->top);
}

/* Where the curve above the chord falls to `level` on the way from the top to `foot`. */
static double crossing(const struct signal_curve *curve, const struct signal_shape *shape, size_t foot,
                       double level)
{
    const double *x = curve->grid.wavenumber;
    double above = curve->smooth[shape->top] - signal_chord_at(curve, shape, shape->top);

    for (size_t i = shape->top; i != foot;) {
        const size_t next = foot < shape->top ? i - 1 : i + 1;
        const double value = curve->smooth[next] - signal_chord_at(curve, shape, next);

        if (value <= level)
            return x[i] + (x[next] - x[i]) * (above - level) / fmax(above - value, 1e-300);
        above = value;
        i = next;
    }
    return x[foot];
}

/* Feet, chord and half widths in turn, starting from the maximum's own prominence. */
static bool find_feet(const struct signal_curve *curve, const struct signal_maximum *maximum,
                      struct signal_shape *shape)
{
    const double *x = curve->grid.wavenumber;

    shape->top = maximum->at;
    shape->left = lowest(curve, maximum->at, maximum->left);
    shape->right = lowest(curve, maximum->at, maximum->right);
    for (size_t turn = 0; turn < TURNS; turn++) {
        double width;

        if (shape->left == shape->top || shape->right == shape->top)
            return false;
        draw_chord(curve, shape);
        if (!(shape->height > 0))
            return false;
        shape->low_half = crossing(curve, shape, shape->left, shape->height / 2);
        shape->high_half = crossing(curve, shape, shape->right, shape->height / 2);
        width = fmax(shape->high_half - shape->low_half, pellet_grid_spacing(curve->grid));
        shape->left =
            lowest(curve, shape->top, within(curve, shape->top, maximum->left, FEET_WIDTHS * width));
        shape->right =
            lowest(curve, shape->top, within(curve, shape->top, maximum->right, FEET_WIDTHS * width));
    }
    return x[shape->left] < x[shape->top] && x[shape->top] < x[shape->right];
}

/*
 * Several points at one level with steeper flanks. A top cut off by false light is far less curved in its
 * middle than a band of that height and width can be; the curvature's own uncertainty must not hide it.
 */
static bool is_flat(const struct signal_curve *curve, const struct signal_shape *shape, double top)
{
    const double *x = curve->grid.wavenumber;
    const double width = shape->high_half - shape->low_half;
    const double centre = (crossing(curve, shape, shape->left, 0.8 * shape->height) +
                           crossing(curve, shape, shape->right, 0.8 * shape->height)) /
                          2;
    /* h exp(-4 ln 2 (nu/w)^2) bends by 4 ln 2 h / w^2. */
    const double expected = 4 * M_LN2 * shape->height / (width * width);
    struct signal_least sums;
    double c[3], inverse[9], noise = 0, ssr;
    size_t n = 0;

    if (top < FLAT_ABSORBANCE || shape->height < FLAT_HEIGHT)
        return false;
    signal_least_start(&sums, 3);
    for (size_t i = shape->left; i <= shape->right; i++) {
        const double u = (x[i] - centre) / (FLAT_REACH * width);
        const double row[3] = {1, u, u * u};

        if (fabs(u) > 1 || (curve->lower_bound != NULL && curve->lower_bound[i]))
            continue;
        signal_least_add(&sums, row, curve->y[i], 1);
        noise = fmax(noise, curve->sigma[i]);
        n++;
    }
    if (n < 4 || signal_least_solve(&sums, c, inverse, &ssr) != PELLET_OK)
        return false;
    if (fabs(c[1]) > FLAT_SLOPE * shape->height + 2 * noise * sqrt(inverse[4]))
        return false;
    /* Nor is the middle of a group of bands, lower than the highest of them. */
    if (c[0] < top - FLAT_SLOPE * shape->height - FLAT_SIGMAS * noise)
        return false;
    c[2] /= pow(FLAT_REACH * width, 2);
    noise *= sqrt(inverse[8]) / pow(FLAT_REACH * width, 2);
    return -c[2] + 2 * noise < FLAT_CURVATURE * expected;
}

static bool any_lower_bound(const struct signal_curve *curve, size_t first, size_t last)
{
    for (size_t i = first; curve->lower_bound != NULL && i <= last; i++) {
        if (curve->lower_bound[i])
            return true;
    }
    return false;
}

/* A level top is no polynomial: its place is halfway between the flanks, its height that of the curve. */
static void take_level_top(const struct signal_curve *curve, const struct signal_shape *shape,
                           struct pellet_band *band)
{
    band->at_cm1 = (crossing(curve, shape, shape->left, 0.75 * shape->height) +
                    crossing(curve, shape, shape->right, 0.75 * shape->height)) /
                   2;
    band->height = shape->height;
    band->top = curve->smooth[shape->top];
}

bool signal_band_measure(const struct signal_curve *curve, const struct signal_maximum *maximum,
                         struct pellet_band *band)
{
    struct signal_shape shape = {0};
    size_t first, last;

    if (!find_feet(curve, maximum, &shape))
        return false;
    *band = (struct pellet_band){.kind = PELLET_BAND_SAMPLE};
    signal_top_fit(curve, &shape, band);
    signal_upper_part(curve, &shape, 0.9, &first, &last);
    band->width_cm1 = shape.high_half - shape.low_half;
    band->low_cm1 = curve->grid.wavenumber[shape.left];
    band->high_cm1 = curve->grid.wavenumber[shape.right];
    band->at_least = any_lower_bound(curve, first, last);
    band->flat_top = is_flat(curve, &shape, band->top);
    if (band->flat_top || band->at_least)
        take_level_top(curve, &shape, band);
    return true;
}
