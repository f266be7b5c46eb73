// SPDX-License-Identifier: GPL-3.0-or-later
#include "judging.h"

#include "outputs.h"
#include "reading.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define NONE        ((size_t)-1)
#define VERDICT_MAX ((uint64_t)1 << 20)

struct judging *judging_new(const struct place *place, struct entry *entry, const struct pellet_file_id *id)
{
    struct judging *judging = calloc(1, sizeof *judging);
    if (!judging)
        return NULL;
    judging->job.run = judging_run;
    judging->place = place;
    judging->entry = entry;
    judging->id = *id;
    judging->inputs.station = place->config->name;
    judging->inputs.settings = &place->settings;
    judging->inputs.rules = place->rules;
    judging->inputs.no_blank_age_min = NAN;
    return judging;
}

void judging_free(struct judging *judging)
{
    if (!judging)
        return;
    for (size_t i = 0; i < judging->held_count; i++)
        spectrum_cache_give_back(judging->place->cache, judging->held[i]);
    for (size_t i = 0; i < PAIRING_ATTEMPT_MAX; i++) {
        if (judging->attempt_other[i].has_verdict)
            pellet_verdict_clear(&judging->attempt_other[i].verdict);
    }
    if (judging->judged)
        pellet_verdict_clear(&judging->verdict);
    pellet_text_free(&judging->kept);
    pellet_arena_free(&judging->arena);
    free(judging);
}

/* ---------------------------------------------------------------- what it rests on */

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

static bool set_other(struct judging *judging, const struct entry *entry, struct judging_other *other)
{
    other->own_blank = entry->own_blank;
    if (!entry->verdict_text)
        return true;
    other->kept = pellet_arena_copy(&judging->arena, entry->verdict_text, entry->verdict_length);
    other->kept_length = entry->verdict_length;
    return other->kept != NULL;
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
               set_other_blank(judging, index, pairing->earlier[i], &judging->earlier[i].blank_source) &&
               set_other(judging, pairing->earlier[i], &judging->earlier_other[i]);
        judging->earlier_count += good;
    }
    for (size_t i = 0; good && i < pairing->attempt_count; i++) {
        good = judging_source(judging, pairing->attempt[i], &judging->attempt[i].source) &&
               set_other_blank(judging, index, pairing->attempt[i], &judging->attempt[i].blank_source) &&
               set_other(judging, pairing->attempt[i], &judging->attempt_other[i]);
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

/* ---------------------------------------------------------------- reading it */

/* The spectra of a file as it was when its hash was taken, held until the judging is freed; NULL where it is
 * no longer that. */
static const struct pellet_spectra *hold(struct judging *judging, const char *file, const char *sha256)
{
    struct cached_spectra *spectra = spectrum_cache_get(judging->place->cache, sha256);
    if (!spectra) {
        char found[PELLET_SHA256_HEX];
        struct pellet_error error = {0};
        const pellet_status status = spectra_load(judging->place, file, NULL, found, &spectra, &error);
        if (reading_may_pass(status))
            judging->unread = file;
        if (status != PELLET_OK)
            return NULL;
        if (strcmp(found, sha256) != 0) {
            spectrum_cache_give_back(judging->place->cache, spectra);
            return NULL;
        }
    }
    judging->held[judging->held_count++] = spectra;
    return &spectra->spectra;
}

/* The subject's block of a file, and its own blank's where it holds one. */
static const struct pellet_spectrum *blocks_of(struct judging *judging, const char *file, const char *sha256,
                                               const struct pellet_spectrum **own_blank)
{
    const struct pellet_spectra *spectra = hold(judging, file, sha256);
    size_t subject = 0;
    size_t blank = NONE;
    if (!spectra || blocks_choose(judging->place->config, spectra, &subject, &blank, NULL) != PELLET_OK)
        return NULL;
    if (own_blank && blank != NONE)
        *own_blank = &spectra->item[blank];
    return &spectra->item[subject];
}

static bool load_source(struct judging *judging, struct pellet_source *source)
{
    source->spectrum = blocks_of(judging, source->file, source->sha256, NULL);
    if (!source->spectrum) {
        judging->result = JUDGING_INPUT_CHANGED;
        judging->input = source->file;
    }
    return source->spectrum != NULL;
}

/* The blank inside the file serves its sample and nobody else; nobody has judged it. */
static void use_own_blank(struct judging *judging, const struct pellet_spectrum *spectrum)
{
    judging->blank = judging->inputs.subject;
    judging->blank.role = PELLET_BLANK;
    judging->blank.sample = NULL;
    judging->blank.spectrum = spectrum;
    judging->blank.state = PELLET_BLANK_PROVISIONAL;
    judging->inputs.blank = &judging->blank;
}

static bool load_subject(struct judging *judging)
{
    struct pellet_source *subject = &judging->inputs.subject;
    const struct pellet_spectrum *own_blank = NULL;
    if (judging->inputs.read_error)
        return true;
    subject->spectrum = blocks_of(judging, subject->file, subject->sha256, &own_blank);
    if (!subject->spectrum) {
        judging->result = JUDGING_CHANGED;
        return false;
    }
    if (own_blank)
        use_own_blank(judging, own_blank);
    return true;
}

/* An earlier sample or attempt with its blank; false where either is gone or changed. A blank that is not
 * needed after all is not named. */
static bool load_other(struct judging *judging, struct pellet_source *source,
                       struct pellet_source *blank_source, const struct pellet_spectrum **blank)
{
    const struct pellet_spectrum *own_blank = NULL;
    source->spectrum = blocks_of(judging, source->file, source->sha256, &own_blank);
    *blank = own_blank;
    if (!source->spectrum)
        return false;
    if (source->spectrum->ordinate != PELLET_ORDINATE_SINGLE_BEAM || own_blank) {
        blank_source->file = NULL;
        return true;
    }
    if (blank_source->file)
        *blank = blocks_of(judging, blank_source->file, blank_source->sha256, NULL);
    return *blank != NULL;
}

static bool load_attempt_verdict(struct judging *judging, const char *file, struct judging_other *other)
{
    struct pellet_text name = {0};
    struct pellet_bytes bytes = {0};
    pellet_status status = PELLET_OK;
    if (other->kept) {
        status = pellet_verdict_read(other->kept, other->kept_length, &other->verdict, NULL);
    } else {
        pellet_verdict_name(file, &name);
        status = pellet_text_status(&name);
        if (status == PELLET_OK)
            status = pellet_read_file(judging->place->output, name.data, VERDICT_MAX, &bytes, NULL, NULL);
        if (status == PELLET_OK)
            status = pellet_verdict_read(bytes.data, bytes.n, &other->verdict, NULL);
    }
    if (reading_may_pass(status))
        judging->unread = file;
    other->has_verdict = status == PELLET_OK;
    pellet_bytes_free(&bytes);
    pellet_text_free(&name);
    return other->has_verdict;
}

/* One that the verdict could do without is left out only where it is gone, not because we could not read it.
 */
static bool must_be_here(struct judging *judging, const char *file)
{
    judging->input = judging->unread ? judging->unread : file;
    return judging->exact || judging->unread;
}

/* Those that are gone are left out, and the verdict does not name them. */
static bool load_earlier(struct judging *judging)
{
    size_t kept = 0;
    for (size_t i = 0; i < judging->earlier_count; i++) {
        struct pellet_earlier earlier = judging->earlier[i];
        earlier.blank = NULL;
        if (load_other(judging, &earlier.source, &earlier.blank_source, &earlier.blank)) {
            judging->earlier[kept++] = earlier;
        } else if (must_be_here(judging, earlier.source.file)) {
            return false;
        }
    }
    judging->inputs.earlier = judging->earlier;
    judging->inputs.earlier_count = kept;
    return true;
}

static bool load_attempts(struct judging *judging)
{
    size_t kept = 0;
    for (size_t i = 0; i < judging->attempt_count; i++) {
        struct pellet_attempt attempt = judging->attempt[i];
        struct judging_other *other = &judging->attempt_other[i];
        attempt.blank = NULL;
        bool here = load_attempt_verdict(judging, attempt.source.file, other) &&
                    strcmp(other->verdict.sha256, attempt.source.sha256) == 0;
        /* An attempt that could not be divided still has its verdict to tell. */
        if (here && !load_other(judging, &attempt.source, &attempt.blank_source, &attempt.blank)) {
            if (judging->unread)
                return !must_be_here(judging, attempt.source.file);
            attempt.source.spectrum = NULL;
            attempt.blank_source.file = NULL;
        }
        attempt.verdict = &other->verdict;
        if (here) {
            judging->attempt[kept++] = attempt;
        } else if (must_be_here(judging, attempt.source.file)) {
            return false;
        }
    }
    judging->inputs.attempt = judging->attempt;
    judging->inputs.attempt_count = kept;
    return true;
}

static bool load_all(struct judging *judging)
{
    struct pellet_inputs *inputs = &judging->inputs;
    if ((inputs->blank && !load_source(judging, &judging->blank)) ||
        (inputs->open_beam && !load_source(judging, &judging->open_beam)) ||
        (inputs->first_blank && !load_source(judging, &judging->first_blank)) || !load_subject(judging))
        return false;
    if (load_earlier(judging) && load_attempts(judging))
        return true;
    judging->result = JUDGING_INPUT_CHANGED;
    return false;
}

/* ---------------------------------------------------------------- judging and publishing */

void judging_judge(struct judging *judging, struct pellet_spectrum *ratio)
{
    judging->result = JUDGING_DONE;
    if (!load_all(judging))
        return;
    judging->judged = pellet_judge(&judging->inputs, &judging->verdict, ratio, &judging->error) == PELLET_OK;
    if (!judging->judged)
        judging->result = JUDGING_FAILED;
}

static enum judging_result result_of(pellet_status status)
{
    switch (status) {
    case PELLET_OK:
        return JUDGING_DONE;
    case PELLET_E_CHANGED:
        return JUDGING_CHANGED;
    case PELLET_E_MISSING:
        return JUDGING_AWAY;
    case PELLET_E_LIMIT:
        return JUDGING_FOREIGN;
    default:
        return JUDGING_NOT_WRITTEN;
    }
}

/* The single beam that the subject was divided by; a file that came ratioed only names a blank. */
static const struct pellet_spectrum *blank_behind(const struct pellet_inputs *inputs)
{
    const struct pellet_source *subject = &inputs->subject;
    return subject->role == PELLET_SAMPLE && subject->spectrum && inputs->blank &&
                   subject->spectrum->ordinate == PELLET_ORDINATE_SINGLE_BEAM
               ? inputs->blank->spectrum
               : NULL;
}

static enum judging_result publish(struct judging *judging, const struct pellet_spectrum *ratio)
{
    const struct outputs_spectra spectra = {ratio, blank_behind(&judging->inputs)};
    const char *name = judging->inputs.subject.file;
    pellet_status status = PELLET_OK;
    if (judging->write == JUDGING_WRITE) {
        status =
            outputs_publish(judging->place, name, &judging->id, &spectra, &judging->verdict, &judging->error);
    } else if (judging->write == JUDGING_RESTORE) {
        status = outputs_restore(judging->place, name, &spectra, &judging->verdict, &judging->error);
    } else {
        status = pellet_verdict_write(&judging->verdict, &judging->kept);
        if (status == PELLET_OK)
            status = pellet_text_status(&judging->kept);
    }
    return result_of(status);
}

void judging_run(struct job *job)
{
    struct judging *judging = (struct judging *)job;
    struct pellet_spectrum ratio = {0};
    judging_judge(judging, &ratio);
    if (judging->result == JUDGING_DONE) {
        judging->verdict.judged = clock_now();
        judging->result = publish(judging, &ratio);
    }
    pellet_spectrum_clear(&ratio);
}
