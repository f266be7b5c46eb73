// SPDX-License-Identifier: GPL-3.0-or-later
#include "judge/identity.h"

#include <math.h>
#include <string.h>

#define NS_PER_MINUTE 60e9

void pellet_verdict_clear(struct pellet_verdict *verdict)
{
    if (verdict == NULL)
        return;
    pellet_arena_free(&verdict->arena);
    *verdict = (struct pellet_verdict){0};
}

pellet_status pellet_verdict_warn(struct pellet_verdict *v, const char *text)
{
    /* Warnings are few: growing the list by one each time costs nothing and needs no capacity. */
    const char **grown = pellet_arena_alloc(&v->arena, (v->warning_count + 1) * sizeof *grown);

    if (grown == NULL)
        return PELLET_E_MEMORY;
    if (v->warning_count > 0)
        memcpy(grown, v->warning, v->warning_count * sizeof *grown);
    grown[v->warning_count++] = text;
    v->warning = grown;
    return PELLET_OK;
}

/* The reader's warnings come as lines. */
static pellet_status take_reader_warnings(struct pellet_verdict *v, const char *lines)
{
    while (lines != NULL && *lines != '\0') {
        const size_t n = strcspn(lines, "\n");
        const char *copy = pellet_arena_copy(&v->arena, lines, n);
        if (copy == NULL || (n > 0 && pellet_verdict_warn(v, copy) != PELLET_OK))
            return PELLET_E_MEMORY;
        lines += n + (lines[n] == '\n');
    }
    return PELLET_OK;
}

static double age_min(const struct pellet_source *subject, const struct pellet_source *other)
{
    if (subject->measured == PELLET_NO_TIME || other->measured == PELLET_NO_TIME)
        return NAN;
    return (double)(subject->measured - other->measured) / NS_PER_MINUTE;
}

static pellet_status rest_on(struct pellet_verdict *v, const char *as, const struct pellet_source *subject,
                             const struct pellet_source *other)
{
    struct pellet_against *against = &v->against[v->against_count];

    against->as = as;
    against->file = pellet_arena_string(&v->arena, other->file);
    if (against->file == NULL)
        return PELLET_E_MEMORY;
    memcpy(against->sha256, other->sha256, sizeof against->sha256);
    against->measured = other->measured;
    against->age_min = age_min(subject, other);
    against->state = other->state;
    v->against_count++;
    return PELLET_OK;
}

/* The blank of the file named just before. It is named because it may have been another by then: a sample
 * that waited was judged again with a later one. */
static pellet_status rest_on_blank(struct pellet_verdict *v, const char *as,
                                   const struct pellet_source *subject, const struct pellet_source *blank)
{
    return blank->file != NULL ? rest_on(v, as, subject, blank) : PELLET_OK;
}

static bool came_ratioed(const struct pellet_inputs *in)
{
    const struct pellet_spectrum *s = in->subject.spectrum;

    return s != NULL &&
           (s->ordinate == PELLET_ORDINATE_TRANSMITTANCE || s->ordinate == PELLET_ORDINATE_ABSORBANCE);
}

static pellet_status list_against(const struct pellet_inputs *in, struct pellet_verdict *v)
{
    const struct {
        const char *as;
        const struct pellet_source *source;
    } single[] = {
        {came_ratioed(in) ? "reported" : "blank", in->blank},
        {"open_beam", in->open_beam},
        {"first_blank", in->first_blank},
    };
    const size_t most = sizeof single / sizeof single[0] + 2 * (in->earlier_count + in->attempt_count);

    v->against = pellet_arena_alloc(&v->arena, most * sizeof *v->against);
    if (v->against == NULL)
        return PELLET_E_MEMORY;
    for (size_t i = 0; i < sizeof single / sizeof single[0]; i++) {
        if (single[i].source != NULL && rest_on(v, single[i].as, &in->subject, single[i].source) != PELLET_OK)
            return PELLET_E_MEMORY;
    }
    for (size_t i = 0; i < in->earlier_count; i++) {
        if (rest_on(v, "earlier", &in->subject, &in->earlier[i].source) != PELLET_OK ||
            rest_on_blank(v, "earlier_blank", &in->subject, &in->earlier[i].blank_source) != PELLET_OK)
            return PELLET_E_MEMORY;
    }
    for (size_t i = 0; i < in->attempt_count; i++) {
        if (rest_on(v, "attempt", &in->subject, &in->attempt[i].source) != PELLET_OK ||
            rest_on_blank(v, "attempt_blank", &in->subject, &in->attempt[i].blank_source) != PELLET_OK)
            return PELLET_E_MEMORY;
    }
    return PELLET_OK;
}

static pellet_status list_skipped(const struct pellet_inputs *in, struct pellet_verdict *v)
{
    v->skipped = pellet_arena_alloc(&v->arena, (in->skipped_count + 1) * sizeof *v->skipped);
    if (v->skipped == NULL)
        return PELLET_E_MEMORY;
    for (size_t i = 0; i < in->skipped_count; i++) {
        struct pellet_skipped *s = &v->skipped[v->skipped_count++];
        s->file = pellet_arena_string(&v->arena, in->skipped[i].file);
        s->why = pellet_arena_string(&v->arena, in->skipped[i].why);
        if (s->file == NULL || s->why == NULL)
            return PELLET_E_MEMORY;
    }
    return PELLET_OK;
}

static pellet_status list_warnings(const struct pellet_inputs *in, struct pellet_verdict *v)
{
    for (size_t i = 0; i < in->warning_count; i++) {
        const char *copy = pellet_arena_string(&v->arena, in->warning[i]);
        if (copy == NULL || pellet_verdict_warn(v, copy) != PELLET_OK)
            return PELLET_E_MEMORY;
    }
    return in->subject.spectrum != NULL ? take_reader_warnings(v, in->subject.spectrum->warnings) : PELLET_OK;
}

/* What of a row can change a verdict: the masses, the die and the load, as numbers that read back. */
static void add_row(const struct pellet_worksheet_row *row, struct pellet_text *text)
{
    const double values[] = {row->sample_mg,      row->kbr_mg, row->pressed_mg,
                             row->powder_left_mg, row->die_mm, row->load_t};

    for (size_t i = 0; i < sizeof values / sizeof values[0]; i++) {
        char number[32];
        pellet_number_format(values[i], number);
        pellet_text_addf(text, "%s\n", number);
    }
}

pellet_status pellet_worksheet_hash(const struct pellet_worksheet_row *row,
                                    const struct pellet_worksheet_row *const attempt[], size_t attempt_count,
                                    char out[PELLET_SHA256_HEX])
{
    struct pellet_text text = {0};

    out[0] = '\0';
    if (row != NULL)
        add_row(row, &text);
    for (size_t i = 0; i < attempt_count; i++) {
        if (attempt[i] == NULL)
            continue;
        pellet_text_addf(&text, "attempt %zu\n", i);
        add_row(attempt[i], &text);
    }
    const pellet_status status = pellet_text_status(&text);
    if (status == PELLET_OK && text.length > 0)
        pellet_sha256_hex(text.data, text.length, out);
    pellet_text_free(&text);
    return status;
}

static pellet_status hash_rows(const struct pellet_inputs *in, struct pellet_verdict *v)
{
    const struct pellet_worksheet_row **attempt =
        pellet_arena_alloc(&v->arena, (in->attempt_count + 1) * sizeof *attempt);

    if (attempt == NULL)
        return PELLET_E_MEMORY;
    for (size_t i = 0; i < in->attempt_count; i++)
        attempt[i] = in->attempt[i].row;
    return pellet_worksheet_hash(in->row, attempt, in->attempt_count, v->worksheet_sha256);
}

pellet_status pellet_verdict_identify(const struct pellet_inputs *in, struct pellet_verdict *v)
{
    const struct pellet_source *s = &in->subject;

    v->format = PELLET_VERDICT_FORMAT;
    v->bytes = s->bytes;
    v->mtime_ns = s->mtime_ns;
    memcpy(v->sha256, s->sha256, sizeof v->sha256);
    v->role = s->role;
    v->measured = s->measured;
    v->measured_from = s->measured_from;
    v->file = pellet_arena_string(&v->arena, s->file);
    v->sample = pellet_arena_string(&v->arena, s->sample);
    v->pellet = s->pellet;
    v->scan = s->scan;
    v->station = pellet_arena_string(&v->arena, in->station);
    v->session = pellet_arena_string(&v->arena, in->session);
    v->by = "pelletd " PELLET_VERSION;
    v->rules_name = pellet_arena_string(&v->arena, in->rules->name);
    memcpy(v->rules_sha256, in->rules->sha256, sizeof v->rules_sha256);
    memcpy(v->settings_sha256, in->settings->sha256, sizeof v->settings_sha256);
    v->wait_over = in->wait_over;
    if (v->file == NULL || hash_rows(in, v) != PELLET_OK || list_against(in, v) != PELLET_OK ||
        list_skipped(in, v) != PELLET_OK || list_warnings(in, v) != PELLET_OK)
        return PELLET_E_MEMORY;
    return PELLET_OK;
}
