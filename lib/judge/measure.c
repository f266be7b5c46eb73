// SPDX-License-Identifier: GPL-3.0-or-later
#include "judge/measure.h"

#include "checks/ripple_curve.h"
#include "judge/classify.h"
#include "judge/mark.h"
#include "judge/ratio.h"
#include "judge/transmittance.h"
#include "pellet/reference.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LN10 2.302585092994046
/* Structure wider than this belongs to the baseline; the O-H stretch of a solid stays a band. */
#define BASELINE_STIFFNESS_CM1 700.0
/* Water less than none is taken for the blank's when it is this significant. */
#define WATER_SIGMA 3.0
/* Above this the absorption of water is counted to its stretch, below to its bend: its clearest place. */
#define BETWEEN_WATER_BANDS 2450.0
/* Noise where no window gives any: one part in a thousand, a poor day's figure (common practice, no
 * source). */
#define NOISE_UNKNOWN 1e-3

static struct pellet_grid grid_of(const struct pellet_measurement *m)
{
    return (struct pellet_grid){m->n, m->wavenumber};
}

void pellet_measurement_clear(struct pellet_measurement *m)
{
    if (m == NULL)
        return;
    free(m->wavenumber);
    free(m->single_beam);
    free(m->reference);
    free(m->transmittance);
    free(m->absorbance);
    free(m->sigma);
    free(m->baseline);
    free(m->residual_water);
    free(m->mark);
    free(m->absolute);
    free(m->band);
    *m = (struct pellet_measurement){0};
}

static pellet_status allocate(struct pellet_measurement *m, const struct pellet_spectrum *subject)
{
    m->n = subject->n;
    m->wavenumber = pellet_new_array(m->n, 0.0);
    m->absorbance = pellet_new_array(m->n, NAN);
    m->sigma = pellet_new_array(m->n, NAN);
    m->baseline = pellet_new_array(m->n, 0.0);
    m->residual_water = pellet_new_array(m->n, 0.0);
    m->mark = calloc(m->n, 1);
    if (m->wavenumber == NULL || m->absorbance == NULL || m->sigma == NULL || m->baseline == NULL ||
        m->residual_water == NULL || m->mark == NULL)
        return PELLET_E_MEMORY;
    memcpy(m->wavenumber, subject->wavenumber, m->n * sizeof *m->wavenumber);
    m->spacing = pellet_grid_spacing(grid_of(m));
    m->resolution = subject->resolution;
    m->noise = NAN;
    return PELLET_OK;
}

static void take_absorbance(struct pellet_measurement *m)
{
    for (size_t i = 0; i < m->n; i++) {
        const double floor = isnan(m->sigma[i]) ? 0.0 : PELLET_BOUND_SIGMA * m->sigma[i];
        double t = m->transmittance[i];
        if ((m->mark[i] & PELLET_POINT_UNUSABLE) || isnan(t)) {
            m->mark[i] |= PELLET_POINT_UNUSABLE;
            m->transmittance[i] = NAN;
            continue;
        }
        if (t <= floor) {
            m->mark[i] |= PELLET_POINT_LOWER_BOUND;
            t = floor;
        }
        /* A clipped zero without any known noise bounds nothing; it is left out rather than made up. */
        if (t > 0.0)
            m->absorbance[i] = -log10(t);
        else
            m->mark[i] |= PELLET_POINT_UNUSABLE;
    }
}

/* A lone single beam: -log10 of it over its maximum, so that narrow bands and their local baseline can be
 * seen. */
static pellet_status take_log_beam(struct pellet_measurement *m)
{
    double noise, top = 0.0;

    if (pellet_beam_noise(grid_of(m), m->single_beam, &noise) != PELLET_OK)
        return PELLET_E_MEMORY;
    for (size_t i = 0; i < m->n; i++)
        top = fmax(top, m->single_beam[i]);
    for (size_t i = 0; i < m->n; i++) {
        const double b = m->single_beam[i];
        if (b > 0.0 && !(b <= PELLET_USABLE_SIGMA * noise))
            m->absorbance[i] = -log10(b / top);
        else
            m->mark[i] |= PELLET_POINT_UNUSABLE;
    }
    return PELLET_OK;
}

static void mark_air(struct pellet_measurement *m)
{
    for (size_t i = 0; i < m->n; i++) {
        const double nu = m->wavenumber[i];
        if ((nu >= PELLET_VAPOUR_BEND_LOW && nu <= PELLET_VAPOUR_BEND_HIGH) ||
            (nu >= PELLET_VAPOUR_STRETCH_LOW && nu <= PELLET_VAPOUR_STRETCH_HIGH))
            m->mark[i] |= PELLET_POINT_VAPOUR;
        if (nu >= PELLET_CO2_LOW && nu <= PELLET_CO2_HIGH)
            m->mark[i] |= PELLET_POINT_CO2;
    }
}

/* 1 sigma of A at each point, 1/ln 10 of that of T over T; `noise` where that of T is not known. */
static void spread_noise(const struct pellet_measurement *m, double noise, double *sigma)
{
    for (size_t i = 0; i < m->n; i++) {
        const double t = fmax(m->transmittance[i], PELLET_BOUND_SIGMA * m->sigma[i]); /* NaN gives way */
        sigma[i] = m->sigma[i] / (LN10 * t);
        if (!isfinite(sigma[i]))
            sigma[i] = noise;
    }
}

/* What there is to take out of one of water's bands, as a multiple of the fitted curve. */
static double water_share(const struct pellet_water *water, double own_ug_cm2)
{
    if (!water->upper_bound)
        return 1.0;
    return own_ug_cm2 < -WATER_SIGMA * water->sigma_ug_cm2 ? own_ug_cm2 / water->ug_cm2 : 0.0;
}

/*
 * Where the two bands disagree the more may be the sample's own O-H, and then there is no water to take out.
 * Less than none is another matter: no sample makes it, so each band's own estimate is the blank's water,
 * though it may be hidden in one of the two; water whose bend the sample hides has its bend and the libration
 * below it all the same.
 */
static pellet_status fit_water(struct pellet_measurement *m, const double *calm, double noise)
{
    const pellet_status status = pellet_water_fit(grid_of(m), calm, noise, &m->water, m->residual_water);
    const bool fitted = status == PELLET_OK;
    const double stretch = fitted ? water_share(&m->water, m->water.stretch_ug_cm2) : 0.0;
    const bool bend_hidden = fitted && isnan(m->water.bend_ug_cm2);
    const double bend = !fitted ? 0.0 : bend_hidden ? stretch : water_share(&m->water, m->water.bend_ug_cm2);

    for (size_t i = 0; i < m->n; i++)
        m->residual_water[i] *= m->wavenumber[i] > BETWEEN_WATER_BANDS ? stretch : bend;
    return status == PELLET_E_MEMORY ? status : PELLET_OK;
}

/*
 * Baseline and bands of a curve that is A, or A without its ripple. Where the beam is weak, at the ends of
 * the range and in the depth of the room's bands, the noise of a ratio is larger, and the bands are held
 * against what it is there. E_MEMORY, or why there is no baseline.
 */
static pellet_status find_bands(struct pellet_measurement *m, const double *curve, double noise)
{
    const struct pellet_grid grid = grid_of(m);
    unsigned char *bound = NULL;
    double *sigma = NULL;
    pellet_status status = pellet_baseline(grid, curve, noise, BASELINE_STIFFNESS_CM1, m->baseline);

    if (status != PELLET_OK)
        return status;
    free(m->band);
    m->band = NULL;
    m->band_count = 0;
    status = PELLET_E_MEMORY;
    bound = calloc(m->n ? m->n : 1, 1);
    sigma = pellet_new_array(m->n, noise);
    if (bound == NULL || sigma == NULL)
        goto done;
    for (size_t i = 0; i < m->n; i++)
        bound[i] = (m->mark[i] & PELLET_POINT_LOWER_BOUND) != 0;
    if (m->transmittance == NULL) {
        status = pellet_bands_find(grid, curve, m->baseline, noise, bound, &m->band, &m->band_count);
    } else {
        spread_noise(m, noise, sigma);
        status = pellet_bands_find_sigma(grid, curve, m->baseline, sigma, bound, &m->band, &m->band_count);
    }
done:
    free(bound);
    free(sigma);
    return status == PELLET_E_MEMORY ? status : PELLET_OK;
}

/* Baseline, bands and ripple. A ripple above the noise makes bands of its crests, and hides small ones: they
 * are sought once more without it. `calm`, n points, is A without the ripple. */
static pellet_status find_structure(struct pellet_measurement *m, double noise, double *calm)
{
    pellet_status status = find_bands(m, m->absorbance, noise);

    memcpy(calm, m->absorbance, m->n * sizeof *calm);
    if (status == PELLET_OK)
        status = pellet_ripple_settle(m);
    if (status != PELLET_OK || !(m->ripple.amplitude > noise))
        return status;
    for (size_t i = 0; i < m->n; i++)
        calm[i] -= checks_ripple_at(&m->ripple, m->wavenumber[i]);
    status = find_bands(m, calm, noise);
    pellet_crests_drop(m);
    return status;
}

/* Baseline, bands, water: what the curve itself tells. */
static pellet_status describe(struct pellet_measurement *m)
{
    double *calm = pellet_new_array(m->n, NAN);
    pellet_status status = PELLET_E_MEMORY;
    double noise;

    if (calm == NULL || pellet_beam_noise(grid_of(m), m->absorbance, &m->noise) != PELLET_OK)
        goto done;
    noise = isnan(m->noise) ? NOISE_UNKNOWN : m->noise;
    mark_air(m);
    status = find_structure(m, noise, calm);
    if (status != PELLET_OK) { /* too little of a curve: no bands, and the checks say what they lack */
        status = status == PELLET_E_MEMORY ? status : PELLET_OK;
        goto done;
    }
    if (m->transmittance != NULL)
        status = fit_water(m, calm, noise);
    if (status == PELLET_OK)
        status = pellet_bands_classify(m);
    if (status == PELLET_OK)
        status = pellet_bands_mark(m, calm, noise);
done:
    free(calm);
    return status;
}

static pellet_status fill(struct pellet_measurement *m)
{
    pellet_status status = allocate(m, m->inputs->subject.spectrum);

    if (status == PELLET_OK)
        status = pellet_transmittance_take(m);
    if (status != PELLET_OK)
        return status;
    if (m->transmittance != NULL)
        take_absorbance(m);
    else
        status = take_log_beam(m);
    return status == PELLET_OK ? describe(m) : status;
}

pellet_status pellet_measure(const struct pellet_inputs *inputs, struct pellet_measurement *measurement,
                             struct pellet_error *error)
{
    struct pellet_measurement m = {.inputs = inputs, .role = inputs->subject.role};
    const pellet_status status = fill(&m);

    if (status != PELLET_OK) {
        pellet_measurement_clear(&m);
        return pellet_fail(error, status, "the measurement could not be worked out: %s",
                           pellet_status_text(status));
    }
    *measurement = m;
    return PELLET_OK;
}

pellet_status pellet_measurement_ratio(const struct pellet_measurement *m, struct pellet_spectrum *ratio,
                                       struct pellet_error *error)
{
    struct pellet_spectrum out = {0};
    const struct pellet_spectrum *subject = m->inputs->subject.spectrum;
    pellet_status status;

    if (m->transmittance == NULL)
        return pellet_fail(error, PELLET_E_SHORT, "there is no ratio: only a single beam");
    status = pellet_spectrum_copy(subject, &out);
    if (status != PELLET_OK)
        return pellet_fail(error, status, "the ratio could not be kept");
    memcpy(out.y, m->absorbance, m->n * sizeof *out.y);
    out.ordinate = PELLET_ORDINATE_ABSORBANCE;
    *ratio = out;
    return PELLET_OK;
}
