// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Sloping: how far the baseline rises from 2000 to 3900 cm-1, as scatter by coarse grains makes it.
 *
 * Method:    The measurement's baseline, which passes beneath the bands, averaged over 20 cm-1 to either side
 *            of both places. At 3900 no sample absorbs, the highest O-H stretch lies near 3750: a baseline
 *            that passes further below the curve there than the wings of bands reach was led astray by the
 *            dip that coarse grains make above their O-H, and the curve less the wings counts. Beside it the
 *            exponent p of c0 + c1 v^p, fitted to the baseline where no band stands; c0 takes up what the
 *            mask and the centring shift.
 * Limits:    Only a slope that the blank does not share is seen. The exponent is not given for a rise below
 *            0.05 A, whose shape is as much the bands' feet as scatter. A range that is dark at 3900 gives a
 *            lower bound.
 * Source:    Extinction goes as v^4 for grains far below the wavelength, falling to v^2 and v^0 as they grow:
 *            H. C. van de Hulst, Light Scattering by Small Particles (1957); from memory. The limit is the
 *            project's own.
 */
#include "checks/view.h"

#include <math.h>

enum { LIMIT, BLANK_LIMIT };

#define TILT_LOW  2000.0 /* cm-1 */
#define TILT_HIGH 3900.0
#define TILT_HALF 20.0
/* A: the wing at 3900 of an O-H band of 1 A that is 100 cm-1 wide and lies at 3550 (Lorentz curve). */
#define WINGS            0.02
#define EXPONENT_LEAST   0.05 /* A: a rise below it has no shape */
#define EXPONENT_MAX     6.0
#define EXPONENT_STEP    0.05
#define EXPONENT_SPACING 10.0 /* cm-1 between the points of the fit */
#define EXPONENT_POINTS  50   /* the fewest for three unknowns of which one bends */

double checks_tilt(const struct pellet_measurement *measurement)
{
    const struct pellet_grid grid = pellet_measurement_grid(measurement);
    double low, high, curve;

    if (checks_share_usable(measurement, TILT_LOW - TILT_HALF, TILT_LOW + TILT_HALF) < CHECKS_USABLE_LEAST ||
        checks_share_usable(measurement, TILT_HIGH - TILT_HALF, TILT_HIGH + TILT_HALF) < CHECKS_USABLE_LEAST)
        return NAN;
    if (pellet_grid_mean(grid, measurement->baseline, TILT_LOW - TILT_HALF, TILT_LOW + TILT_HALF, &low) !=
            PELLET_OK ||
        pellet_grid_mean(grid, measurement->baseline, TILT_HIGH - TILT_HALF, TILT_HIGH + TILT_HALF, &high) !=
            PELLET_OK ||
        pellet_grid_mean(grid, measurement->absorbance, TILT_HIGH - TILT_HALF, TILT_HIGH + TILT_HALF,
                         &curve) != PELLET_OK)
        return NAN;
    return fmax(high, curve - WINGS) - low;
}

/* Sums for a straight line y = c0 + c1 x over the band-free baseline with x = (v / TILT_HIGH)^p. */
struct line {
    size_t n;
    double x, y, xx, xy, yy;
};

static struct line line_sums(const struct pellet_measurement *measurement, double p)
{
    struct line sums = {0};
    double last = -INFINITY;

    for (size_t i = 0; i < measurement->n; i++) {
        const double wavenumber = measurement->wavenumber[i];
        if (measurement->mark[i] & (PELLET_POINT_BAND | PELLET_POINT_UNUSABLE | PELLET_POINT_LOWER_BOUND))
            continue;
        if (wavenumber < last + EXPONENT_SPACING || !isfinite(measurement->baseline[i]))
            continue;
        const double x = pow(wavenumber / TILT_HIGH, p), y = measurement->baseline[i];
        last = wavenumber;
        sums.n++;
        sums.x += x;
        sums.y += y;
        sums.xx += x * x;
        sums.xy += x * y;
        sums.yy += y * y;
    }
    return sums;
}

/* What the best straight line leaves, as a sum of squares; infinite where the line would fall. */
static double line_rest(const struct line *sums)
{
    const double n = (double)sums->n;
    const double sxx = sums->xx - sums->x * sums->x / n;
    const double sxy = sums->xy - sums->x * sums->y / n;
    const double syy = sums->yy - sums->y * sums->y / n;

    return sxx > 0.0 && sxy > 0.0 ? syy - sxy * sxy / sxx : INFINITY;
}

/* The exponent whose curve fits best; NaN where that is at an end of what is tried. */
static double scatter_exponent(const struct pellet_measurement *measurement)
{
    const int steps = (int)lround(EXPONENT_MAX / EXPONENT_STEP);
    double best = NAN, least = INFINITY;

    for (int i = 1; i <= steps; i++) {
        const struct line sums = line_sums(measurement, i * EXPONENT_STEP);
        if (sums.n < EXPONENT_POINTS)
            return NAN;
        const double rest = line_rest(&sums);
        if (rest < least) {
            least = rest;
            best = i == 1 || i == steps ? NAN : i * EXPONENT_STEP;
        }
    }
    return best;
}

static void run_tilt(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                     struct pellet_finding *finding)
{
    if (!checks_has_level(measurement, finding))
        return;
    pellet_finding_range(finding, TILT_LOW, TILT_HIGH);
    if (!checks_covers(measurement, TILT_LOW - TILT_HALF, TILT_HIGH + TILT_HALF)) {
        pellet_finding_not_checked(finding, PELLET_SAYS_OUT_OF_RANGE);
        return;
    }
    const double tilt = checks_tilt(measurement);
    if (isnan(tilt)) {
        pellet_finding_not_checked(finding, PELLET_SAYS_TOO_FEW_POINTS);
        return;
    }
    const size_t limit = measurement->role == PELLET_BLANK ? BLANK_LIMIT : LIMIT;
    pellet_finding_above(finding, rule, tilt, pellet_rule_quantity(rule, limit), PELLET_SAYS_SLOPING);
    finding->at_least =
        checks_share_lower_bound(measurement, TILT_HIGH - TILT_HALF, TILT_HIGH + TILT_HALF) > 0.0;
    if (tilt >= EXPONENT_LEAST)
        finding->number[0] = scatter_exponent(measurement);
}

const struct pellet_check pellet_check_tilt = {
    .id = "tilt",
    .bench_word = PELLET_BENCH_TILT,
    .quantity = "baseline_rise",
    .unit = PELLET_UNIT_ABSORBANCE,
    .outcome = PELLET_REMAKE,
    .roles = PELLET_FOR(PELLET_SAMPLE) | PELLET_FOR(PELLET_BLANK),
    .stage = PELLET_STAGE_PELLET,
    .meaning = "baseline absorbance at 3900 less that at 2000 cm-1",
    .source = "the project's own",
    .parameter =
        {
            PELLET_QUANTITY("limit", ABSORBANCE, 0.2, 0.01, 3.0, "highest rise of a sample"),
            PELLET_QUANTITY("blank_limit", ABSORBANCE, 0.1, 0.01, 3.0, "highest rise of a blank"),
        },
    .run = run_tilt,
};
