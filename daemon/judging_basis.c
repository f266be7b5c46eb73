// SPDX-License-Identifier: GPL-3.0-or-later
/* What a judging is to rest on: set by the station, before a worker has it. */
#include "judging.h"

#include <string.h>

bool judging_source(struct judging *judging, const struct entry *entry, struct pellet_source *source)
{
    *source = (struct pellet_source){.file = pellet_arena_string(&judging->arena, entry->name),
                                     .bytes = entry->id.bytes,
                                     .mtime_ns = entry->id.mtime_ns,
                                     .role = entry->role,
                                     .measured = entry->measured,
                                     .measured_from = entry->measured_from,
                                     .sample = pellet_arena_string(&judging->arena, entry->sample),
                                     .pellet = entry->pellet,
                                     .scan = entry->scan_number,
                                     .state = entry->state};
    memcpy(source->sha256, entry->sha256, sizeof source->sha256);
    return source->file && (source->sample || !entry->sample);
}

static bool set_source(struct judging *judging, const struct entry *entry, struct pellet_source *place,
                       const struct pellet_source **pointer)
{
    if (!entry)
        return true;
    *pointer = place;
    return judging_source(judging, entry, place);
}

/* The blank it was paired with, as it was then: by now its file may hold another. */
static bool set_other_blank(struct judging *judging, const struct entry_index *index,
                            const struct entry *entry, struct pellet_source *source)
{
    /* A file that came ratioed only names a blank; it is not to be divided by it. */
    if (!entry->blank || (entry->settings.known && !entry->settings.single_beam))
        return true;
    const struct entry *blank = entry_find(index, entry->blank);
    source->file = pellet_arena_string(&judging->arena, entry->blank);
    source->role = PELLET_BLANK;
    source->measured = blank ? blank->measured : PELLET_NO_TIME;
    source->state = blank ? blank->state : PELLET_BLANK_NONE;
    memcpy(source->sha256, entry->blank_sha256, sizeof source->sha256);
    return source->file != NULL;
}

static bool set_verdict(struct judging *judging, const struct entry *entry, struct attempt_verdict *attempt)
{
    attempt->given = entry->verdict_at;
    if (!entry->verdict_text)
        return true;
    attempt->kept = pellet_arena_copy(&judging->arena, entry->verdict_text, entry->verdict_length);
    attempt->kept_length = entry->verdict_length;
    return attempt->kept != NULL;
}

bool judging_rest_on(struct judging *judging, const struct entry_index *index, const struct pairing *pairing)
{
    struct pellet_inputs *inputs = &judging->inputs;
    struct pellet_skipped *skipped =
        pellet_arena_alloc(&judging->arena, PAIRING_SKIPPED_MAX * sizeof *skipped);
    bool good = skipped != NULL;
    inputs->no_blank = pairing->no_blank;
    inputs->no_blank_age_min = pairing->no_blank_age_min;
    for (size_t i = 0; good && i < pairing->skipped_count; i++) {
        skipped[i].file = pellet_arena_string(&judging->arena, pairing->skipped[i].blank->name);
        skipped[i].why = pairing->skipped[i].why;
        good = skipped[i].file != NULL;
    }
    inputs->skipped = skipped;
    inputs->skipped_count = pairing->skipped_count;
    good = good && set_source(judging, pairing->blank, &judging->blank, &inputs->blank) &&
           set_source(judging, pairing->open_beam, &judging->open_beam, &inputs->open_beam) &&
           set_source(judging, pairing->first_blank, &judging->first_blank, &inputs->first_blank);
    for (size_t i = 0; good && i < pairing->earlier_count; i++) {
        good = judging_source(judging, pairing->earlier[i], &judging->earlier[i].source) &&
               set_other_blank(judging, index, pairing->earlier[i], &judging->earlier[i].blank_source);
        judging->earlier_count += good;
    }
    for (size_t i = 0; good && i < pairing->attempt_count; i++) {
        good = judging_source(judging, pairing->attempt[i], &judging->attempt[i].source) &&
               set_other_blank(judging, index, pairing->attempt[i], &judging->attempt[i].blank_source) &&
               set_verdict(judging, pairing->attempt[i], &judging->attempt_verdict[i]);
        judging->attempt_count += good;
    }
    return good;
}

bool judging_warn(struct judging *judging, const char *warning)
{
    struct pellet_inputs *inputs = &judging->inputs;
    const char **list = pellet_arena_alloc(&judging->arena, (inputs->warning_count + 1) * sizeof *list);
    if (!list)
        return false;
    for (size_t i = 0; i < inputs->warning_count; i++)
        list[i] = inputs->warning[i];
    list[inputs->warning_count] = pellet_arena_string(&judging->arena, warning);
    if (!list[inputs->warning_count])
        return false;
    inputs->warning = list;
    inputs->warning_count++;
    return true;
}

/* A copy of the row for this pellet, or NULL where there is none; false: no memory. */
static bool copy_row(struct judging *judging, const struct worksheet *worksheet,
                     const struct pellet_source *source, const struct pellet_worksheet_row **out)
{
    struct pellet_arena *arena = &judging->arena;
    const struct pellet_worksheet_row *row =
        source->sample ? worksheet_find(worksheet, source->sample, source->pellet) : NULL;
    *out = NULL;
    if (!row)
        return true;
    struct pellet_worksheet_row *copy = pellet_arena_alloc(arena, sizeof *copy);
    if (!copy)
        return false;
    *copy = *row;
    const char **texts[] = {&copy->sample,   &copy->operator_name, &copy->kbr_lot,
                            &copy->decision, &copy->decided_by,    &copy->decision_reason};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        const char *text = *texts[i];
        *texts[i] = pellet_arena_string(arena, text);
        if (text && !*texts[i])
            return false;
    }
    *out = copy;
    return true;
}

bool judging_set_rows(struct judging *judging, const struct worksheet *worksheet)
{
    struct pellet_inputs *inputs = &judging->inputs;
    bool good = copy_row(judging, worksheet, &inputs->subject, &inputs->row);
    for (size_t i = 0; good && i < judging->attempt_count; i++)
        good = copy_row(judging, worksheet, &judging->attempt[i].source, &judging->attempt[i].row);
    return good;
}

/* ---------------------------------------------------------------- in words */

/* Names hold any byte but NUL, so that ends each. */
static void add_word(struct pellet_text *text, const char *word)
{
    if (word)
        pellet_text_adds(text, word);
    pellet_text_add(text, "", 1);
}

static void add_source(struct pellet_text *text, const struct pellet_source *source)
{
    if (source && source->file) {
        add_word(text, source->file);
        add_word(text, source->sha256);
        add_word(text, source->sample);
        pellet_text_addf(text, "%lld %d %d %d %d %d", (long long)source->measured, source->measured_from,
                         source->role, source->pellet, source->scan, source->state);
    }
    add_word(text, NULL);
}

static void add_attempts(struct pellet_text *text, const struct judging *judging)
{
    const struct pellet_worksheet_row *row[PAIRING_ATTEMPT_MAX];
    char rows[PELLET_SHA256_HEX];
    for (size_t i = 0; i < judging->attempt_count; i++) {
        add_source(text, &judging->attempt[i].source);
        add_source(text, &judging->attempt[i].blank_source);
        pellet_text_addf(text, "%lld", (long long)judging->attempt_verdict[i].given);
        row[i] = judging->attempt[i].row;
    }
    if (pellet_worksheet_hash(judging->inputs.row, row, judging->attempt_count, rows) != PELLET_OK)
        text->failed = true;
    add_word(text, rows);
}

bool judging_describe(struct judging *judging)
{
    const struct pellet_inputs *inputs = &judging->inputs;
    struct pellet_text *text = &judging->basis;
    add_word(text, inputs->session);
    add_source(text, &inputs->subject);
    add_source(text, inputs->blank);
    add_source(text, inputs->open_beam);
    add_source(text, inputs->first_blank);
    pellet_text_addf(text, "%d %d %.17g", inputs->wait_over, inputs->no_blank, inputs->no_blank_age_min);
    add_word(text, inputs->read_error ? inputs->read_error->message : NULL);
    for (size_t i = 0; i < inputs->skipped_count; i++) {
        add_word(text, inputs->skipped[i].file);
        add_word(text, inputs->skipped[i].why);
    }
    add_word(text, NULL);
    for (size_t i = 0; i < inputs->warning_count; i++)
        add_word(text, inputs->warning[i]);
    add_word(text, NULL);
    for (size_t i = 0; i < judging->earlier_count; i++) {
        add_source(text, &judging->earlier[i].source);
        add_source(text, &judging->earlier[i].blank_source);
    }
    add_word(text, NULL);
    add_attempts(text, judging);
    return pellet_text_status(text) == PELLET_OK;
}

bool judging_rests_on_the_same(const struct judging *a, const struct judging *b)
{
    return a->basis.length == b->basis.length && memcmp(a->basis.data, b->basis.data, a->basis.length) == 0;
}
