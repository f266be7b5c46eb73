// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Wavenumber: whether the scale is right, by the bands of a polystyrene film.
 *
 * Method:    for each band of the list, the highest point of A within SEARCH of its place; its feet are the
 *            lowest points on either side within REACH, short of any higher band; the band's position is the
 *            centroid of the part of it above half its height over the chord between the feet, on a spline
 *            of the points. The value is the error, measured less listed, that uses up most of its tolerance.
 * Limits:    a scale that is off by more than SEARCH is not followed; a band whose top is off scale, that
 *            stands below 5 sigma or below HEIGHT_MIN, or of which less than half shows, is left out. Three
 *            bands at least.
 * Source:    centroid of the upper half: C. Zhu, L. M. Hanssen (1998), abstract read; list and tolerances as
 *            pellet/reference.h says.
 */
#include "checks/checks.h"
#include "pellet/reference.h"

#include <math.h>

enum { ABOVE_1900, BELOW_1900 };

static const double SEARCH = 8.0, REACH = 20.0;
static const double STEP = 0.1;
static const double HEIGHT_MIN = 0.01, SIGNIFICANT = 5.0;
static const double PARTING = 1900.0;
#define BANDS_MIN 3
/* SEARCH and REACH to both sides in STEPs. */
#define FINE_MAX 641

/* The surroundings of one band on an even, fine grid. */
struct fine {
    size_t n;
    double wavenumber[FINE_MAX];
    double a[FINE_MAX];
};

static pellet_status make_fine(const struct pellet_measurement *measurement, double at, struct fine *fine)
{
    const double half = SEARCH + REACH;

    fine->n = (size_t)lround(2.0 * half / STEP) + 1;
    for (size_t i = 0; i < fine->n; i++)
        fine->wavenumber[i] = at - half + STEP * (double)i;
    return pellet_grid_resample(pellet_measurement_grid(measurement), measurement->absorbance,
                                (struct pellet_grid){fine->n, fine->wavenumber}, fine->a);
}

/* The highest point within SEARCH of the middle that is higher than both neighbours; n where there
 * is none. */
static size_t find_top(const struct fine *fine)
{
    const size_t middle = fine->n / 2, half = (size_t)lround(SEARCH / STEP);
    size_t top = fine->n;

    for (size_t i = middle - half; i <= middle + half; i++) {
        if (fine->a[i] >= fine->a[i - 1] && fine->a[i] > fine->a[i + 1] &&
            (top == fine->n || fine->a[i] > fine->a[top]))
            top = i;
    }
    return top;
}

/* The lowest point from the top outwards, until REACH or until something rises above the top. */
static size_t find_foot(const struct fine *fine, size_t top, int direction)
{
    const size_t reach = (size_t)lround(REACH / STEP);
    size_t foot = top, i = top;

    for (size_t k = 0; k < reach; k++) {
        if (direction < 0 ? i == 0 : i + 1 == fine->n)
            break;
        i = direction < 0 ? i - 1 : i + 1;
        if (isnan(fine->a[i]) || fine->a[i] > fine->a[top])
            break;
        if (fine->a[i] < fine->a[foot])
            foot = i;
    }
    return foot;
}

/*
 * Centroid of what stands above `level` over the chord, from the top down to either side. A fine step makes
 * the sum an integral; the two cut ends are shorter than a step.
 */
static bool find_centroid(const struct fine *fine, size_t top, size_t low, size_t high, double *centroid,
                          double *height)
{
    const double slope = (fine->a[high] - fine->a[low]) / (double)(high - low);
    double sum = 0.0, moment = 0.0, level;

    *height = fine->a[top] - fine->a[low] - slope * (double)(top - low);
    level = *height / 2.0;
    for (int direction = -1; direction <= 1; direction += 2) {
        for (size_t i = direction < 0 ? top : top + 1;; i = direction < 0 ? i - 1 : i + 1) {
            const double over = fine->a[i] - fine->a[low] - slope * ((double)i - (double)low) - level;
            if (over <= 0.0)
                break;
            if (i == low || i == high)
                return false;
            sum += over;
            moment += over * fine->wavenumber[i];
        }
    }
    *centroid = moment / sum;
    return sum > 0.0;
}

static bool off_scale(const struct pellet_measurement *measurement, double at)
{
    size_t first, last;

    pellet_grid_window(pellet_measurement_grid(measurement), at - SEARCH, at + SEARCH, &first, &last);
    for (size_t i = first; i < last; i++) {
        if (measurement->mark[i] & (PELLET_POINT_LOWER_BOUND | PELLET_POINT_UNUSABLE))
            return true;
    }
    return false;
}

/* How far the film's band lies from where it is listed; NaN where it cannot be told. Fails for
 * memory only. */
static pellet_status find_error(const struct pellet_measurement *measurement, double listed, double *error)
{
    const double noise = isnan(measurement->noise) ? 0.0 : measurement->noise;
    struct fine fine;
    double centroid, height;
    size_t top, low, high;

    *error = NAN;
    if (off_scale(measurement, listed))
        return PELLET_OK;
    const pellet_status status = make_fine(measurement, listed, &fine);
    if (status != PELLET_OK)
        return status == PELLET_E_MEMORY ? status : PELLET_OK;
    top = find_top(&fine);
    if (top == fine.n)
        return PELLET_OK;
    low = find_foot(&fine, top, -1);
    high = find_foot(&fine, top, 1);
    if (low != top && high != top && find_centroid(&fine, top, low, high, &centroid, &height) &&
        !(height < HEIGHT_MIN) && !(height < SIGNIFICANT * noise))
        *error = centroid - listed;
    return PELLET_OK;
}

static void run_wavenumber(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                           struct pellet_finding *finding)
{
    size_t found = 0;
    double worst = NAN, worst_limit = NAN, worst_at = NAN;

    if (measurement->transmittance == NULL) {
        pellet_finding_not_checked(finding, PELLET_SAYS_NEEDS_OPEN_BEAM);
        return;
    }
    for (size_t i = 0; i < pellet_polystyrene_band_count; i++) {
        const double listed = pellet_polystyrene_bands[i].wavenumber;
        const double limit = pellet_rule_quantity(rule, listed > PARTING ? ABOVE_1900 : BELOW_1900);
        double error;
        if (find_error(measurement, listed, &error) != PELLET_OK) {
            pellet_finding_not_checked(finding, PELLET_SAYS_NO_MEMORY);
            return;
        }
        if (isnan(error))
            continue;
        if (found++ == 0 || fabs(error) / limit > fabs(worst) / worst_limit) {
            worst = error;
            worst_limit = limit;
            worst_at = listed;
        }
    }
    finding->number[0] = (double)found;
    if (found < BANDS_MIN) {
        pellet_finding_not_checked(finding, PELLET_SAYS_NO_BANDS);
        return;
    }
    finding->at_cm1 = worst_at;
    pellet_finding_either_sign(finding, rule, worst, worst_limit, PELLET_SAYS_SCALE_OFF);
    if (finding->outcome == PELLET_PASS)
        finding->phrase = PELLET_SAYS_SCALE_RIGHT;
}

const struct pellet_check pellet_check_wavenumber = {
    .id = "wavenumber",
    .bench_word = PELLET_BENCH_WAVENUMBER,
    .quantity = "wavenumber_error",
    .unit = PELLET_UNIT_WAVENUMBER,
    .outcome = PELLET_RESCAN,
    .roles = PELLET_FOR(PELLET_FILM),
    .stage = PELLET_STAGE_TRUST,
    .meaning = "largest error of a polystyrene band of the film",
    .source = "tolerances of Ph. Eur. 2.2.24 and JP 2.25, from memory; centroid of the upper half: C. Zhu, "
              "L. M. Hanssen (1998)",
    .parameter =
        {
            PELLET_QUANTITY("above_1900", WAVENUMBER, 1.5, 0.05, 20,
                            "largest error of a band above 1900 cm-1"),
            PELLET_QUANTITY("below_1900", WAVENUMBER, 1.0, 0.05, 20,
                            "largest error of a band below 1900 cm-1"),
        },
    .run = run_wavenumber,
};
