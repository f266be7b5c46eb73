// SPDX-License-Identifier: GPL-3.0-or-later
#include "judge/verdict_fill.h"

#include "judge/wording.h"
#include "pellet/reference.h"

#include <math.h>

void verdict_fill_nothing(struct pellet_verdict *v)
{
    v->advice = (struct pellet_advice){.sample_factor = NAN,
                                       .sample_factor_low = NAN,
                                       .sample_factor_high = NAN,
                                       .powder_factor = NAN,
                                       .scan_factor = NAN,
                                       .take_mg = NAN,
                                       .add_kbr_mg = NAN,
                                       .press_mg = NAN,
                                       .thickness_mm = NAN};
    v->found = (struct pellet_found){NAN, NULL, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN};
    v->judged = PELLET_NO_TIME;
}

/* Checks and reasons, the worst reasons first, equal ones in the order of the rule set. */
pellet_status verdict_fill_findings(const struct findings *findings, struct pellet_verdict *v)
{
    v->check = pellet_arena_alloc(&v->arena, (findings->n + 1) * sizeof *v->check);
    v->reason = pellet_arena_alloc(&v->arena, (findings->n + 1) * sizeof *v->reason);
    if (v->check == NULL || v->reason == NULL)
        return PELLET_E_MEMORY;
    for (size_t i = 0; i < findings->n; i++)
        v->check[v->check_count++] = findings->item[i];
    for (int outcome = PELLET_REMAKE; outcome >= PELLET_WAIT; outcome--) {
        for (size_t i = 0; i < findings->n; i++) {
            if ((int)findings->item[i].outcome == outcome)
                v->reason[v->reason_count++] = findings->item[i];
        }
    }
    return PELLET_OK;
}

static size_t count_not_checked(const struct pellet_verdict *v)
{
    size_t n = 0;

    for (size_t i = 0; i < v->check_count; i++)
        n += v->check[i].outcome == PELLET_NOT_CHECKED && v->check[i].phrase != PELLET_SAYS_OFF;
    return n;
}

/* "too strong: 2.41 A at 1068 cm-1, limit 1.5 A; damp: ...; 1 not checked" */
pellet_status verdict_fill_summary(const struct pellet_measurement *m, struct pellet_verdict *v)
{
    const struct pellet_band *band = m != NULL ? pellet_strongest_band(m) : NULL;
    const size_t missing = count_not_checked(v);
    struct pellet_text text = {0};

    for (size_t i = 0; i < v->reason_count; i++) {
        const struct pellet_finding *f = &v->reason[i];
        pellet_text_addf(&text, "%s%s: %s", i > 0 ? "; " : "", f->check->bench_word, f->says);
    }
    if (v->reason_count == 0) {
        pellet_text_adds(&text, "fit for use");
        if (v->role == PELLET_SAMPLE && band != NULL) {
            pellet_text_adds(&text, ": strongest band ");
            pellet_words_quantity(band->top, PELLET_UNIT_ABSORBANCE, &text);
            pellet_text_adds(&text, " at ");
            pellet_words_quantity(band->at_cm1, PELLET_UNIT_WAVENUMBER, &text);
        }
    }
    if (missing > 0)
        pellet_text_addf(&text, "; %zu not checked", missing);
    v->summary = text.failed ? NULL : pellet_arena_string(&v->arena, pellet_text_string(&text));
    pellet_text_free(&text);
    return v->summary != NULL ? PELLET_OK : PELLET_E_MEMORY;
}

void verdict_fill_state(struct pellet_verdict *v)
{
    if (v->role != PELLET_BLANK)
        return;
    if (v->outcome != PELLET_PASS)
        v->state = PELLET_BLANK_REFUSED;
    else
        v->state = v->basis == PELLET_AGAINST_OPEN_BEAM ? PELLET_BLANK_ACCEPTED : PELLET_BLANK_PROVISIONAL;
}

static double value_of(const struct pellet_verdict *v, const char *id)
{
    const struct pellet_finding *f = finding_of(v->check, v->check_count, id);

    return f != NULL && f->outcome != PELLET_NOT_CHECKED ? f->value : NAN;
}

static double pressure_of(const struct pellet_worksheet_row *row)
{
    return row != NULL && row->load_t > 0.0 && row->die_mm > 0.0
               ? pellet_die_pressure_mpa(row->load_t, row->die_mm)
               : NAN;
}

static void fill_found(const struct pellet_measurement *m, struct pellet_verdict *v)
{
    const struct pellet_band *band = pellet_strongest_band(m);
    const struct pellet_finding *tilt = finding_of(v->check, v->check_count, "tilt");

    v->found.water_excess_ug_cm2 = value_of(v, "moisture");
    v->found.water_basis = pellet_basis_id(m->basis);
    v->found.thickness_mm = value_of(v, "thickness");
    v->found.pressure_mpa = pressure_of(m->inputs->row);
    v->found.noise = m->noise;
    v->found.transmittance_2000 = value_of(v, "opacity") / 100.0;
    v->found.strongest_band_cm1 = band != NULL ? band->at_cm1 : NAN;
    v->found.true_absorbance = band != NULL ? band->top : NAN;
    v->found.scatter_exponent = tilt != NULL ? tilt->number[0] : NAN;
}

static pellet_status fill_bands(const struct pellet_measurement *m, struct pellet_verdict *v)
{
    v->band = pellet_arena_alloc(&v->arena, PELLET_VERDICT_BANDS_MAX * sizeof *v->band);
    if (v->band == NULL)
        return PELLET_E_MEMORY;
    for (size_t i = 0; i < m->band_count && v->band_count < PELLET_VERDICT_BANDS_MAX; i++) {
        const struct pellet_band *b = &m->band[i];
        if (b->kind == PELLET_BAND_SAMPLE)
            v->band[v->band_count++] = (struct pellet_rendered_band){b->at_cm1, b->height, b->width_cm1};
    }
    return PELLET_OK;
}

pellet_status verdict_fill_measured(const struct pellet_measurement *m, struct pellet_verdict *v)
{
    fill_found(m, v);
    return fill_bands(m, v);
}
