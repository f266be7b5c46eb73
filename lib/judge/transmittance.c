// SPDX-License-Identifier: GPL-3.0-or-later
#include "judge/transmittance.h"

#include "judge/ratio.h"
#include "pellet/judge.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static struct pellet_grid grid_of(const struct pellet_measurement *m)
{
    return (struct pellet_grid){m->n, m->wavenumber};
}

static struct pellet_grid spectrum_grid(const struct pellet_spectrum *s)
{
    return (struct pellet_grid){s->n, s->wavenumber};
}

double *pellet_new_array(size_t n, double value)
{
    double *array = malloc(n * sizeof *array);

    for (size_t i = 0; array != NULL && i < n; i++)
        array[i] = value;
    return array;
}

static bool is_single_beam(const struct pellet_source *source)
{
    return source != NULL && source->spectrum != NULL &&
           source->spectrum->ordinate == PELLET_ORDINATE_SINGLE_BEAM;
}

/* What the subject's single beam is divided by, and what that makes of it. */
static const struct pellet_source *choose_reference(const struct pellet_inputs *in, enum pellet_basis *basis)
{
    const struct pellet_source *open = is_single_beam(in->open_beam) ? in->open_beam : NULL;
    const struct pellet_source *first = is_single_beam(in->first_blank) ? in->first_blank : NULL;
    const struct pellet_source *blank = is_single_beam(in->blank) ? in->blank : NULL;

    *basis = PELLET_AGAINST_NOTHING;
    switch (in->subject.role) {
    case PELLET_SAMPLE:
        *basis = blank != NULL ? PELLET_AGAINST_BLANK : PELLET_AGAINST_NOTHING;
        return blank;
    case PELLET_BLANK:
        *basis = open != NULL    ? PELLET_AGAINST_OPEN_BEAM
                 : first != NULL ? PELLET_AGAINST_FIRST_BLANK
                                 : PELLET_AGAINST_NOTHING;
        return open != NULL ? open : first;
    case PELLET_FILM:
        *basis = open != NULL ? PELLET_AGAINST_OPEN_BEAM : PELLET_AGAINST_NOTHING;
        return open;
    case PELLET_OPEN_BEAM:
    case PELLET_ROLE_COUNT:
        break;
    }
    return NULL;
}

static pellet_status copy_beam(struct pellet_measurement *m, const struct pellet_spectrum *subject)
{
    m->single_beam = pellet_new_array(m->n, NAN);
    if (m->single_beam == NULL)
        return PELLET_E_MEMORY;
    memcpy(m->single_beam, subject->y, m->n * sizeof *m->single_beam);
    return PELLET_OK;
}

/* T and its noise: sigma_T^2 = (sigma_S / B)^2 + (T sigma_B / B)^2; usable where B stands above 10
 * sigma_B. */
static pellet_status divide(struct pellet_measurement *m, const struct pellet_spectrum *reference)
{
    double b_noise, s_noise;
    pellet_status status;

    if (pellet_beam_noise(spectrum_grid(reference), reference->y, &b_noise) != PELLET_OK ||
        pellet_beam_noise(grid_of(m), m->single_beam, &s_noise) != PELLET_OK)
        return PELLET_E_MEMORY;
    b_noise = isnan(b_noise) ? 0.0 : b_noise;
    s_noise = isnan(s_noise) ? b_noise : s_noise;
    m->reference = pellet_new_array(m->n, NAN);
    m->transmittance = pellet_new_array(m->n, NAN);
    if (m->reference == NULL || m->transmittance == NULL)
        return PELLET_E_MEMORY;
    status = pellet_grid_resample(spectrum_grid(reference), reference->y, grid_of(m), m->reference);
    if (status == PELLET_E_MEMORY)
        return status;
    for (size_t i = 0; i < m->n; i++) {
        const double b = m->reference[i];
        if (!(b > PELLET_USABLE_SIGMA * b_noise) || !(b > 0.0) || isnan(m->single_beam[i])) {
            m->mark[i] |= PELLET_POINT_UNUSABLE;
            continue;
        }
        m->transmittance[i] = m->single_beam[i] / b;
        m->sigma[i] = hypot(s_noise / b, m->transmittance[i] * b_noise / b);
    }
    m->single_beams = true;
    return PELLET_OK;
}

/* A file that came ratioed: T as the file gives it. */
static pellet_status take_ratioed(struct pellet_measurement *m, const struct pellet_spectrum *subject)
{
    m->transmittance = pellet_new_array(m->n, NAN);
    if (m->transmittance == NULL)
        return PELLET_E_MEMORY;
    for (size_t i = 0; i < m->n; i++) {
        const double y = subject->y[i];
        m->transmittance[i] = subject->ordinate == PELLET_ORDINATE_ABSORBANCE ? pow(10.0, -y) : y;
        if (isnan(y))
            m->mark[i] |= PELLET_POINT_UNUSABLE;
    }
    return PELLET_OK;
}

/* The blank's own transmittance on the subject's grid, or NULL (also when memory ran out: *status says
 * which). */
static double *blank_transmittance(const struct pellet_measurement *m, pellet_status *status)
{
    const struct pellet_inputs *in = m->inputs;
    const struct pellet_spectrum *blank = in->blank != NULL ? in->blank->spectrum : NULL;
    double *t = NULL, *open = NULL;
    pellet_status resampled;

    *status = PELLET_OK;
    if (blank == NULL || (blank->ordinate == PELLET_ORDINATE_SINGLE_BEAM && !is_single_beam(in->open_beam)) ||
        blank->ordinate == PELLET_ORDINATE_UNKNOWN || blank->ordinate == PELLET_ORDINATE_OTHER)
        return NULL;
    t = pellet_new_array(m->n, NAN);
    open = pellet_new_array(m->n, NAN);
    if (t == NULL || open == NULL) {
        *status = PELLET_E_MEMORY;
        goto fail;
    }
    resampled = pellet_grid_resample(spectrum_grid(blank), blank->y, grid_of(m), t);
    if (resampled != PELLET_OK)
        goto unresampled;
    if (blank->ordinate == PELLET_ORDINATE_SINGLE_BEAM) {
        const struct pellet_spectrum *beam = in->open_beam->spectrum;
        resampled = pellet_grid_resample(spectrum_grid(beam), beam->y, grid_of(m), open);
        if (resampled != PELLET_OK)
            goto unresampled;
        for (size_t i = 0; i < m->n; i++)
            t[i] = open[i] > 0.0 ? t[i] / open[i] : NAN;
    } else if (blank->ordinate == PELLET_ORDINATE_ABSORBANCE) {
        for (size_t i = 0; i < m->n; i++)
            t[i] = pow(10.0, -t[i]);
    }
    free(open);
    return t;
unresampled:
    *status = resampled == PELLET_E_MEMORY ? resampled : PELLET_OK;
fail:
    free(t);
    free(open);
    return NULL;
}

/* Ratioed elsewhere: what against, as the station says; against an open beam the blank's own T is divided
 * out. */
static pellet_status settle_basis_of_ratioed(struct pellet_measurement *m)
{
    const struct pellet_inputs *in = m->inputs;
    pellet_status status = PELLET_OK;
    double *blank;

    if (in->settings->ratioed_against == PELLET_RATIOED_UNKNOWN) {
        m->basis = PELLET_AGAINST_UNKNOWN;
        return PELLET_OK;
    }
    if (in->settings->ratioed_against == PELLET_RATIOED_BLANK) {
        m->basis = PELLET_AGAINST_BLANK;
        return PELLET_OK;
    }
    m->basis = PELLET_AGAINST_OPEN_BEAM;
    m->absolute = pellet_new_array(m->n, NAN);
    if (m->absolute == NULL)
        return PELLET_E_MEMORY;
    memcpy(m->absolute, m->transmittance, m->n * sizeof *m->absolute);
    blank = in->subject.role == PELLET_SAMPLE ? blank_transmittance(m, &status) : NULL;
    if (blank == NULL)
        return status;
    for (size_t i = 0; i < m->n; i++) {
        if (blank[i] > 0.0)
            m->transmittance[i] /= blank[i];
        else
            m->mark[i] |= PELLET_POINT_UNUSABLE;
    }
    m->basis = PELLET_AGAINST_BLANK;
    free(blank);
    return PELLET_OK;
}

/* T against the open beam where one is known: what "without compensation" means. */
static pellet_status find_absolute(struct pellet_measurement *m)
{
    const struct pellet_inputs *in = m->inputs;
    const struct pellet_spectrum *open;
    pellet_status status;
    double *beam;

    if (m->absolute != NULL || m->single_beam == NULL || !is_single_beam(in->open_beam) ||
        in->subject.role == PELLET_OPEN_BEAM)
        return PELLET_OK;
    open = in->open_beam->spectrum;
    beam = pellet_new_array(m->n, NAN);
    if (beam == NULL)
        return PELLET_E_MEMORY;
    status = pellet_grid_resample(spectrum_grid(open), open->y, grid_of(m), beam);
    if (status != PELLET_OK) {
        free(beam);
        return status == PELLET_E_MEMORY ? status : PELLET_OK;
    }
    for (size_t i = 0; i < m->n; i++)
        beam[i] = beam[i] > 0.0 ? m->single_beam[i] / beam[i] : NAN;
    m->absolute = beam;
    return PELLET_OK;
}

/*
 * A file that came ratioed shows its noise only in the ratio: one sigma for the whole spectrum, from the
 * clear windows of T. Where the energy falls off it is too small, which is why the energy mask is not_checked
 * there.
 */
static pellet_status sigma_of_ratioed(struct pellet_measurement *m)
{
    double sigma;
    const pellet_status status = pellet_beam_noise(grid_of(m), m->transmittance, &sigma);

    for (size_t i = 0; status == PELLET_OK && i < m->n; i++)
        m->sigma[i] = sigma;
    return status;
}

/* A single beam is divided by what the role asks for, where there is one and its settings fit. */
static pellet_status take_single_beam(struct pellet_measurement *m)
{
    const struct pellet_spectrum *subject = m->inputs->subject.spectrum;
    const struct pellet_source *reference = choose_reference(m->inputs, &m->basis);
    pellet_status status = copy_beam(m, subject);

    if (status == PELLET_OK && reference != NULL &&
        !pellet_ratio_conflict(subject, reference->spectrum, m->conflict, sizeof m->conflict))
        status = divide(m, reference->spectrum);
    if (m->transmittance == NULL)
        m->basis = PELLET_AGAINST_NOTHING;
    return status;
}

static pellet_status take_as_given(struct pellet_measurement *m)
{
    pellet_status status = take_ratioed(m, m->inputs->subject.spectrum);

    if (status == PELLET_OK)
        status = settle_basis_of_ratioed(m);
    return status == PELLET_OK ? sigma_of_ratioed(m) : status;
}

pellet_status pellet_transmittance_take(struct pellet_measurement *m)
{
    const pellet_status status = is_single_beam(&m->inputs->subject) ? take_single_beam(m) : take_as_given(m);

    return status == PELLET_OK ? find_absolute(m) : status;
}
