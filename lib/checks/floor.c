// SPDX-License-Identifier: GPL-3.0-or-later
/* The level at which bands that go off scale bottom out together. */
#include "checks/floor.h"

#include "checks/view.h"

#include <math.h>

/*
 * Levels agree within this share of the greater, or within this many of their standard deviations: a band of
 * which a quarter of the false zero still gets through is hardly a floor. Blanks slope, by 0.10 A where they
 * are just accepted, and a leak reads higher where the blank is darker: that much as well.
 */
static const double AGREE_SHARE = 0.2, AGREE_SIGMA = 4.0;
/* Two levels cannot be told to be closer than this share of them: the open beam's own slow drift; against a
 * blank that nobody saw against an open beam its slope, as it mostly is. */
static const double CLOSEST = 0.005, CLOSEST_BLANK = 0.1;
/* How far T may rise above its least on a floor; of a band's width, what the floor's darkest place is a mean
 * over, and what at most where three standard deviations of that mean are more than the rise. */
static const double FLAT_RISE = 0.1, FLOOR_SHARE = 0.1, FLOOR_SHARE_MOST = 0.2;
/*
 * Floors wider than a pointed band's by less than the first tell nothing; what they exceed it by adds up,
 * each by no more than the second since two bands that merge are flat as well. Of bands without stray light
 * every tenth exceeds it by the first, and e times fewer by each EXCESS_FOLD more. A false zero s crowds the
 * levels of opaque bands together: those of T + s lie (T + s)/T times as dense as without it (algebra), so
 * that two levels as close as s + T and s are that much likelier with it. Both together, in units of excess,
 * are enough at the last. Bands of half an absorbance are common and two of one height no wonder, while more
 * than USUAL of the light seldom leaks: closeness counts for less above it.
 */
static const double EXCESS_LEAST = 0.1, EXCESS_MOST = 0.75, EXCESS_FOLD = 0.21, EXCESS_ENOUGH = 1.5;
static const double USUAL = 0.1;
/* A band's floor that is as bright as half of the light beside it (A) is no plateau of stray light. */
static const double OPAQUE_LEAST = 0.3;
/* How often a file that states no resolution is taken to be zero-filled: as is common practice. */
static const double FILLED_UNSTATED = 2.0;
#define PLATEAUS_MAX 16

struct level {
    double t, sigma; /* of the mean */
    double at_cm1;
    double excess;    /* how much wider than a pointed band's its floor is, as a share of that */
    size_t low, high; /* the points of the floor */
};

const double *checks_light(const struct pellet_measurement *measurement)
{
    return measurement->absolute != NULL ? measurement->absolute : measurement->transmittance;
}

double checks_three_points(const double *t, size_t i)
{
    return (t[i - 1] + t[i] + t[i + 1]) / 3.0;
}

size_t checks_darkest(const struct pellet_measurement *measurement, size_t first, size_t last)
{
    const double *t = checks_light(measurement);
    size_t found = measurement->n;

    for (size_t i = first > 0 ? first : 1; i < last && i + 1 < measurement->n; i++) {
        if (!isnan(checks_three_points(t, i)) && (measurement->mark[i] & PELLET_POINT_CO2) == 0 &&
            (found == measurement->n || checks_three_points(t, i) < checks_three_points(t, found)))
            found = i;
    }
    return found;
}

/* Mean of T over `half` points to each side, within the grid; NaN beside NaN. */
static double mean_around(const double *t, size_t n, size_t i, size_t half)
{
    const size_t first = i > half ? i - half : 0, last = i + half < n ? i + half : n - 1;
    double sum = 0.0;

    for (size_t k = first; k <= last; k++)
        sum += t[k];
    return sum / (double)(last - first + 1);
}

/* The floor of one band: its darkest place in means of 2 half + 1 points, and the noise of such a mean. */
struct floor_of_band {
    size_t half, middle;
    double least, sigma;
};

static double sigma_at(const struct pellet_measurement *measurement, size_t i)
{
    return isnan(measurement->sigma[i]) ? 0.0 : measurement->sigma[i];
}

/* 1 sigma of the mean of n neighbouring points: after zero-filling z times only n/z of them are
 * independent. */
static double sigma_of_mean(const struct pellet_measurement *measurement, size_t i, size_t n)
{
    return sigma_at(measurement, i) *
           fmin(1.0, sqrt(checks_filled_times(measurement, FILLED_UNSTATED) / (double)n));
}

/* Half of the points in a share of a band's width, one at least. */
static size_t half_of(const struct pellet_measurement *measurement, const struct pellet_band *band,
                      double share)
{
    const size_t across = (size_t)(share * band->width_cm1 / measurement->spacing);

    return across > 3 ? across / 2 : 1;
}

/* Sought between the half heights, where no neighbour is darker than the band. */
static void find_darkest_mean(const struct pellet_measurement *measurement, const struct pellet_band *band,
                              size_t half, struct floor_of_band *found)
{
    const double *t = checks_light(measurement), reach = 0.5 * band->width_cm1;
    size_t first, last;

    *found = (struct floor_of_band){.half = half, .least = INFINITY};
    pellet_grid_window(pellet_measurement_grid(measurement), band->at_cm1 - reach, band->at_cm1 + reach,
                       &first, &last);
    for (size_t i = first; i < last; i++) {
        const double mean = mean_around(t, measurement->n, i, found->half);
        if (mean < found->least && (measurement->mark[i] & PELLET_POINT_CO2) == 0) {
            found->least = mean;
            found->middle = i;
        }
    }
    found->sigma = sigma_of_mean(measurement, found->middle, 2 * half + 1);
}

/* The run of points around the floor whose means are not above `bound`. */
static void find_run(const struct pellet_measurement *measurement, const struct floor_of_band *at,
                     double bound, size_t *low, size_t *high)
{
    const double *t = checks_light(measurement);

    *low = *high = at->middle;
    while (*low > 0 && mean_around(t, measurement->n, *low - 1, at->half) <= bound)
        (*low)--;
    while (*high + 1 < measurement->n && mean_around(t, measurement->n, *high + 1, at->half) <= bound)
        (*high)++;
}

/* How much of the step from the last point of a run to the first beyond it is below `bound`. */
static double part_of_step(const struct pellet_measurement *measurement, const struct floor_of_band *at,
                           size_t inside, size_t outside, double bound)
{
    const double *t = checks_light(measurement);
    const double in = mean_around(t, measurement->n, inside, at->half);
    const double out = mean_around(t, measurement->n, outside, at->half);

    return out > bound ? measurement->spacing * (bound - in) / (out - in) : 0.0;
}

/* How wide (cm-1) the floor is up to `bound`, between the points. */
static double run_width(const struct pellet_measurement *measurement, const struct floor_of_band *at,
                        double bound)
{
    size_t low, high;

    find_run(measurement, at, bound, &low, &high);
    double width = measurement->wavenumber[high] - measurement->wavenumber[low];

    if (low > 0)
        width += part_of_step(measurement, at, low, low - 1, bound);
    if (high + 1 < measurement->n)
        width += part_of_step(measurement, at, high, high + 1, bound);
    return width;
}

/* The T up to which a floor reaches: within `share` of its least, or within noise. */
static double rim_of(const struct floor_of_band *at, double share)
{
    return at->least + fmax(share * fabs(at->least), 3.0 * at->sigma);
}

/*
 * The darkest place of a band; false where there is none. Of n independent means of one level the least lies
 * about sigma sqrt(2 ln n) below it (extreme values): that much of its depth is luck.
 */
static bool find_floor(const struct pellet_measurement *measurement, const struct pellet_band *band,
                       struct floor_of_band *found)
{
    size_t low, high;

    find_darkest_mean(measurement, band, half_of(measurement, band, FLOOR_SHARE), found);
    if (3.0 * found->sigma > FLAT_RISE * found->least)
        find_darkest_mean(measurement, band, half_of(measurement, band, FLOOR_SHARE_MOST), found);
    if (!isfinite(found->least))
        return false;
    find_run(measurement, found, rim_of(found, 0.0), &low, &high);
    const double means = (double)(high - low + 1) / (double)(2 * found->half + 1);
    found->least += found->sigma * sqrt(2.0 * log(fmax(means, 1.0)));
    return true;
}

/*
 * How much wider than that of a pointed band a floor is up to its rim, in two ways, each of which errs to the
 * low side where bands have merged; the greater counts. Against the width up to twice the rim: near its top a
 * band is a parabola in A, and further down, Gauss or Lorentz, wider than that. And against the width of the
 * band: a Gauss curve of height h and full width w stays within r of its top over w sqrt(ln(h/(h-r))/ln 2), a
 * Lorentz curve over less.
 */
static double flatness(const struct pellet_measurement *measurement, const struct pellet_band *band,
                       const struct floor_of_band *at)
{
    const double rim = rim_of(at, FLAT_RISE), wall = 2.0 * rim;

    if (!(at->least > 0.0)) /* no light at all: flat at a true zero */
        return INFINITY;
    const double width = run_width(measurement, at, rim), rise = log10(rim / at->least);
    const double walls = run_width(measurement, at, wall) * sqrt(rise / log10(wall / at->least));
    const double gauss = rise < band->height
                             ? band->width_cm1 * sqrt(log(band->height / (band->height - rise)) / M_LN2)
                             : INFINITY;
    const double pointed = fmin(walls, gauss);
    return pointed > 0.0 ? width / pointed : 0.0;
}

/* The mean T at the floor of a band, and how flat it is; false where it is no wider than a pointed one's. */
static bool find_level(const struct pellet_measurement *measurement, const struct pellet_band *band,
                       struct level *level)
{
    const double *t = checks_light(measurement);
    struct floor_of_band at;
    double sum = 0.0;

    if (!(band->height >= OPAQUE_LEAST) || !find_floor(measurement, band, &at))
        return false;
    level->excess = fmin(flatness(measurement, band, &at) - 1.0, EXCESS_MOST);
    if (!(level->excess >= EXCESS_LEAST))
        return false;
    find_run(measurement, &at, rim_of(&at, FLAT_RISE / 2.0), &level->low, &level->high);
    for (size_t i = level->low; i <= level->high; i++)
        sum += t[i];
    level->t = sum / (double)(level->high - level->low + 1);
    level->sigma = sigma_of_mean(measurement, at.middle, level->high - level->low + 1);
    level->at_cm1 = band->at_cm1;
    return true;
}

static bool levels_agree(const struct level *a, const struct level *b)
{
    return fabs(a->t - b->t) <=
           fmax(AGREE_SHARE * fmax(fabs(a->t), fabs(b->t)), AGREE_SIGMA * hypot(a->sigma, b->sigma));
}

/* What the closeness of a level to the darkest is worth, as an excess. */
static double closeness(const struct pellet_measurement *measurement, const struct level *level,
                        const struct level *darkest)
{
    const bool level_light = measurement->absolute != NULL || measurement->basis == PELLET_AGAINST_OPEN_BEAM;
    const double noise = hypot(level->sigma, darkest->sigma);
    const double apart = fmax(fabs(level->t - darkest->t), noise) / fabs(darkest->t);

    return EXCESS_FOLD * log(1.0 + 1.0 / fmax(apart, level_light ? CLOSEST : CLOSEST_BLANK)) *
           fmin(1.0, USUAL / fabs(darkest->t));
}

/* Whether a floor is that of a band which has been counted: of two that have merged. */
static bool is_counted(const struct level *levels, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (levels[count].low <= levels[i].high && levels[i].low <= levels[count].high)
            return true;
    }
    return false;
}

static size_t collect_levels(const struct pellet_measurement *measurement, struct level *levels)
{
    size_t count = 0;

    for (size_t i = 0; i < measurement->band_count && count < PLATEAUS_MAX; i++) {
        const struct pellet_band *band = &measurement->band[i];
        if (band->kind != PELLET_BAND_VAPOUR && band->kind != PELLET_BAND_CO2 &&
            find_level(measurement, band, &levels[count]) && !is_counted(levels, count))
            count++;
    }
    return count;
}

/* Whether some place is darker than the level, so that it cannot be a false zero. */
static bool is_undercut(const struct pellet_measurement *measurement, const struct level *level)
{
    const size_t i = checks_darkest(measurement, 0, measurement->n);

    return i < measurement->n && level->t - checks_three_points(checks_light(measurement), i) >
                                     fmax(FLAT_RISE * fabs(level->t), AGREE_SIGMA * sigma_at(measurement, i));
}

/* Whether the floors that agree with the darkest, two at least, are flat and close enough together. */
static bool is_common(const struct pellet_measurement *measurement, const struct level *levels, size_t count,
                      const struct level *darkest)
{
    double excess = 0.0, closest = 0.0;
    size_t agreeing = 0;

    for (size_t i = 0; i < count; i++) {
        if (!levels_agree(&levels[i], darkest))
            continue;
        agreeing++;
        excess += levels[i].excess;
        if (&levels[i] != darkest)
            closest = fmax(closest, closeness(measurement, &levels[i], darkest));
    }
    return agreeing >= 2 && excess + closest >= EXCESS_ENOUGH;
}

bool checks_common_floor(const struct pellet_measurement *measurement, double *t, double *at_cm1)
{
    struct level levels[PLATEAUS_MAX];
    const size_t count = checks_light(measurement) != NULL ? collect_levels(measurement, levels) : 0;
    const struct level *darkest = &levels[0];

    if (count == 0)
        return false;
    for (size_t i = 1; i < count; i++) {
        if (levels[i].t < darkest->t)
            darkest = &levels[i];
    }
    *t = darkest->t;
    *at_cm1 = darkest->at_cm1;
    return is_common(measurement, levels, count, darkest) && !is_undercut(measurement, darkest);
}
