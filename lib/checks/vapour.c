// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Vapour: the room's water lines, left over because the air changed between reference and subject.
 *
 * Method:    the tabulated lines at the file's resolution (each as wide as the instrument shows it) are
 *            fitted to A without its ripple by robust least squares, structure broader than a line cluster
 *            taken out of both, in 1900-1400 and 3900-3550 apart; the two coefficients are then weighted by
 *            their standard deviations. The value is the coefficient times the pattern's height between its
 *            extremes, signed: negative where the reference was measured in moister air. A value beyond the
 *            limit counts only where it stands SIGNIFICANT standard deviations above zero and the pattern is
 *            recognised in one of the regions; else bands hide the lines, and the check says so.
 * Limits:    lines that do not saturate; 71 strong lines stand for all, so at coarse resolution the height is
 *            that of these lines alone. Where the file does not state its resolution, the one of 1, 2, 4, 8
 *            and 16 cm-1 whose pattern fits best is taken: it is not inferred from the spacing.
 * Source:    HITRAN, I. E. Gordon et al., J. Quant. Spectrosc. Radiat. Transf. 277, 107949 (2022); full width
 *            of an apodised line about 0.9 of the resolution (common practice).
 */
#include "checks/vapour.h"

#include "checks/checks.h"
#include "checks/ripple_curve.h"
#include "pellet/reference.h"

#include <math.h>
#include <stdlib.h>

enum { LIMIT };

#define REGIONS 2
static const struct pellet_limit region[REGIONS] = {
    {PELLET_VAPOUR_BEND_LOW, PELLET_VAPOUR_BEND_HIGH},
    {PELLET_VAPOUR_STRETCH_LOW, PELLET_VAPOUR_STRETCH_HIGH},
};

static const double LINE_WIDTH = 0.9;
/* Structure wider than this many resolutions, or than this (cm-1), is not lines. */
static const double BROAD_RESOLUTIONS = 6.0, BROAD_MIN = 24.0;
static const double SIGNIFICANT = 5.0;
/* The pattern is recognised from this correlation on. */
static const double RECOGNISED = 0.5;

/* All that a fit works on. */
struct work {
    double *position, *intensity; /* [pellet_vapour_line_count] */
    double *pattern;              /* [n] */
    double *calm;                 /* [n], A without its ripple */
    unsigned char *use;           /* [n] */
};

static void work_clear(struct work *work)
{
    free(work->position);
    free(work->intensity);
    free(work->pattern);
    free(work->calm);
    free(work->use);
}

static bool work_make(const struct pellet_measurement *measurement, struct work *work)
{
    work->position = malloc(pellet_vapour_line_count * sizeof *work->position);
    work->intensity = malloc(pellet_vapour_line_count * sizeof *work->intensity);
    work->pattern = malloc(measurement->n * sizeof *work->pattern);
    work->calm = checks_without_ripple(measurement);
    work->use = malloc(measurement->n);
    if (work->position == NULL || work->intensity == NULL || work->pattern == NULL || work->calm == NULL ||
        work->use == NULL)
        return false;
    for (size_t i = 0; i < pellet_vapour_line_count; i++) {
        work->position[i] = pellet_vapour_lines[i].wavenumber;
        work->intensity[i] = pellet_vapour_lines[i].intensity;
    }
    for (size_t i = 0; i < measurement->n; i++)
        work->use[i] = (measurement->mark[i] & (PELLET_POINT_UNUSABLE | PELLET_POINT_LOWER_BOUND)) == 0;
    return true;
}

/* Both regions at one resolution, put together with the weights of their standard deviations. */
static pellet_status fit_at(const struct pellet_measurement *measurement, struct work *work,
                            double resolution, struct pellet_vapour *vapour)
{
    const struct pellet_grid grid = pellet_measurement_grid(measurement);
    const double broad = fmax(BROAD_MIN, BROAD_RESOLUTIONS * resolution);
    double weights = 0.0, sum = 0.0, span = 0.0, r = 0.0;
    pellet_status status =
        pellet_line_pattern(grid, work->position, work->intensity, pellet_vapour_line_count,
                            LINE_WIDTH * resolution, work->pattern);

    for (size_t k = 0; status == PELLET_OK && k < REGIONS; k++) {
        struct pellet_pattern fit;
        const pellet_status here = pellet_pattern_fit(grid, work->calm, work->pattern, work->use,
                                                      region[k].low, region[k].high, broad, &fit);
        if (here == PELLET_E_MEMORY)
            return here;
        if (here != PELLET_OK)
            continue;
        const double weight = 1.0 / fmax(fit.sigma * fit.sigma, 1e-20);
        weights += weight;
        sum += weight * fit.coefficient;
        span = fmax(span, fit.span);
        r = fabs(fit.r) > fabs(r) ? fit.r : r;
    }
    if (status == PELLET_OK && !(weights > 0.0))
        status = PELLET_E_RANGE;
    if (status == PELLET_OK)
        *vapour = (struct pellet_vapour){span * sum / weights, span / sqrt(weights), r, resolution};
    return status;
}

/* The resolution as stated, or the one whose pattern is recognised best. */
static pellet_status fit_best(const struct pellet_measurement *measurement, struct work *work,
                              struct pellet_vapour *vapour)
{
    static const double resolutions[] = {1.0, 2.0, 4.0, 8.0, 16.0};
    pellet_status status = PELLET_E_RANGE;

    if (!isnan(measurement->resolution))
        return fit_at(measurement, work, measurement->resolution, vapour);
    for (size_t i = 0; i < sizeof resolutions / sizeof resolutions[0]; i++) {
        struct pellet_vapour candidate;
        const pellet_status here = fit_at(measurement, work, resolutions[i], &candidate);
        if (here == PELLET_E_MEMORY)
            return here;
        if (here == PELLET_OK && (status != PELLET_OK || fabs(candidate.r) > fabs(vapour->r))) {
            *vapour = candidate;
            status = PELLET_OK;
        }
    }
    return status;
}

pellet_status pellet_vapour_fit(const struct pellet_measurement *measurement, struct pellet_vapour *vapour)
{
    struct work work = {0};
    struct pellet_vapour found = {0};
    const pellet_status status =
        work_make(measurement, &work) ? fit_best(measurement, &work, &found) : PELLET_E_MEMORY;

    work_clear(&work);
    if (status == PELLET_OK)
        *vapour = found;
    return status;
}

static void run_vapour(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                       struct pellet_finding *finding)
{
    struct pellet_vapour vapour;
    pellet_status status;

    if (measurement->transmittance == NULL) {
        pellet_finding_not_checked(finding, PELLET_SAYS_NEEDS_RATIO);
        return;
    }
    status = pellet_vapour_fit(measurement, &vapour);
    if (status != PELLET_OK) {
        pellet_finding_unusable(finding, status, region[0].low, region[0].high);
        return;
    }
    pellet_finding_either_sign(finding, rule, vapour.peak_to_peak, pellet_rule_quantity(rule, LIMIT),
                               vapour.peak_to_peak < 0.0 ? PELLET_SAYS_VAPOUR_NEGATIVE
                                                         : PELLET_SAYS_VAPOUR_LINES);
    if (finding->outcome == PELLET_PASS)
        return;
    if (fabs(vapour.peak_to_peak) < SIGNIFICANT * vapour.sigma || fabs(vapour.r) < RECOGNISED) {
        pellet_finding_not_checked(finding, PELLET_SAYS_VAPOUR_HIDDEN);
        return;
    }
    if (pellet_finding_refuses(finding)) {
        for (size_t k = 0; k < REGIONS; k++)
            pellet_finding_distrust(finding, region[k].low, region[k].high);
    }
}

const struct pellet_check pellet_check_vapour = {
    .id = "vapour",
    .bench_word = PELLET_BENCH_VAPOUR,
    .quantity = "vapour_absorbance",
    .unit = PELLET_UNIT_ABSORBANCE,
    .outcome = PELLET_RESCAN,
    .roles = PELLET_FOR(PELLET_SAMPLE) | PELLET_FOR(PELLET_BLANK),
    .stage = PELLET_STAGE_TRUST,
    .meaning = "lines of water vapour, peak to peak, negative when the reference was moister",
    .source = "lines of HITRAN 2020 (Gordon et al. 2022)",
    .parameter =
        {
            PELLET_QUANTITY("limit", ABSORBANCE, 0.02, 0.0001, 1.0, "largest lines of either sign"),
        },
    .run = run_vapour,
};
