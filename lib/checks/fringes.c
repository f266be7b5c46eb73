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
 *            window are believed only where its halves show them in step, unlike broad bands.
 * Source:    Appl. Spectrosc. 20, 116 (1966): 29 fringes from 1806 to 544 cm-1 make 114.9 um at n = 1.
 *            Perfect faces of KBr make 0.077 A peak to peak (H. H. Li, J. Phys. Chem. Ref. Data 5, 329,
 *            1976).
 */
#include "checks/view.h"

#include "pellet/reference.h"

#include <complex.h>
#include <math.h>
#include <stdlib.h>

enum { LIMIT, WINDOW };

#define AMPLITUDE_LEAST 1e-5  /* A: below it stands the rounding of files, not light */
#define FRINGE_HIGHEST  0.08  /* A: perfect faces of KBr make 0.077 */
#define FREE_LEAST      0.4   /* of the points of the window: fewer hold more gap than ripple */
#define PERIOD_HIGH     75.0  /* cm-1: a pellet of 0.043 mm; longer waves are not fringes of a pellet */
#define BROAD           225.0 /* cm-1: three of the longest waves */
#define PATH_SHARE      0.7   /* of the longest path difference */
#define WAVES_FEW       15.0  /* in the window */
#define OTHERS_SHARE    0.5   /* of a ripple that is still the pellet's own */
#define LINES_APART     1.5   /* in units of 1 / window */

/* Whether a band of the list may be a fringe: the band finder knows no difference. */
static bool may_be_fringe(const struct pellet_band *band)
{
    return band->height <= FRINGE_HIGHEST && band->width_cm1 <= 0.5 * PERIOD_HIGH;
}

/*
 * Points that carry a band, whatever it is, that is no fringe: to its feet, but no further than two widths.
 * Of a band much broader than any ripple only the top: its wing is no ripple's, and the quadratic takes it
 * out.
 */
static void hide_bands(const struct pellet_measurement *measurement, unsigned char *hidden)
{
    for (size_t b = 0; b < measurement->band_count; b++) {
        const struct pellet_band *band = &measurement->band[b];
        const double reach = (band->width_cm1 > BROAD ? 0.75 : 2.0) * band->width_cm1;
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

/* The band-free points of the window: a curve of its own that owns its memory. */
struct clear {
    size_t n;
    double *x, *y;
};

static pellet_status clear_open(const struct pellet_measurement *measurement, const double *y,
                                struct pellet_limit window, struct clear *clear)
{
    unsigned char *hidden = calloc(measurement->n, 1);

    *clear = (struct clear){.x = malloc(2 * measurement->n * sizeof *clear->x)};
    if (clear->x == NULL || hidden == NULL) {
        free(hidden);
        free(clear->x);
        *clear = (struct clear){0};
        return PELLET_E_MEMORY;
    }
    clear->y = clear->x + measurement->n;
    hide_bands(measurement, hidden);
    clear->n = free_points(measurement, y, hidden, window, clear->x, clear->y);
    free(hidden);
    return clear->n > 0 ? PELLET_OK : PELLET_E_SHORT;
}

static pellet_status find_in(const struct pellet_measurement *measurement, const struct clear *clear,
                             double low, double high, struct pellet_ripple *ripple)
{
    const double finest = isfinite(measurement->resolution) ? measurement->resolution : 0.0;

    return pellet_ripple_find((struct pellet_grid){clear->n, clear->x}, clear->y, low, high,
                              fmax(finest, 2.0 * measurement->spacing), PERIOD_HIGH, ripple);
}

/*
 * The wave of one frequency in low..high, as a complex amplitude. The weights fall to zero at both ends
 * (Hann), so that the slow curve of a beam, which a straight line does not take out, leaks little into it.
 */
static double complex wave_at(const struct clear *clear, double low, double high, double period_cm1)
{
    double weights = 0.0, mean = 0.0, slope = 0.0, squares = 0.0;
    double complex sum = 0.0;

    for (int pass = 0; pass < 2; pass++) {
        for (size_t i = 0; i < clear->n; i++) {
            const double x = clear->x[i] - 0.5 * (low + high);
            const double weight =
                2.0 * fabs(x) < high - low ? 0.5 + 0.5 * cos(2.0 * M_PI * x / (high - low)) : 0.0;
            if (pass == 0) {
                weights += weight;
                mean += weight * clear->y[i];
                slope += weight * x * clear->y[i];
                squares += weight * x * x;
            } else {
                sum += 2.0 * weight * (clear->y[i] - mean / weights - slope / squares * x) *
                       cexp(-2.0 * M_PI * I * clear->x[i] / period_cm1);
            }
        }
    }
    return sum / weights;
}

/* Whether a ripple of few waves goes on in step through both halves of the window, as broad structure does
 * not. */
static bool goes_on(const struct clear *clear, struct pellet_limit window, const struct pellet_ripple *ripple)
{
    const double middle = 0.5 * (window.low + window.high);

    if (ripple->period_cm1 * WAVES_FEW <= window.high - window.low)
        return true;
    const double complex one = wave_at(clear, window.low, middle, ripple->period_cm1);
    const double complex other = wave_at(clear, middle, window.high, ripple->period_cm1);
    return cabs(one - other) < 0.5 * cabs(one + other); /* half as far apart as they are long */
}

/* The strongest ripple of a curve at the measurement's band-free points; amplitude 0 where there is none. */
static pellet_status find_ripple(const struct pellet_measurement *measurement, const double *y,
                                 struct pellet_limit window, struct pellet_ripple *ripple)
{
    struct clear clear;
    pellet_status status = clear_open(measurement, y, window, &clear);

    if (status == PELLET_OK)
        status = find_in(measurement, &clear, window.low, window.high, ripple);
    if (status == PELLET_OK && ripple->amplitude > 0.0 && !goes_on(&clear, window, ripple))
        ripple->amplitude = 0.0;
    free(clear.x);
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

/* The wave of one frequency in a curve of the measurement; NaN where it cannot be told. */
static double complex wave_in(const struct pellet_measurement *measurement, const double *y,
                              struct pellet_limit window, double period_cm1)
{
    struct clear clear;
    double complex wave = NAN;

    if (clear_open(measurement, y, window, &clear) == PELLET_OK)
        wave = wave_at(&clear, window.low, window.high, period_cm1);
    free(clear.x);
    return wave;
}

/* The same in light. */
static double complex wave_in_light(const struct pellet_measurement *measurement, const double *light,
                                    struct pellet_limit window, double period_cm1)
{
    double *y = absorbance_of(measurement, light);
    const double complex wave = y != NULL ? wave_in(measurement, y, window, period_cm1) : NAN;

    free(y);
    return wave;
}

/*
 * Whether a ripple of the ratio is this pellet's own for sure: the reference's beam has little of it, or what
 * it has is the instrument's, because against the open beam the pellet has all of it.
 */
static bool is_own(const struct pellet_measurement *measurement, const struct pellet_ripple *ripple,
                   struct pellet_limit window)
{
    const double period = ripple->period_cm1;

    if (measurement->basis == PELLET_AGAINST_OPEN_BEAM)
        return true;
    if (measurement->reference == NULL)
        return false;
    const double complex wave = wave_in(measurement, measurement->absorbance, window, period);
    if (cabs(wave_in_light(measurement, measurement->reference, window, period)) < OTHERS_SHARE * cabs(wave))
        return true;
    return measurement->absolute != NULL &&
           cabs(wave_in_light(measurement, measurement->absolute, window, period) - wave) <
               OTHERS_SHARE * cabs(wave);
}

/* The same of a ripple of the pellet's own beam: the reference's has little of it. */
static bool is_own_in_beam(const struct pellet_measurement *measurement, const struct pellet_ripple *ripple,
                           struct pellet_limit window)
{
    const double period = ripple->period_cm1;

    return cabs(wave_in_light(measurement, measurement->reference, window, period)) <
           OTHERS_SHARE * cabs(wave_in_light(measurement, measurement->single_beam, window, period));
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

/* The thickness that the strongest ripple of a curve tells; NaN where there is none or `owned` says no. */
static double thickness_in(const struct pellet_measurement *measurement, const double *y,
                           bool (*owned)(const struct pellet_measurement *, const struct pellet_ripple *,
                                         struct pellet_limit))
{
    const struct pellet_limit window = checks_fringe_window();
    struct pellet_ripple ripple = {0};

    if (y == NULL || find_ripple(measurement, y, window, &ripple) != PELLET_OK ||
        !(ripple.amplitude > AMPLITUDE_LEAST) || is_too_fine(measurement, ripple.period_cm1) ||
        (owned != NULL && !owned(measurement, &ripple, window)))
        return NAN;
    return thickness_of(ripple.period_cm1, window);
}

/*
 * Against the open beam every ripple is the pellet's own; in the ratio the strongest may be; and where the
 * blank's is stronger, the pellet's own beam may still show it.
 */
double checks_own_fringe_thickness(const struct pellet_measurement *measurement)
{
    double *light = NULL, thickness;

    if (measurement->absolute != NULL) {
        light = absorbance_of(measurement, measurement->absolute);
        thickness = thickness_in(measurement, light, NULL);
    } else {
        thickness = thickness_in(measurement, measurement->absorbance, is_own);
        if (isnan(thickness) && measurement->single_beam != NULL && measurement->reference != NULL) {
            light = absorbance_of(measurement, measurement->single_beam);
            thickness = thickness_in(measurement, light, is_own_in_beam);
        }
    }
    free(light);
    return thickness;
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
