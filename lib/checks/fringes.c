// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Ripple: interference between the two faces of a clear pellet.
 *
 * Method:    The strongest sinusoid in the band-free points of the window, its peak-to-peak height in A. Its
 *            period Dv gives the thickness d = 1 / (2 n_g Dv), with the group index of KBr in the middle of
 *            the window: n falls towards low wavenumbers, and what a fringe counts is v n.
 * Whose:     A ripple of the same frequency in the reference's own beam is the blank's, the instrument's or a
 *            pellet's of the same thickness. Without single beams that cannot be looked up, and only a ratio
 *            against the open beam is the pellet's own for sure.
 * Limits:    A scan of resolution R has a longest path difference of 1/R. Fringes of a longer optical path
 *            than 70 % of that are weakened by the apodisation or not there at all: not checked, not "none".
 *            Two frequencies closer than 1.5 / window cannot be told apart.
 * Source:    Appl. Spectrosc. 20, 116 (1966): 29 fringes from 1806 to 544 cm-1 make 114.9 um at n = 1.
 *            Perfect faces of KBr make 0.077 A peak to peak (H. H. Li, J. Phys. Chem. Ref. Data 5, 329,
 * 1976).
 */
#include "checks/view.h"

#include "pellet/reference.h"

#include <math.h>
#include <stdlib.h>

enum { LIMIT, WINDOW };

#define AMPLITUDE_LEAST 1e-5 /* A: below it stands the rounding of files, not light */
#define FRINGE_HIGHEST  0.08 /* A: perfect faces of KBr make 0.077 */
#define FREE_LEAST      0.4  /* of the points of the window: fewer hold more gap than ripple */
#define PERIOD_HIGH     60.0 /* cm-1: a pellet of 0.05 mm; longer waves are not fringes of a pellet */
#define PATH_SHARE      0.7  /* of the longest path difference */
#define LINES_APART     1.5  /* in units of 1 / window */

/* Whether a band of the list may be a fringe: the band finder knows no difference. */
static bool may_be_fringe(const struct pellet_band *band)
{
    return band->height <= FRINGE_HIGHEST && band->width_cm1 <= 0.5 * PERIOD_HIGH;
}

/* Points that carry a band, whatever it is, that is no fringe: to its feet, but no further than two widths.
 */
static void hide_bands(const struct pellet_measurement *measurement, unsigned char *hidden)
{
    for (size_t b = 0; b < measurement->band_count; b++) {
        const struct pellet_band *band = &measurement->band[b];
        const double reach = 2.0 * band->width_cm1;
        size_t first, last;
        if (may_be_fringe(band))
            continue;
        pellet_grid_window(pellet_measurement_grid(measurement), fmax(band->low_cm1, band->at_cm1 - reach),
                           fmin(band->high_cm1, band->at_cm1 + reach), &first, &last);
        for (size_t i = first; i < last; i++)
            hidden[i] = 1;
    }
}

/* The band-free points of the window as a curve of their own, on `x`; their number. */
static size_t free_points(const struct pellet_measurement *measurement, const double *y,
                          const unsigned char *hidden, struct pellet_limit window, double *x, double *free_y)
{
    const unsigned unfit =
        PELLET_POINT_CO2 | PELLET_POINT_VAPOUR | PELLET_POINT_UNUSABLE | PELLET_POINT_LOWER_BOUND;
    size_t first, last, n = 0;

    pellet_grid_window(pellet_measurement_grid(measurement), window.low, window.high, &first, &last);
    for (size_t i = first; i < last; i++) {
        if (hidden[i] || (measurement->mark[i] & unfit) || !isfinite(y[i]))
            continue;
        x[n] = measurement->wavenumber[i];
        free_y[n++] = y[i];
    }
    return (double)n >= FREE_LEAST * (double)(last - first) ? n : 0;
}

/* The strongest ripple of a curve at the measurement's band-free points; amplitude 0 where there is none. */
static pellet_status find_ripple(const struct pellet_measurement *measurement, const double *y,
                                 struct pellet_limit window, struct pellet_ripple *ripple)
{
    const double finest = isfinite(measurement->resolution) ? measurement->resolution : 0.0;
    double *x = malloc(2 * measurement->n * sizeof *x);
    unsigned char *hidden = calloc(measurement->n, 1);
    pellet_status status = PELLET_E_MEMORY;
    size_t n = 0;

    if (x != NULL && hidden != NULL) {
        hide_bands(measurement, hidden);
        n = free_points(measurement, y, hidden, window, x, x + measurement->n);
        status = PELLET_E_SHORT;
    }
    if (n > 0)
        status = pellet_ripple_find((struct pellet_grid){n, x}, x + measurement->n, window.low, window.high,
                                    fmax(finest, 2.0 * measurement->spacing), PERIOD_HIGH, ripple);
    free(hidden);
    free(x);
    return status;
}

/* The same in -log10 of a single beam. */
static pellet_status find_beam_ripple(const struct pellet_measurement *measurement, const double *beam,
                                      struct pellet_limit window, struct pellet_ripple *ripple)
{
    double *y = malloc(measurement->n * sizeof *y);

    if (y == NULL)
        return PELLET_E_MEMORY;
    for (size_t i = 0; i < measurement->n; i++)
        y[i] = beam[i] > 0.0 ? -log10(beam[i]) : NAN;
    const pellet_status status = find_ripple(measurement, y, window, ripple);
    free(y);
    return status;
}

static bool same_frequency(const struct pellet_ripple *one, const struct pellet_ripple *other,
                           struct pellet_limit window)
{
    return one->amplitude > 0.0 && other->amplitude > 0.0 &&
           fabs(1.0 / one->period_cm1 - 1.0 / other->period_cm1) < LINES_APART / (window.high - window.low);
}

/* Whether a ripple is this pellet's own for sure. */
static bool is_own(const struct pellet_measurement *measurement, const struct pellet_ripple *ripple,
                   struct pellet_limit window)
{
    struct pellet_ripple reference = {0};

    if (measurement->reference == NULL)
        return measurement->basis == PELLET_AGAINST_OPEN_BEAM;
    return find_beam_ripple(measurement, measurement->reference, window, &reference) == PELLET_OK &&
           !same_frequency(ripple, &reference, window);
}

/* Whether the resolution leaves nothing, or too little, of fringes with this period. */
static bool is_too_fine(const struct pellet_measurement *measurement, double period_cm1)
{
    return isfinite(measurement->resolution) && period_cm1 < measurement->resolution / PATH_SHARE;
}

static double thickness_of(double period_cm1, struct pellet_limit window)
{
    return pellet_fringe_thickness_mm(period_cm1, pellet_kbr_group_index(0.5 * (window.low + window.high)));
}

struct pellet_limit checks_fringe_window(void)
{
    return pellet_check_fringes.parameter[WINDOW].standard;
}

double checks_own_fringe_thickness(const struct pellet_measurement *measurement)
{
    const struct pellet_limit window = checks_fringe_window();
    struct pellet_ripple ripple = {0};
    const pellet_status status =
        measurement->single_beam != NULL
            ? find_beam_ripple(measurement, measurement->single_beam, window, &ripple)
            : find_ripple(measurement, measurement->absorbance, window, &ripple);

    if (status != PELLET_OK || !(ripple.amplitude > AMPLITUDE_LEAST) ||
        is_too_fine(measurement, ripple.period_cm1) || !is_own(measurement, &ripple, window))
        return NAN;
    return thickness_of(ripple.period_cm1, window);
}

/* Whether the fringes of a pellet with the mass on the worksheet would be too fine to be seen. */
static bool expected_too_fine(const struct pellet_measurement *measurement, struct pellet_limit window)
{
    const double thickness_mm = checks_worksheet_thickness(measurement);

    /* The relation of thickness and period is its own inverse. */
    return isfinite(thickness_mm) && is_too_fine(measurement, thickness_of(thickness_mm, window));
}

static void run_fringes(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                        struct pellet_finding *finding)
{
    const struct pellet_limit window = rule->parameter[WINDOW];
    struct pellet_ripple ripple = {0};

    if (!checks_has_ratio(measurement, finding))
        return;
    pellet_finding_range(finding, window.low, window.high);
    if (checks_share_usable(measurement, window.low, window.high) < CHECKS_USABLE_LEAST) {
        pellet_finding_not_checked(finding, PELLET_SAYS_TOO_FEW_POINTS);
        return;
    }
    const pellet_status status = find_ripple(measurement, measurement->absorbance, window, &ripple);
    if (status != PELLET_OK) {
        pellet_finding_not_checked(finding, status == PELLET_E_FIT || status == PELLET_E_MEMORY
                                                ? PELLET_SAYS_NO_FIT
                                                : PELLET_SAYS_NO_CLEAR_WINDOW);
        return;
    }
    const bool seen = ripple.amplitude > AMPLITUDE_LEAST;
    if (seen ? is_too_fine(measurement, ripple.period_cm1) : expected_too_fine(measurement, window)) {
        pellet_finding_not_checked(finding, PELLET_SAYS_RIPPLE_TOO_FINE);
        return;
    }
    const bool own = seen && is_own(measurement, &ripple, window);
    pellet_finding_above(finding, rule, 2.0 * ripple.amplitude, pellet_rule_quantity(rule, LIMIT),
                         own ? PELLET_SAYS_RIPPLE : PELLET_SAYS_RIPPLE_OWNER);
    if (!seen)
        return;
    finding->number[0] = ripple.period_cm1;
    finding->number_unit[0] = PELLET_UNIT_WAVENUMBER;
    finding->number[1] = own ? thickness_of(ripple.period_cm1, window) : NAN;
    finding->number_unit[1] = PELLET_UNIT_MM;
}

const struct pellet_check pellet_check_fringes = {
    .id = "fringes",
    .bench_word = "ripple",
    .quantity = "ripple_peak_to_peak",
    .unit = PELLET_UNIT_ABSORBANCE,
    .outcome = PELLET_NOTE,
    .roles = PELLET_FOR(PELLET_SAMPLE) | PELLET_FOR(PELLET_BLANK),
    .stage = PELLET_STAGE_PELLET,
    .meaning = "periodic ripple of the baseline, peak to peak",
    .source = "Appl. Spectrosc. 20, 116 (1966)",
    .parameter =
        {
            PELLET_QUANTITY("limit", ABSORBANCE, 0.02, 0.0001, 1.0, "largest ripple"),
            PELLET_RANGE("window", WAVENUMBER, 1900, 2500, 400, 4000, "where it is measured"),
        },
    .run = run_fringes,
};
