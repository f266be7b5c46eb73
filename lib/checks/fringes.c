// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Ripple: interference between the two faces of a clear pellet.
 *
 * Method:    The strongest sinusoid in the band-free points of the window, its peak-to-peak height in A. Its
 *            period Dv gives the thickness d = 1 / (2 n_g Dv), with the group index of KBr in the middle of
 *            the window: n falls towards low wavenumbers, and what a fringe counts is v n.
 * Whose:     Against the open beam it is the pellet's own. Against a blank it is if the blank's beam has
 *            little of the same frequency, or if the pellet has all of it against the open beam; else it is
 *            the blank's, the instrument's or both pellets'. Without single beams that cannot be looked up.
 * Limits:    A scan of resolution R has a longest path difference of 1/R. Fringes of a longer optical path
 *            than 70 % of that are weakened by the apodisation or not there at all: not checked, not "none".
 *            Two frequencies closer than 1.5 / window cannot be told apart. Fewer than 15 waves in the
 *            window are believed only where both halves of the points show them in step, unlike broad bands;
 *            in each a polynomial takes out what is slower than the longest fringe.
 * Source:    Appl. Spectrosc. 20, 116 (1966): 29 fringes from 1806 to 544 cm-1 make 114.9 um at n = 1.
 *            Perfect faces of KBr make 0.077 A peak to peak (H. H. Li, J. Phys. Chem. Ref. Data 5, 329,
 *            1976).
 */
#include "checks/ripple_curve.h"
#include "checks/view.h"

#include "pellet/reference.h"

#include <complex.h>
#include <math.h>
#include <stdlib.h>

enum { LIMIT, WINDOW };

#define AMPLITUDE_LEAST 1e-5 /* A: below it stands the rounding of files, not light */
#define PATH_SHARE      0.7  /* of the longest path difference */
#define WAVES_FEW       15.0 /* in the window */
#define OTHERS_SHARE    0.5  /* of a ripple that is still the pellet's own */
#define LINES_APART     1.5  /* in units of 1 / window */

static pellet_status find_in(const struct pellet_measurement *measurement,
                             const struct checks_ripple_curve *curve, double low, double high,
                             struct pellet_ripple *ripple)
{
    const double finest = isfinite(measurement->resolution) ? measurement->resolution : 0.0;

    return pellet_ripple_find((struct pellet_grid){curve->n, curve->x}, curve->y, low, high,
                              fmax(finest, 2.0 * measurement->spacing), CHECKS_RIPPLE_PERIOD_HIGH, ripple);
}

/*
 * Whether a ripple of few waves goes on in step through both halves of its points, as broad structure does
 * not. Halves of the points, not of the window: bands and carbon dioxide may leave one of the latter empty.
 */
static bool goes_on(const struct checks_ripple_curve *curve, struct pellet_limit window,
                    const struct pellet_ripple *ripple)
{
    const double low = curve->x[0], middle = curve->x[curve->n / 2], high = curve->x[curve->n - 1];

    if (ripple->period_cm1 * WAVES_FEW <= window.high - window.low)
        return true;
    const double complex one = checks_ripple_wave(curve, low, middle, ripple->period_cm1);
    const double complex other = checks_ripple_wave(curve, middle, high, ripple->period_cm1);
    return cabs(one - other) < 0.5 * cabs(one + other); /* half as far apart as they are long */
}

/* The strongest ripple of a curve at the measurement's band-free points; amplitude 0 where there is none. */
static pellet_status find_ripple(const struct pellet_measurement *measurement, const double *y,
                                 struct pellet_limit window, struct pellet_ripple *ripple)
{
    struct checks_ripple_curve curve;
    pellet_status status = checks_ripple_curve_open(measurement, y, window, &curve);

    if (status == PELLET_OK)
        status = find_in(measurement, &curve, window.low, window.high, ripple);
    if (status == PELLET_OK && ripple->amplitude > 0.0 && !goes_on(&curve, window, ripple))
        ripple->amplitude = 0.0;
    checks_ripple_curve_close(&curve);
    return status;
}

/* -log10 of light; the caller frees it; NULL when memory ran out. */
static double *absorbance_of(const struct pellet_measurement *measurement, const double *light)
{
    double *y = malloc((measurement->n + 1) * sizeof *y);

    for (size_t i = 0; y != NULL && i < measurement->n; i++)
        y[i] = light[i] > 0.0 ? -log10(light[i]) : NAN;
    return y;
}

/* The wave of one frequency in a curve of the measurement; NaN where it cannot be told. E_MEMORY. */
static pellet_status wave_in(const struct pellet_measurement *measurement, const double *y,
                             struct pellet_limit window, double period_cm1, double complex *wave)
{
    struct checks_ripple_curve curve;
    const pellet_status status = checks_ripple_curve_open(measurement, y, window, &curve);

    *wave = status == PELLET_OK ? checks_ripple_wave(&curve, window.low, window.high, period_cm1) : NAN;
    checks_ripple_curve_close(&curve);
    return status == PELLET_E_MEMORY ? status : PELLET_OK;
}

/* The same in light. */
static pellet_status wave_in_light(const struct pellet_measurement *measurement, const double *light,
                                   struct pellet_limit window, double period_cm1, double complex *wave)
{
    double *y = absorbance_of(measurement, light);
    const pellet_status status =
        y != NULL ? wave_in(measurement, y, window, period_cm1, wave) : PELLET_E_MEMORY;

    free(y);
    return status;
}

/*
 * Whether a ripple of the ratio is this pellet's own for sure: the reference's beam has little of it, or what
 * it has is the instrument's, because against the open beam the pellet has all of it. E_MEMORY.
 */
static pellet_status is_own(const struct pellet_measurement *measurement, const struct pellet_ripple *ripple,
                            struct pellet_limit window, bool *own)
{
    const double period = ripple->period_cm1;
    double complex wave, reference, absolute;

    *own = measurement->basis == PELLET_AGAINST_OPEN_BEAM;
    if (*own || measurement->reference == NULL)
        return PELLET_OK;
    if (wave_in(measurement, measurement->absorbance, window, period, &wave) != PELLET_OK ||
        wave_in_light(measurement, measurement->reference, window, period, &reference) != PELLET_OK)
        return PELLET_E_MEMORY;
    *own = cabs(reference) < OTHERS_SHARE * cabs(wave);
    if (*own || measurement->absolute == NULL)
        return PELLET_OK;
    if (wave_in_light(measurement, measurement->absolute, window, period, &absolute) != PELLET_OK)
        return PELLET_E_MEMORY;
    *own = cabs(absolute - wave) < OTHERS_SHARE * cabs(wave);
    return PELLET_OK;
}

/* The same of a ripple of the pellet's own beam: the reference's has little of it. */
static pellet_status is_own_in_beam(const struct pellet_measurement *measurement,
                                    const struct pellet_ripple *ripple, struct pellet_limit window, bool *own)
{
    const double period = ripple->period_cm1;
    double complex reference, beam;

    if (wave_in_light(measurement, measurement->reference, window, period, &reference) != PELLET_OK ||
        wave_in_light(measurement, measurement->single_beam, window, period, &beam) != PELLET_OK)
        return PELLET_E_MEMORY;
    *own = cabs(reference) < OTHERS_SHARE * cabs(beam);
    return PELLET_OK;
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

typedef pellet_status owner(const struct pellet_measurement *measurement, const struct pellet_ripple *ripple,
                            struct pellet_limit window, bool *own);

/* The thickness that the strongest ripple of a curve tells; NaN where there is none or `owned` says no. The
 * curve is NULL where memory ran out. E_MEMORY. */
static pellet_status thickness_in(const struct pellet_measurement *measurement, const double *y, owner *owned,
                                  double *thickness_mm)
{
    const struct pellet_limit window = checks_fringe_window();
    struct pellet_ripple ripple = {0};
    bool own = true;

    *thickness_mm = NAN;
    pellet_status status = y != NULL ? find_ripple(measurement, y, window, &ripple) : PELLET_E_MEMORY;
    if (status != PELLET_OK)
        return status == PELLET_E_MEMORY ? status : PELLET_OK;
    if (!(ripple.amplitude > AMPLITUDE_LEAST) || is_too_fine(measurement, ripple.period_cm1))
        return PELLET_OK;
    if (owned != NULL)
        status = owned(measurement, &ripple, window, &own);
    if (status == PELLET_OK && own)
        *thickness_mm = thickness_of(ripple.period_cm1, window);
    return status;
}

/*
 * Against the open beam every ripple is the pellet's own; in the ratio the strongest may be; and where the
 * blank's is stronger, the pellet's own beam may still show it.
 */
pellet_status checks_own_fringe_thickness(const struct pellet_measurement *measurement, double *thickness_mm)
{
    double *light = NULL;
    pellet_status status;

    if (measurement->absolute != NULL) {
        light = absorbance_of(measurement, measurement->absolute);
        status = thickness_in(measurement, light, NULL, thickness_mm);
    } else {
        status = thickness_in(measurement, measurement->absorbance, is_own, thickness_mm);
        if (status == PELLET_OK && isnan(*thickness_mm) && measurement->single_beam != NULL &&
            measurement->reference != NULL) {
            light = absorbance_of(measurement, measurement->single_beam);
            status = thickness_in(measurement, light, is_own_in_beam, thickness_mm);
        }
    }
    free(light);
    return status;
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
        pellet_finding_not_checked(finding, status == PELLET_E_MEMORY ? PELLET_SAYS_NO_MEMORY
                                            : status == PELLET_E_FIT  ? PELLET_SAYS_NO_FIT
                                                                      : PELLET_SAYS_NO_CLEAR_WINDOW);
        return;
    }
    const bool seen = ripple.amplitude > AMPLITUDE_LEAST;
    if (seen ? is_too_fine(measurement, ripple.period_cm1) : expected_too_fine(measurement, window)) {
        pellet_finding_not_checked(finding, PELLET_SAYS_RIPPLE_TOO_FINE);
        return;
    }
    bool own = false;
    if (seen && is_own(measurement, &ripple, window, &own) != PELLET_OK) {
        pellet_finding_not_checked(finding, PELLET_SAYS_NO_MEMORY);
        return;
    }
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
    .bench_word = PELLET_BENCH_FRINGES,
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
