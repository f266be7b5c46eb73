// SPDX-License-Identifier: GPL-3.0-or-later
#include "pellet/judge.h"

#include "judge/advice.h"
#include "judge/caution.h"
#include "judge/identity.h"
#include "judge/measure.h"
#include "judge/wording.h"
#include "pellet/reference.h"

#include <gsl/gsl_errno.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A file that cannot be read, or does not say what its ordinate is, has this one finding. It is not in the
 * table of checks because no rule set can change it. */
static const struct pellet_check read_check = {
    .id = "read",
    .bench_word = "unreadable",
    .quantity = "file",
    .outcome = PELLET_RESCAN,
    .stage = PELLET_STAGE_TRUST,
    .meaning = "the file can be read as one infrared spectrum",
    .source = "the project's own",
};

/* The findings as they are worked out, one for each check that applies to the role. */
struct findings {
    size_t n;
    struct pellet_finding *item; /* owned */
};

static bool refuses(const struct pellet_finding *f)
{
    return f->outcome == PELLET_WAIT || f->outcome == PELLET_RESCAN || f->outcome == PELLET_REMAKE;
}

static bool is_check(const struct pellet_finding *f, const char *id)
{
    return f->check != NULL && strcmp(f->check->id, id) == 0;
}

/* ---------------------------------------------------------------- running the checks */

/* A sample without a ratio shows nothing of its pellet: only the check that says why may speak. */
static bool can_run(const struct pellet_check *check, const struct pellet_measurement *m)
{
    return m->role != PELLET_SAMPLE || m->transmittance != NULL || strcmp(check->id, "blank") == 0;
}

static void run_check(const struct pellet_check *check, const struct pellet_measurement *m,
                      struct pellet_finding *f)
{
    const struct pellet_rule *rule = &m->inputs->rules->rule[pellet_check_index(check)];

    pellet_finding_init(check, f);
    if (!rule->on)
        pellet_finding_not_checked(f, PELLET_SAYS_OFF);
    else if (!can_run(check, m))
        pellet_finding_not_checked(f, PELLET_SAYS_NEEDS_RATIO);
    else
        check->run(m, rule, f);
}

static pellet_status run_checks(const struct pellet_measurement *m, struct findings *out)
{
    out->item = calloc(pellet_check_count(), sizeof *out->item);
    if (out->item == NULL)
        return PELLET_E_MEMORY;
    for (size_t i = 0; i < pellet_check_count(); i++) {
        const struct pellet_check *check = pellet_check_at(i);
        if (check->roles & PELLET_FOR(m->role))
            run_check(check, m, &out->item[out->n++]);
    }
    /* A verdict must not depend on what this machine was short of just now. */
    for (size_t i = 0; i < out->n; i++) {
        if (out->item[i].outcome == PELLET_NOT_CHECKED && out->item[i].phrase == PELLET_SAYS_NO_MEMORY)
            return PELLET_E_MEMORY;
    }
    return PELLET_OK;
}

/* ---------------------------------------------------------------- trust first */

static bool distrusts(const struct pellet_finding *trust, const struct pellet_finding *f)
{
    for (size_t i = 0; i < trust->distrust_count; i++) {
        if (f->rests_low <= trust->distrust[i].high && f->rests_high >= trust->distrust[i].low)
            return true;
    }
    return false;
}

/* A remake needs a trustworthy measurement: checks of the pellet that rest on a refused range fall silent. */
static void put_trust_first(struct findings *findings)
{
    for (size_t t = 0; t < findings->n; t++) {
        const struct pellet_finding *trust = &findings->item[t];
        if (trust->check->stage != PELLET_STAGE_TRUST || !refuses(trust))
            continue;
        for (size_t i = 0; i < findings->n; i++) {
            struct pellet_finding *f = &findings->item[i];
            if (f->check->stage == PELLET_STAGE_PELLET && f->outcome != PELLET_NOT_CHECKED &&
                distrusts(trust, f))
                pellet_finding_not_checked(f, PELLET_SAYS_MEASURE_AGAIN);
        }
    }
}

/* A later blank is judged as a difference from the provisional one; being drier than that is no fault. */
static bool forgive_better_blank(const struct pellet_measurement *m, struct findings *findings)
{
    bool better = false;

    if (m->role != PELLET_BLANK || m->basis != PELLET_AGAINST_FIRST_BLANK)
        return false;
    for (size_t i = 0; i < findings->n; i++) {
        struct pellet_finding *f = &findings->item[i];
        if (is_check(f, "moisture") && refuses(f) && f->value < 0.0) {
            f->outcome = PELLET_PASS;
            better = true;
        }
    }
    return better;
}

static void apply_required(const struct pellet_rules *rules, struct findings *findings)
{
    for (size_t i = 0; i < findings->n; i++) {
        struct pellet_finding *f = &findings->item[i];
        if (f->outcome == PELLET_NOT_CHECKED && f->phrase != PELLET_SAYS_MEASURE_AGAIN &&
            rules->rule[pellet_check_index(f->check)].required)
            f->outcome = PELLET_WAIT;
    }
}

static bool cured_by_blank(const struct pellet_finding *f)
{
    static const char *const ids[] = {"blank", "overcompensation", "inverted", "moisture"};

    for (size_t i = 0; i < sizeof ids / sizeof ids[0]; i++) {
        if (is_check(f, ids[i]))
            return f->outcome == PELLET_WAIT;
    }
    return false;
}

/* Nothing more can come: a wait for a blank becomes a rescan and keeps its reason. */
static void end_waits(struct findings *findings)
{
    for (size_t i = 0; i < findings->n; i++) {
        if (cured_by_blank(&findings->item[i]))
            findings->item[i].outcome = PELLET_RESCAN;
    }
}

bool pellet_verdict_waits_for_blank(const struct pellet_verdict *verdict)
{
    bool waits = false;

    if (verdict->outcome != PELLET_WAIT)
        return false;
    for (size_t i = 0; i < verdict->reason_count; i++)
        waits |= cured_by_blank(&verdict->reason[i]);
    return waits;
}

/* ---------------------------------------------------------------- from findings to the verdict */

static enum pellet_outcome worst_outcome(const struct findings *findings)
{
    enum pellet_outcome worst = PELLET_PASS;

    for (size_t i = 0; i < findings->n; i++) {
        if (refuses(&findings->item[i]) && findings->item[i].outcome > worst)
            worst = findings->item[i].outcome;
    }
    return worst;
}

static pellet_status render(struct pellet_arena *arena, struct findings *findings)
{
    for (size_t i = 0; i < findings->n; i++) {
        findings->item[i].says = pellet_words_finding(arena, &findings->item[i]);
        if (findings->item[i].says == NULL)
            return PELLET_E_MEMORY;
    }
    return PELLET_OK;
}

/* Checks and reasons, the worst reasons first, equal ones in the order of the rule set. */
static pellet_status keep_findings(const struct findings *findings, struct pellet_verdict *v)
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
static pellet_status summarise(const struct pellet_measurement *m, struct pellet_verdict *v)
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

static void fill_state(struct pellet_verdict *v)
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
    for (size_t i = 0; i < v->check_count; i++) {
        if (is_check(&v->check[i], id) && v->check[i].outcome != PELLET_NOT_CHECKED)
            return v->check[i].value;
    }
    return NAN;
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

    v->found.water_excess_ug_cm2 = value_of(v, "moisture");
    v->found.water_basis = pellet_basis_id(m->basis);
    v->found.thickness_mm = value_of(v, "thickness");
    v->found.pressure_mpa = pressure_of(m->inputs->row);
    v->found.noise = m->noise;
    v->found.transmittance_2000 = value_of(v, "opacity") / 100.0;
    v->found.strongest_band_cm1 = band != NULL ? band->at_cm1 : NAN;
    v->found.true_absorbance = band != NULL ? band->top : NAN;
    v->found.scatter_exponent = NAN;
    for (size_t i = 0; i < v->check_count; i++) {
        if (is_check(&v->check[i], "tilt"))
            v->found.scatter_exponent = v->check[i].number[0];
    }
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

static void clear_numbers(struct pellet_verdict *v)
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

/* ---------------------------------------------------------------- the two ways to a verdict */

/* Why the subject is no spectrum that can be judged; NOTHING where it is one. */
static enum pellet_phrase unreadable(const struct pellet_inputs *in)
{
    if (in->subject.spectrum == NULL)
        return PELLET_SAYS_READ_FAILED;
    if (in->subject.spectrum->ordinate == PELLET_ORDINATE_UNKNOWN)
        return PELLET_SAYS_ORDINATE_UNKNOWN;
    if (in->subject.spectrum->ordinate == PELLET_ORDINATE_OTHER)
        return PELLET_SAYS_ORDINATE_OTHER;
    return PELLET_SAYS_NOTHING;
}

static pellet_status judge_unreadable(const struct pellet_inputs *in, enum pellet_phrase why,
                                      struct pellet_verdict *v)
{
    struct pellet_finding f;
    struct findings one = {1, &f};
    struct pellet_text cause = {0};
    pellet_status status;

    pellet_finding_init(&read_check, &f);
    f.outcome = PELLET_RESCAN;
    f.phrase = why;
    v->outcome = PELLET_RESCAN;
    fill_state(v);
    if (why == PELLET_SAYS_READ_FAILED) {
        if (in->read_error->line > 0)
            pellet_text_addf(&cause, "line %zu: ", in->read_error->line);
        pellet_text_adds(&cause, in->read_error->message);
        f.says = cause.failed ? NULL : pellet_arena_string(&v->arena, pellet_text_string(&cause));
        pellet_text_free(&cause);
    } else {
        f.says = pellet_words_phrase(&v->arena, why, NULL);
    }
    if (f.says == NULL)
        return PELLET_E_MEMORY;
    status = keep_findings(&one, v);
    v->check_count = 0; /* no check of the rule set was made */
    if (status == PELLET_OK)
        status = summarise(NULL, v);
    return status == PELLET_OK ? pellet_advise(in, NULL, v) : status;
}

static pellet_status judge_measured(const struct pellet_inputs *in, const struct pellet_measurement *m,
                                    struct pellet_verdict *v)
{
    struct findings findings = {0};
    pellet_status status = run_checks(m, &findings);

    if (status != PELLET_OK)
        goto done;
    v->basis = m->basis;
    put_trust_first(&findings);
    v->becomes_reference = forgive_better_blank(m, &findings);
    apply_required(in->rules, &findings);
    if (in->wait_over)
        end_waits(&findings);
    v->outcome = worst_outcome(&findings);
    fill_state(v);
    if ((status = render(&v->arena, &findings)) != PELLET_OK ||
        (status = keep_findings(&findings, v)) != PELLET_OK || (status = fill_bands(m, v)) != PELLET_OK)
        goto done;
    fill_found(m, v);
    if ((status = pellet_caution(in, v)) == PELLET_OK && (status = summarise(m, v)) == PELLET_OK)
        status = pellet_advise(in, m, v);
done:
    free(findings.item);
    return status;
}

pellet_status pellet_judge(const struct pellet_inputs *inputs, struct pellet_verdict *verdict,
                           struct pellet_spectrum *ratio, struct pellet_error *error)
{
    const enum pellet_phrase why = unreadable(inputs);
    struct pellet_verdict v = {0};
    struct pellet_measurement m = {0};
    struct pellet_spectrum ratioed = {0};
    pellet_status status;

    /* GSL would end the process on an error; every status of it is checked instead. */
    gsl_set_error_handler_off();
    clear_numbers(&v);
    status = pellet_verdict_identify(inputs, &v);
    if (status != PELLET_OK)
        goto fail;
    if (why != PELLET_SAYS_NOTHING) {
        status = judge_unreadable(inputs, why, &v);
    } else {
        status = pellet_measure(inputs, &m, error);
        if (status == PELLET_OK)
            status = judge_measured(inputs, &m, &v);
        if (status == PELLET_OK && ratio != NULL && m.transmittance != NULL)
            status = pellet_measurement_ratio(&m, &ratioed, error);
    }
    if (status != PELLET_OK)
        goto fail;
    pellet_measurement_clear(&m);
    *verdict = v;
    if (ratio != NULL)
        *ratio = ratioed;
    return PELLET_OK;
fail:
    pellet_measurement_clear(&m);
    pellet_verdict_clear(&v);
    return pellet_fail(error, status, "the verdict could not be worked out: %s", pellet_status_text(status));
}
