// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Leak: light that reaches the detector without having gone through the sample, or a zero that is none.
 *
 * Method:    1. Bands that go off scale bottom out at one common T when light passes beside the pellet. A
 * false zero is one number for the whole spectrum: it is the darkest flat floor, if other flat floors share
 * it and nothing is darker. How flat a floor is, is how much wider than in a
 *            pointed band the run is in which T keeps within a tenth of its least, against the floor's walls
 *            or against the whole band. What the floors that agree exceed it by adds up to one at least, from two bands or more; two
 * unresolved bands make one flat floor at times, but seldom several at one level. T is that against the open
 * beam where it is known.
 *            2. Below the detector's cut-off there is no light: the level of a flat, dark low end of the
 *            beam, as a fraction of its maximum. What is dark is told by the reference where there is one, so
 *            that a band of the sample is not taken for it.
 *            The greater of the two. Where neither can be seen, the darkest T of the spectrum bounds what
 *            may leak, and that is enough for a pass if it is within the limit.
 * Limits:    one opaque band alone cannot tell a leak from a band that happens to end there. Bands that are
 * cut off, but not opaque, end a little above the false zero; a tenth above it they count no more. A level of
 * s of the open beam shows as s/(1+s). A leak of the sample's own beam does not show below the cut-off.
 * Source:    A' = -log10((T+s)/(1+s)), common practice; non-physical energy as ASTM E1421 means it (from
 *            memory).
 */
#include "checks/checks.h"

#include <math.h>

enum { LIMIT };

/* Levels agree within this share of the greater, or within this many of their standard deviations. Against a
 * blank that nobody saw against an open beam they do within the second: blanks slope, by 0.10 A where they
 * are just accepted, and a leak reads higher where the blank is darker. */
static const double AGREE_SHARE = 0.1, AGREE_SHARE_BLANK = 0.2, AGREE_SIGMA = 4.0;
/* How far T may rise above its least on a floor; of a band's width, what the floor's darkest place is a mean
 * over. */
static const double FLAT_RISE = 0.1, FLOOR_SHARE = 0.1;
/* Floors wider than a pointed band's by less than the first tell nothing; what they exceed it by adds up,
 * each by no more than the second since two bands that merge are flat as well, and is enough at the third:
 * two that are half as wide again, or more that are less so. */
static const double EXCESS_LEAST = 0.1, EXCESS_MOST = 0.75, EXCESS_ENOUGH = 1.0;
/* A band's floor that is as bright as half of the light beside it (A) is no plateau of stray light. */
static const double OPAQUE_LEAST = 0.3;
/* The low end (cm-1) that must be flat: its halves differ, with two standard deviations added, by less than
 * this share of the level or this share of the maximum. Light falls off faster than that at a cut-off. */
static const double DARK_END = 30.0, DARK_SHARE = 0.1, DARK_OF_MAX = 0.002;
/* A flat end above this share of the maximum is no cut-off. */
static const double DARK_LEVEL_MAX = 0.25;
#define POINTS_MIN   6
#define PLATEAUS_MAX 16

struct level {
    double t, sigma; /* of the mean */
    double at_cm1;
    double excess;    /* how much wider than a pointed band's its floor is, as a share of that */
    size_t low, high; /* the points of the floor */
};

/*
 * The T that light past the pellet adds to: against the open beam where that is known. Against a blank the
 * same leak reads higher wherever the blank itself is darker.
 */
static const double *light_of(const struct pellet_measurement *measurement)
{
    return measurement->absolute != NULL ? measurement->absolute : measurement->transmittance;
}

/* Mean of three neighbours: the floor of a band is not one point's luck. NaN beside NaN. */
static double three(const double *t, size_t i)
{
    return (t[i - 1] + t[i] + t[i + 1]) / 3.0;
}

/* The darkest place of first..last; n where there is none. The room's carbon dioxide darkens stray light too.
 */
static size_t darkest(const struct pellet_measurement *measurement, size_t first, size_t last)
{
    const double *t = light_of(measurement);
    size_t found = measurement->n;

    for (size_t i = first > 0 ? first : 1; i < last && i + 1 < measurement->n; i++) {
        if (!isnan(three(t, i)) && (measurement->mark[i] & PELLET_POINT_CO2) == 0 &&
            (found == measurement->n || three(t, i) < three(t, found)))
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

/* Sought between the half heights, where no neighbour is darker than the band; false where there is none. */
static bool find_floor(const struct pellet_measurement *measurement, const struct pellet_band *band,
                       struct floor_of_band *found)
{
    const double *t = light_of(measurement), reach = 0.5 * band->width_cm1;
    const size_t across = (size_t)(FLOOR_SHARE * band->width_cm1 / measurement->spacing);
    size_t first, last;

    *found = (struct floor_of_band){.half = across > 3 ? across / 2 : 1, .least = INFINITY};
    pellet_grid_window(pellet_measurement_grid(measurement), band->at_cm1 - reach, band->at_cm1 + reach,
                       &first, &last);
    for (size_t i = first; i < last; i++) {
        const double mean = mean_around(t, measurement->n, i, found->half);
        if (mean < found->least) {
            found->least = mean;
            found->middle = i;
        }
    }
    found->sigma = sigma_at(measurement, found->middle) / sqrt((double)(2 * found->half + 1));
    return isfinite(found->least);
}

/* The run of points around the floor whose means are not above `bound`. */
static void find_run(const struct pellet_measurement *measurement, const struct floor_of_band *at,
                     double bound, size_t *low, size_t *high)
{
    const double *t = light_of(measurement);

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
    const double *t = light_of(measurement);
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
    return width / fmin(walls, gauss);
}

/* The mean T at the floor of a band, and how flat it is; false where it is no wider than a pointed one's. */
static bool find_level(const struct pellet_measurement *measurement, const struct pellet_band *band,
                       struct level *level)
{
    const double *t = light_of(measurement);
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
    level->sigma = sigma_at(measurement, at.middle) / sqrt((double)(level->high - level->low + 1));
    level->at_cm1 = band->at_cm1;
    return true;
}

static double agree_share(const struct pellet_measurement *measurement)
{
    const bool level = measurement->absolute != NULL || measurement->basis == PELLET_AGAINST_OPEN_BEAM;

    return level ? AGREE_SHARE : AGREE_SHARE_BLANK;
}

static bool levels_agree(const struct pellet_measurement *measurement, const struct level *a,
                         const struct level *b)
{
    return fabs(a->t - b->t) <= fmax(agree_share(measurement) * fmax(fabs(a->t), fabs(b->t)),
                                     AGREE_SIGMA * hypot(a->sigma, b->sigma));
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
    const size_t i = darkest(measurement, 0, measurement->n);

    return i < measurement->n && level->t - three(light_of(measurement), i) >
                                     fmax(FLAT_RISE * fabs(level->t), AGREE_SIGMA * sigma_at(measurement, i));
}

/*
 * The darkest of the flat floors, where enough others share it; false where they do not, or where something
 * is darker. A band that is not quite opaque ends a little above.
 */
static bool find_plateau(const struct pellet_measurement *measurement, struct level *plateau)
{
    struct level levels[PLATEAUS_MAX];
    const size_t count = light_of(measurement) != NULL ? collect_levels(measurement, levels) : 0;
    double excess = 0.0;
    size_t agreeing = 0;

    if (count == 0)
        return false;
    *plateau = levels[0];
    for (size_t i = 1; i < count; i++) {
        if (levels[i].t < plateau->t)
            *plateau = levels[i];
    }
    for (size_t i = 0; i < count; i++) {
        if (levels_agree(measurement, &levels[i], plateau)) {
            excess += levels[i].excess;
            agreeing++;
        }
    }
    return agreeing >= 2 && excess >= EXCESS_ENOUGH && !is_undercut(measurement, plateau);
}

/* Mean of y[first..last) and its standard deviation. */
static double mean_of(const double *y, size_t first, size_t last, double *sigma)
{
    const double n = (double)(last - first);
    double mean = 0.0, squares = 0.0;

    for (size_t i = first; i < last; i++)
        mean += y[i] / n;
    for (size_t i = first; i < last; i++)
        squares += (y[i] - mean) * (y[i] - mean);
    *sigma = sqrt(squares / (n - 1.0) / n);
    return mean;
}

static double greatest(const double *y, size_t n)
{
    double most = NAN;

    for (size_t i = 0; i < n; i++)
        most = fmax(most, y[i]);
    return most;
}

/* The energy of a flat, dark low end as a fraction of the beam's maximum. */
static bool find_dark_end(const struct pellet_measurement *measurement, double *fraction)
{
    const double *own = measurement->single_beam;
    const double *beam = measurement->reference != NULL ? measurement->reference : own;
    const double start = measurement->n > 0 ? measurement->wavenumber[0] : NAN;
    double below, above, below_sigma, above_sigma, level, most;
    size_t first, middle, last;

    if (own == NULL)
        return false;
    pellet_grid_window(pellet_measurement_grid(measurement), start, start + DARK_END, &first, &last);
    if (last - first < POINTS_MIN)
        return false;
    middle = first + (last - first) / 2;
    most = greatest(beam, measurement->n);
    below = mean_of(beam, first, middle, &below_sigma);
    above = mean_of(beam, middle, last, &above_sigma);
    level = fabs(below + above) / 2.0;
    if (!(most > 0.0) || !(level <= DARK_LEVEL_MAX * most) ||
        !(fabs(above - below) + 2.0 * hypot(below_sigma, above_sigma) <=
          fmax(DARK_SHARE * level, DARK_OF_MAX * most)))
        return false;
    *fraction = fabs(mean_of(own, first, last, &below_sigma)) / greatest(own, measurement->n);
    return isfinite(*fraction);
}

/* Nothing to measure a false zero by: the darkest T still says how much it can be at most. */
static void judge_darkest(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                          double limit, struct pellet_finding *finding)
{
    const size_t i = light_of(measurement) != NULL ? darkest(measurement, 0, measurement->n) : measurement->n;
    double most;

    if (i == measurement->n) {
        pellet_finding_not_checked(finding, PELLET_SAYS_LEAK_UNSEEN);
        return;
    }
    most = fmax(three(light_of(measurement), i), 0.0);
    if (!isnan(measurement->sigma[i]))
        most += 3.0 * measurement->sigma[i] / sqrt(3.0);
    pellet_finding_above(finding, rule, most, limit, PELLET_SAYS_NOTHING);
    finding->at_most = true;
    finding->at_cm1 = measurement->wavenumber[i];
    if (finding->outcome == PELLET_PASS)
        finding->phrase = PELLET_SAYS_LEAK_AT_MOST;
    else
        pellet_finding_not_checked(finding, PELLET_SAYS_LEAK_UNSEEN);
}

static void run_leak(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                     struct pellet_finding *finding)
{
    const double limit = pellet_rule_quantity(rule, LIMIT);
    struct level plateau = {0};
    double dark = 0.0;
    const bool has_plateau = find_plateau(measurement, &plateau);
    const bool has_dark = find_dark_end(measurement, &dark);

    if (has_plateau && !(has_dark && dark > plateau.t)) {
        finding->at_cm1 = plateau.at_cm1;
        pellet_finding_above(finding, rule, plateau.t, limit, PELLET_SAYS_LEAK_PLATEAU);
    } else if (has_dark) {
        finding->from_cm1 = measurement->wavenumber[0];
        finding->to_cm1 = measurement->wavenumber[0] + DARK_END;
        pellet_finding_above(finding, rule, dark, limit, PELLET_SAYS_LEAK_BELOW_CUTOFF);
    } else {
        judge_darkest(measurement, rule, limit, finding);
    }
    if (pellet_finding_refuses(finding))
        pellet_finding_distrust(finding, 0.0, INFINITY);
}

const struct pellet_check pellet_check_leak = {
    .id = "leak",
    .bench_word = PELLET_BENCH_LEAK,
    .quantity = "false_zero",
    .unit = PELLET_UNIT_NONE,
    .outcome = PELLET_RESCAN,
    .roles = PELLET_FOR(PELLET_SAMPLE) | PELLET_FOR(PELLET_BLANK) | PELLET_FOR(PELLET_OPEN_BEAM),
    .stage = PELLET_STAGE_TRUST,
    .meaning = "light that reaches the detector past the sample, as a fraction of full light",
    .source = "stray light by a level that opaque bands share and by non-physical energy, as ASTM E1421 "
              "describes them",
    .parameter =
        {
            PELLET_QUANTITY("limit", NONE, 0.02, 0.0001, 0.5, "highest false zero, a fraction of full light"),
        },
    .run = run_leak,
};
