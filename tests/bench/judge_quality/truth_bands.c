// SPDX-License-Identifier: GPL-3.0-or-later
/* What is read of the sample's bands: tops, heights, skews. */
#include "truths.h"

#include <math.h>
#include <stdlib.h>

double bench_seen_width(const struct bench_case *of, double width_cm1)
{
    return hypot(width_cm1, 0.9 * of->beam.resolution_cm1);
}

/* The top of the parabola through a highest point and its neighbours: the clean grid's own spacing is half of
 * the finest file's, too coarse to hold places of a fifth of that against. */
static double parabola_top(const struct bench_clean *clean, size_t peak)
{
    const double *a = clean->absorbance, step = clean->wavenumber[1] - clean->wavenumber[0];
    const double bend = peak > 0 && peak + 1 < clean->n ? a[peak - 1] - 2.0 * a[peak] + a[peak + 1] : 0.0;
    const double shift = bend < 0.0 ? 0.5 * (a[peak - 1] - a[peak + 1]) / bend : 0.0;
    return clean->wavenumber[peak] + step * fmin(0.5, fmax(-0.5, shift));
}

/* How far a curve stays above half of its height over a chord, on both sides of the peak together. */
static double width_at_half(const struct bench_clean *clean, size_t left, size_t peak, size_t right)
{
    const double *a = clean->absorbance, step = clean->wavenumber[1] - clean->wavenumber[0];
    const double slope = (a[right] - a[left]) / (double)(right - left);
    const double half = 0.5 * (a[peak] - a[left] - slope * (double)(peak - left));
    size_t low = peak, high = peak;
    while (low > left && a[low] - a[left] - slope * (double)(low - left) > half)
        low--;
    while (high < right && a[high] - a[left] - slope * (double)(high - left) > half)
        high++;
    return step * (double)(high - low);
}

bool bench_read_band(const struct bench_case *of, const struct bench_clean *clean,
                     const struct pellet_synth_band *band, struct bench_reading *reading)
{
    const double *a = clean->absorbance, w = bench_seen_width(of, band->width_cm1);
    if (band->at_cm1 - w < clean->wavenumber[0] || band->at_cm1 + w > clean->wavenumber[clean->n - 1])
        return false;
    size_t peak = bench_clean_index(clean, band->at_cm1), left, right;
    const size_t low = bench_clean_index(clean, band->at_cm1 - 0.5 * w),
                 high = bench_clean_index(clean, band->at_cm1 + 0.5 * w);
    for (size_t i = low; i <= high; i++)
        peak = a[i] > a[peak] ? i : peak;
    left = right = peak;
    for (size_t i = bench_clean_index(clean, clean->wavenumber[peak] - 3.0 * w); i <= peak; i++)
        left = a[i] < a[left] ? i : left;
    for (size_t i = peak; i <= bench_clean_index(clean, clean->wavenumber[peak] + 3.0 * w); i++)
        right = a[i] < a[right] ? i : right;
    if (left == peak || right == peak)
        return false;
    const double share = (double)(peak - left) / (double)(right - left);
    *reading = (struct bench_reading){a[peak], a[peak] - (a[left] + share * (a[right] - a[left])),
                                      parabola_top(clean, peak), width_at_half(clean, left, peak, right)};
    return true;
}

/*
 * Whether coarse grains have turned the compound's strongest band into a slope, its highest place more than
 * half a width from its own. Its height is then that of another shape, which no one band's width describes.
 */
static bool is_turned(const struct bench_case *of, const struct pellet_synth_compound *compound,
                      const struct bench_clean *clean)
{
    const struct pellet_synth_band *most = &compound->band[0];
    for (size_t i = 1; i < compound->band_count; i++)
        most = compound->band[i].absorptivity > most->absorptivity ? &compound->band[i] : most;
    const double half = 0.5 * bench_seen_width(of, most->width_cm1);
    const size_t low = bench_clean_index(clean, most->at_cm1 - half),
                 high = bench_clean_index(clean, most->at_cm1 + half);
    size_t peak = low;
    for (size_t i = low; i <= high; i++)
        peak = clean->absorbance[i] > clean->absorbance[peak] ? i : peak;
    return low > 0 && (peak == low || peak == high);
}

struct bench_reading bench_strongest_band(const struct bench_case *of,
                                          const struct pellet_synth_compound *compound,
                                          const struct bench_clean *clean)
{
    struct bench_reading best = {(double)NAN, (double)NAN, (double)NAN, (double)NAN};
    if (is_turned(of, compound, clean))
        return best;
    for (size_t i = 0; i < compound->band_count; i++) {
        struct bench_reading reading;
        if (bench_read_band(of, clean, &compound->band[i], &reading) && !(reading.height <= best.height))
            best = reading;
    }
    return best;
}

/* ---------------------------------------------------------------- skew */

/* What a fit may leave, rms as a share of a, and still describe the band. */
#define REST_SHARE 0.05
/* A fit that leaves the band's own place (in widths) and width (a factor) describes something else: for a
 * band that is nearly all dispersion there is one without end. */
#define MOVE    0.5
#define STRETCH 3.0
/* The fit's window, full widths to each side: wide enough for both flanks, too narrow for much else. It
 * follows the shape until that stays within this share of gamma. */
#define FIT_WIDTHS 1.5
#define TURNS      20
#define AT_REST    0.01

/* Solve the 4 x 4 normal equations, right-hand side in column 4. */
static void solve4(double m[4][5])
{
    for (int p = 0; p < 4; p++) {
        for (int r = 0; r < 4; r++) {
            const double factor = r == p ? 0.0 : m[r][p] / m[p][p];
            for (int k = p; k < 5; k++)
                m[r][k] -= factor * m[p][k];
        }
    }
}

struct window {
    size_t first, last;
};

/* (a + d x)/(1 + x^2), x = (nu - at)/gamma; skew is -d/a. */
struct shape {
    double a, skew, at, gamma;
    double level, slope; /* of the line, at `at` and for each x */
    double beyond;       /* rms of what is left just outside the window, on the worse side */
};

/* Least squares of a, d and a line at the shape's place and width; returns the sum of squares left. */
static double fit_linear(const struct bench_clean *clean, struct window window, struct shape *shape)
{
    double m[4][5] = {{0}}, squares = 0.0, left = 0.0;
    for (size_t i = window.first; i <= window.last; i++) {
        const double x = (clean->wavenumber[i] - shape->at) / shape->gamma, y = clean->absorbance[i];
        const double f[5] = {1.0 / (1.0 + x * x), x / (1.0 + x * x), 1.0, x, y};
        squares += y * y;
        for (int r = 0; r < 4; r++)
            for (int k = 0; k < 5; k++)
                m[r][k] += f[r] * f[k];
    }
    double side[4];
    for (int r = 0; r < 4; r++)
        side[r] = m[r][4];
    solve4(m);
    for (int r = 0; r < 4; r++)
        left += side[r] * m[r][4] / m[r][r];
    shape->a = m[0][4] / m[0][0];
    shape->skew = -m[1][4] / m[1][1] / shape->a;
    shape->level = m[2][4] / m[2][2];
    shape->slope = m[3][4] / m[3][3];
    return shape->a > 0.0 ? squares - left : (double)INFINITY;
}

/* Centre and width free, within one window: a search that halves its steps when none of them helps. */
static double fit_in(const struct bench_clean *clean, struct window window, struct shape *shape)
{
    const double start = shape->at, w = 2.0 * shape->gamma;
    double step = 0.1, best = fit_linear(clean, window, shape);
    while (step > 5e-4) {
        bool helped = false;
        for (int k = 0; k < 4; k++) {
            struct shape tried = *shape;
            tried.at += (k == 0 ? step : k == 1 ? -step : 0.0) * w;
            tried.gamma *= 1.0 + (k == 2 ? step : k == 3 ? -step : 0.0);
            const double squares = fit_linear(clean, window, &tried);
            if (squares < best && fabs(tried.at - start) < MOVE * w && tried.gamma > 0.5 * w / STRETCH &&
                tried.gamma < 0.5 * w * STRETCH) {
                best = squares;
                *shape = tried;
                helped = true;
            }
        }
        step *= helped ? 1.0 : 0.5;
    }
    return best;
}

/* Rms of what a shape leaves from one place to another, in gammas from its own. */
static double rest_in(const struct bench_clean *clean, const struct shape *shape, double from, double to)
{
    const size_t first = bench_clean_index(clean, shape->at + from * shape->gamma),
                 last = bench_clean_index(clean, shape->at + to * shape->gamma);
    double squares = 0.0;
    for (size_t i = first; i <= last; i++) {
        const double x = (clean->wavenumber[i] - shape->at) / shape->gamma;
        const double curve = shape->a * (1.0 - shape->skew * x) / (1.0 + x * x);
        squares += pow(clean->absorbance[i] - curve - shape->level - shape->slope * x, 2.0);
    }
    return sqrt(squares / (double)(last - first + 1));
}

/*
 * The shape whose own window, FIT_WIDTHS of its widths to each side of its centre, gives it back: as
 * pellet/signal.h defines it. False where there is none, where it is at no rest near the band's own place and
 * width, or where it does not describe the band.
 */
static bool band_shape(const struct bench_case *of, const struct bench_clean *clean,
                       const struct pellet_synth_band *band, struct shape *shape)
{
    const double w = bench_seen_width(of, band->width_cm1);
    *shape = (struct shape){.at = band->at_cm1, .gamma = 0.5 * w};
    for (int turn = 0; turn < TURNS; turn++) {
        const struct shape before = *shape;
        const double half = FIT_WIDTHS * 2.0 * shape->gamma;
        if (shape->at - half < clean->wavenumber[0] || shape->at + half > clean->wavenumber[clean->n - 1])
            return false;
        const struct window window = {bench_clean_index(clean, shape->at - half),
                                      bench_clean_index(clean, shape->at + half)};
        const double left = fit_in(clean, window, shape), n = (double)(window.last - window.first + 1);
        if (fabs(shape->at - band->at_cm1) > MOVE * w || shape->gamma < 0.5 * w / STRETCH ||
            shape->gamma > 0.5 * w * STRETCH)
            return false;
        shape->beyond = fmax(rest_in(clean, shape, -8.0 / 3.0 * FIT_WIDTHS, -2.0 * FIT_WIDTHS),
                             rest_in(clean, shape, 2.0 * FIT_WIDTHS, 8.0 / 3.0 * FIT_WIDTHS));
        if (fabs(shape->at - before.at) + fabs(shape->gamma - before.gamma) < AT_REST * shape->gamma)
            return sqrt(fmax(left, 0.0) / n) < REST_SHARE * shape->a;
    }
    return false;
}

/*
 * What counts: as high as the rule wants, narrow as bands without hydrogen bonds are, three points wide, and
 * alone: carried on by a third of its window to either side, the fit still holds to a tenth of a.
 */
#define LOWEST       0.2
#define HIGHEST      1.2
#define WIDEST       60.0
#define WIDTH_POINTS 3.0
#define BESIDE_MOST  0.1

static bool counts(const struct bench_case *of, const struct shape *shape)
{
    const double width = 2.0 * shape->gamma;
    return shape->a >= LOWEST && shape->a <= HIGHEST && width <= WIDEST &&
           width >= WIDTH_POINTS * of->beam.spacing_cm1 && shape->beyond < BESIDE_MOST * shape->a;
}

/* Whether two bands have one top: nobody can tell them apart in this spectrum. */
static bool is_one_top(const struct bench_case *of, const struct bench_reading *one,
                       const struct bench_reading *other)
{
    return fabs(one->at_cm1 - other->at_cm1) < of->beam.spacing_cm1;
}

/* Whether a band's top is that of one before it in the list. */
static bool is_listed(const struct bench_case *of, const struct bench_clean *clean, size_t band,
                      const struct bench_reading *own)
{
    for (size_t i = 0; i < band; i++) {
        struct bench_reading other;
        if (bench_read_band(of, clean, &of->compound.band[i], &other) && is_one_top(of, own, &other))
            return true;
    }
    return false;
}

static int by_value(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

struct bench_skew bench_skew_find(const struct bench_case *of, const struct bench_clean *clean)
{
    struct bench_skew found = {0, 0, (double)NAN};
    double skew[PELLET_SYNTH_BANDS_MAX];
    for (size_t i = 0; i < of->compound.band_count; i++) {
        const struct pellet_synth_band *band = &of->compound.band[i];
        struct bench_reading own;
        struct shape shape;
        if (!bench_read_band(of, clean, band, &own) || is_listed(of, clean, i, &own) ||
            !band_shape(of, clean, band, &shape) || !counts(of, &shape))
            continue;
        skew[found.bands++] = shape.skew;
    }
    if (found.bands == 0)
        return found;
    qsort(skew, found.bands, sizeof skew[0], by_value);
    found.median = 0.5 * (skew[(found.bands - 1) / 2] + skew[found.bands / 2]);
    for (size_t i = 0; i < found.bands; i++)
        found.agreeing += fabs(skew[i] - found.median) <= 0.5 * fabs(found.median);
    return found;
}
