// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Leak: light that reaches the detector without having gone through the sample, or a zero that is none.
 *
 * Method:    1. Bands that go off scale bottom out at one common T when light passes beside the pellet: a
 *            false zero is one number for the whole spectrum, the floor that opaque bands share (floor.h).
 *            T is that against the open beam where it is known.
 *            2. Below the detector's cut-off there is no light: the level of a flat, dark low end of the
 *            beam, as a fraction of its maximum. What is dark is told by the reference where there is one, so
 *            that a band of the sample is not taken for it.
 *            The greater of the two. Where neither can be seen, the darkest T of the spectrum bounds what
 *            may leak, and that is enough for a pass if it is within the limit.
 * Limits:    one opaque band alone cannot tell a leak from a band that happens to end there. A level of s of
 *            the open beam shows as s/(1+s). A leak of the sample's own beam does not show below the cut-off.
 * Source:    A' = -log10((T+s)/(1+s)), common practice; non-physical energy as ASTM E1421 means it (from
 *            memory).
 */
#include "checks/floor.h"

#include <math.h>

enum { LIMIT };

/* The low end (cm-1) that must be flat: its halves differ, with two standard deviations added, by less than
 * this share of the level or this share of the maximum. Light falls off faster than that at a cut-off. */
static const double DARK_END = 30.0, DARK_SHARE = 0.1, DARK_OF_MAX = 0.002;
/* A flat end above this share of the maximum is no cut-off. */
static const double DARK_LEVEL_MAX = 0.25;
#define POINTS_MIN 6

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
    const size_t i =
        checks_light(measurement) != NULL ? checks_darkest(measurement, 0, measurement->n) : measurement->n;
    double most;

    if (i == measurement->n) {
        pellet_finding_not_checked(finding, PELLET_SAYS_LEAK_UNSEEN);
        return;
    }
    most = fmax(checks_three_points(checks_light(measurement), i), 0.0);
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
    double plateau = 0.0, plateau_cm1 = NAN, dark = 0.0;
    const bool has_plateau = checks_common_floor(measurement, &plateau, &plateau_cm1);
    const bool has_dark = find_dark_end(measurement, &dark);

    if (has_plateau && !(has_dark && dark > plateau)) {
        finding->at_cm1 = plateau_cm1;
        pellet_finding_above(finding, rule, plateau, limit, PELLET_SAYS_LEAK_PLATEAU);
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
