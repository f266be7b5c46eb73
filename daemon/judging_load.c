// SPDX-License-Identifier: GPL-3.0-or-later
/* A worker reads what a judging rests on, as it was when it was paired. */
#include "judging.h"

#include "reading.h"

#include <string.h>

#define NONE        ((size_t)-1)
#define VERDICT_MAX ((uint64_t)1 << 20)

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

static bool load_attempt_verdict(struct judging *judging, const char *file, struct attempt_verdict *attempt)
{
    struct pellet_text name = {0};
    struct pellet_bytes bytes = {0};
    pellet_status status = PELLET_OK;
    if (attempt->kept) {
        status = pellet_verdict_read(attempt->kept, attempt->kept_length, &attempt->verdict, NULL);
    } else {
        pellet_verdict_name(file, &name);
        status = pellet_text_status(&name);
        if (status == PELLET_OK)
            status = pellet_read_file(judging->place->output, name.data, VERDICT_MAX, &bytes, NULL, NULL);
        if (status == PELLET_OK)
            status = pellet_verdict_read(bytes.data, bytes.n, &attempt->verdict, NULL);
    }
    if (reading_may_pass(status))
        judging->unread = file;
    attempt->has_verdict = status == PELLET_OK;
    pellet_bytes_free(&bytes);
    pellet_text_free(&name);
    return attempt->has_verdict;
}

/* One that the verdict could do without is left out only where it is gone, not because we could not
 * read it. */
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
        struct attempt_verdict *said = &judging->attempt_verdict[i];
        attempt.blank = NULL;
        bool here = load_attempt_verdict(judging, attempt.source.file, said) &&
                    strcmp(said->verdict.sha256, attempt.source.sha256) == 0;
        /* An attempt that could not be divided still has its verdict to tell. */
        if (here && !load_other(judging, &attempt.source, &attempt.blank_source, &attempt.blank)) {
            if (judging->unread)
                return !must_be_here(judging, attempt.source.file);
            attempt.source.spectrum = NULL;
            attempt.blank_source.file = NULL;
        }
        attempt.verdict = &said->verdict;
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

bool judging_load(struct judging *judging)
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
