// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Opacity: how much light a pellet lets through where nothing absorbs.
 *
 * Method:    mean T over the points of the window that no band covers; the second, wider window where the
 *            first has too few. "Without compensation", as the pharmacopoeias say, means against the open
 *            beam: that T is used where it is known, as measured or as the ratio times the blank's own T.
 *            Against a blank alone the limit is that of the open beam over the T of a clear plate of KBr,
 *            60 % / 91.5 % = 65.6 %. Where bands cover both windows, the brightest part is a lower bound and
 *            enough for a pass; the T of the baseline beneath the bands is an upper bound, and what is below
 *            the limit even there is refused.
 * Limits:    the 65.6 % assumes a clear blank; a cloudy one hides as much of the sample's cloudiness.
 * Source:    Ph. Eur. 2.2.24 "Discs" (60 %, older editions 75 %; from memory); (1-R)/(1+R) with the index of
 *            H. H. Li, J. Phys. Chem. Ref. Data 5, 329 (1976).
 */
#include "checks/checks.h"

#include <math.h>
#include <stdlib.h>

enum { AGAINST_OPEN_BEAM, AGAINST_BLANK, BLANK_PELLET, WINDOW, SECOND_WINDOW };

/* The brightest part, where bands cover the windows, is a mean over this width (cm-1). */
static const double PART = 20.0;

/* Which T is judged, by which limit. */
struct view {
    const double *transmittance;
    size_t limit;
    const char *basis;
    enum pellet_phrase beyond, cannot;
};

static struct view choose_view(const struct pellet_measurement *measurement)
{
    const bool blank = measurement->role == PELLET_BLANK;
    const size_t open_limit = blank ? BLANK_PELLET : AGAINST_OPEN_BEAM;

    if (measurement->transmittance == NULL && measurement->absolute == NULL)
        return (struct view){.cannot = blank ? PELLET_SAYS_NEEDS_OPEN_BEAM : PELLET_SAYS_NEEDS_RATIO};
    if (measurement->basis == PELLET_AGAINST_OPEN_BEAM)
        return (struct view){measurement->transmittance, open_limit, "open_beam", PELLET_SAYS_CLOUDY_OPEN,
                             PELLET_SAYS_NOTHING};
    if (measurement->absolute != NULL)
        return (struct view){measurement->absolute, open_limit, "blank_and_open_beam",
                             PELLET_SAYS_CLOUDY_OPEN, PELLET_SAYS_NOTHING};
    if (blank)
        return (struct view){.cannot = PELLET_SAYS_NEEDS_OPEN_BEAM};
    if (measurement->basis == PELLET_AGAINST_BLANK)
        return (struct view){measurement->transmittance, AGAINST_BLANK, "blank", PELLET_SAYS_CLOUDY_BLANK,
                             PELLET_SAYS_NOTHING};
    return (struct view){.cannot = PELLET_SAYS_NEEDS_BASIS};
}

/* The highest mean over PART anywhere in the window, bands and all. */
static double brightest(const struct pellet_measurement *measurement, const double *transmittance,
                        struct pellet_limit window)
{
    const struct pellet_grid grid = pellet_measurement_grid(measurement);
    size_t first, last;
    double highest = NAN, mean;

    pellet_grid_window(grid, window.low + PART / 2, window.high - PART / 2, &first, &last);
    for (size_t i = first; i < last; i++) {
        const double at = measurement->wavenumber[i];
        if (pellet_grid_mean(grid, transmittance, at - PART / 2, at + PART / 2, &mean) == PELLET_OK)
            highest = fmax(highest, mean); /* fmax passes over NaN */
    }
    return highest;
}

/* The mean T of the window if its bands were not there; NaN where that cannot be said. E_MEMORY. */
static pellet_status beneath_bands(const struct pellet_measurement *measurement, const double *transmittance,
                                   struct pellet_limit window, double *mean)
{
    double *bare = malloc((measurement->n ? measurement->n : 1) * sizeof *bare);

    if (bare == NULL)
        return PELLET_E_MEMORY;
    for (size_t i = 0; i < measurement->n; i++)
        bare[i] = transmittance[i] * pow(10.0, measurement->absorbance[i] - measurement->baseline[i]);
    if (pellet_grid_mean(pellet_measurement_grid(measurement), bare, window.low, window.high, mean) !=
        PELLET_OK)
        *mean = NAN;
    free(bare);
    return PELLET_OK;
}

/* Bands cover both windows: what the light is at least, and at most. */
static void judge_bounds(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                         const struct view *view, double limit, struct pellet_finding *finding)
{
    const struct pellet_limit window = rule->parameter[SECOND_WINDOW];
    const double least = brightest(measurement, view->transmittance, window);
    double beneath;

    if (beneath_bands(measurement, view->transmittance, window, &beneath) != PELLET_OK) {
        pellet_finding_not_checked(finding, PELLET_SAYS_NO_MEMORY);
        return;
    }
    const double most = isnan(beneath) ? NAN : fmax(beneath, least);
    pellet_finding_range(finding, window.low, window.high);
    pellet_finding_below(finding, rule, 100.0 * least, limit, PELLET_SAYS_NO_CLEAR_WINDOW);
    if (finding->value >= limit) {
        finding->at_least = true;
        finding->phrase = PELLET_SAYS_CLEAR_AT_LEAST;
        return;
    }
    pellet_finding_below(finding, rule, 100.0 * most, limit, view->beyond);
    finding->at_most = true;
    finding->at_cm1 = (window.low + window.high) / 2.0;
    if (!(finding->value < limit)) /* in between, or NaN */
        pellet_finding_not_checked(finding, PELLET_SAYS_NO_CLEAR_WINDOW);
}

static void run_opacity(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                        struct pellet_finding *finding)
{
    const struct pellet_grid grid = pellet_measurement_grid(measurement);
    const struct view view = choose_view(measurement);
    struct pellet_limit window = rule->parameter[WINDOW];
    double *clear, mean, limit;
    pellet_status status;

    if (view.transmittance == NULL) {
        pellet_finding_not_checked(finding, view.cannot);
        return;
    }
    clear = pellet_measurement_without(measurement, view.transmittance, PELLET_POINT_BAND);
    if (clear == NULL) {
        pellet_finding_not_checked(finding, PELLET_SAYS_NO_MEMORY);
        return;
    }
    limit = pellet_rule_quantity(rule, view.limit);
    finding->basis = view.basis;
    status = pellet_grid_mean(grid, clear, window.low, window.high, &mean);
    if (status == PELLET_E_SHORT) {
        window = rule->parameter[SECOND_WINDOW];
        status = pellet_grid_mean(grid, clear, window.low, window.high, &mean);
    }
    free(clear);
    if (status == PELLET_E_SHORT) {
        judge_bounds(measurement, rule, &view, limit, finding);
    } else if (status != PELLET_OK) {
        pellet_finding_unusable(finding, status, window.low, window.high);
    } else {
        pellet_finding_range(finding, window.low, window.high);
        finding->at_cm1 = (window.low + window.high) / 2.0;
        pellet_finding_below(finding, rule, 100.0 * mean, limit, view.beyond);
    }
}

const struct pellet_check pellet_check_opacity = {
    .id = "opacity",
    .bench_word = PELLET_BENCH_OPACITY,
    .quantity = "transmittance",
    .unit = PELLET_UNIT_PERCENT,
    .outcome = PELLET_REMAKE,
    .roles = PELLET_FOR(PELLET_SAMPLE) | PELLET_FOR(PELLET_BLANK),
    .stage = PELLET_STAGE_PELLET,
    .meaning = "mean transmittance near 2000 cm-1, away from bands",
    .source = "Ph. Eur. 2.2.24, from memory: 60 % without compensation, older editions 75 %; 65.6 % = 60 % / "
              "91.5 % of a clear plate",
    .parameter =
        {
            PELLET_QUANTITY("against_open_beam", PERCENT, 60, 1, 100,
                            "lowest, a sample against the open beam"),
            PELLET_QUANTITY("against_blank", PERCENT, 65.6, 1, 110,
                            "lowest, a sample against a blank whose own transmittance is not known"),
            PELLET_QUANTITY("blank_pellet", PERCENT, 75, 1, 100, "lowest, a blank against the open beam"),
            PELLET_RANGE("window", WAVENUMBER, 1950, 2050, 400, 4000, "where it is measured"),
            PELLET_RANGE("second_window", WAVENUMBER, 1900, 2150, 400, 4000,
                         "where it is measured when the first window holds bands"),
        },
    .run = run_opacity,
};
