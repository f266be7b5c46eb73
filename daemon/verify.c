// SPDX-License-Identifier: GPL-3.0-or-later
#include "verify.h"

#include "outputs.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define VERDICT_MAX ((uint64_t)1 << 20)

/* The warnings that the daemon adds begin with this; the others come from the judge and will come again. */
static const char own_warning[] = "clock:";

static bool read_verdict(const struct place *place, const struct entry *entry, struct pellet_verdict *verdict,
                         struct pellet_error *error)
{
    struct pellet_text name = {0};
    struct pellet_bytes bytes = {0};
    pellet_verdict_name(entry->name, &name);
    pellet_status status = pellet_text_status(&name);
    if (status == PELLET_OK)
        status = pellet_read_file(place->output, name.data, VERDICT_MAX, &bytes, NULL, error);
    if (status == PELLET_OK)
        status = pellet_verdict_read(bytes.data, bytes.n, verdict, error);
    pellet_bytes_free(&bytes);
    pellet_text_free(&name);
    return status == PELLET_OK;
}

static bool set_named(struct judging *judging, const struct pellet_against *against, enum pellet_role role,
                      struct pellet_source *source)
{
    *source = (struct pellet_source){.file = pellet_arena_string(&judging->arena, against->file),
                                     .role = role,
                                     .measured = against->measured,
                                     .state = against->state};
    memcpy(source->sha256, against->sha256, sizeof source->sha256);
    return source->file != NULL;
}

/* Earlier samples and attempts: who they are stands in the index. */
static bool set_sample(struct judging *judging, const struct station *station,
                       const struct pellet_against *against, struct pellet_source *source)
{
    const struct entry *entry = entry_find(&station->index, against->file);
    if (!set_named(judging, against, PELLET_SAMPLE, source))
        return false;
    if (!entry)
        return true;
    source->sample = pellet_arena_string(&judging->arena, entry->sample);
    source->pellet = entry->pellet;
    source->scan = entry->scan_number;
    return source->sample != NULL;
}

static bool set_against(struct judging *judging, const struct station *station,
                        const struct pellet_against *against)
{
    struct pellet_inputs *inputs = &judging->inputs;
    /* A file that holds its own blank finds it by itself. */
    const bool itself = strcmp(against->file, inputs->subject.file) == 0;
    if (strcmp(against->as, "blank") == 0 || strcmp(against->as, "reported") == 0) {
        inputs->blank = itself ? NULL : &judging->blank;
        return itself || set_named(judging, against, PELLET_BLANK, &judging->blank);
    }
    if (strcmp(against->as, "open_beam") == 0) {
        inputs->open_beam = &judging->open_beam;
        return set_named(judging, against, PELLET_OPEN_BEAM, &judging->open_beam);
    }
    if (strcmp(against->as, "first_blank") == 0) {
        inputs->first_blank = &judging->first_blank;
        return set_named(judging, against, PELLET_BLANK, &judging->first_blank);
    }
    if (strcmp(against->as, "earlier") == 0 && judging->earlier_count < PAIRING_EARLIER_MAX) {
        size_t i = judging->earlier_count++;
        return set_sample(judging, station, against, &judging->earlier[i].source);
    }
    if (strcmp(against->as, "attempt") == 0 && judging->attempt_count < PAIRING_ATTEMPT_MAX) {
        size_t i = judging->attempt_count++;
        return set_sample(judging, station, against, &judging->attempt[i].source);
    }
    /* The blank of the one before. */
    if (strcmp(against->as, "earlier_blank") == 0 && judging->earlier_count > 0)
        return set_named(judging, against, PELLET_BLANK,
                         &judging->earlier[judging->earlier_count - 1].blank_source);
    if (strcmp(against->as, "attempt_blank") == 0 && judging->attempt_count > 0)
        return set_named(judging, against, PELLET_BLANK,
                         &judging->attempt[judging->attempt_count - 1].blank_source);
    return true;
}

/* Why there was no blank follows from what the verdict tells of the blank check and of those skipped. */
static void set_no_blank(struct judging *judging, const struct pellet_verdict *verdict)
{
    struct pellet_inputs *inputs = &judging->inputs;
    inputs->no_blank = verdict->skipped_count > 0 ? PELLET_NO_BLANK_ALL_REFUSED : PELLET_NO_BLANK_YET;
    for (size_t i = 0; !inputs->blank && i < verdict->check_count; i++) {
        const struct pellet_finding *finding = &verdict->check[i];
        if (finding->check && strcmp(finding->check->id, "blank") == 0 && isfinite(finding->value)) {
            inputs->no_blank = PELLET_NO_BLANK_TOO_OLD;
            inputs->no_blank_age_min = finding->value;
        }
    }
}

static bool set_skipped(struct judging *judging, const struct pellet_verdict *verdict)
{
    struct pellet_skipped *skipped =
        pellet_arena_alloc(&judging->arena, (verdict->skipped_count + 1) * sizeof *skipped);
    for (size_t i = 0; skipped && i < verdict->skipped_count; i++) {
        skipped[i].file = pellet_arena_string(&judging->arena, verdict->skipped[i].file);
        skipped[i].why = pellet_arena_string(&judging->arena, verdict->skipped[i].why);
        if (!skipped[i].file || !skipped[i].why)
            return false;
    }
    judging->inputs.skipped = skipped;
    judging->inputs.skipped_count = verdict->skipped_count;
    return skipped != NULL;
}

static bool set_warnings(struct judging *judging, const struct pellet_verdict *verdict)
{
    for (size_t i = 0; i < verdict->warning_count; i++) {
        if (strncmp(verdict->warning[i], own_warning, sizeof own_warning - 1) == 0 &&
            !judging_warn(judging, verdict->warning[i]))
            return false;
    }
    return true;
}

static bool set_all(struct judging *judging, const struct station *station, const struct entry *entry,
                    const struct pellet_verdict *verdict)
{
    struct pellet_inputs *inputs = &judging->inputs;
    if (!judging_source(judging, entry, &inputs->subject))
        return false;
    inputs->subject.measured = verdict->measured;
    inputs->subject.measured_from = verdict->measured_from;
    inputs->session = pellet_arena_string(&judging->arena, verdict->session);
    inputs->wait_over = verdict->wait_over;
    for (size_t i = 0; i < verdict->against_count; i++) {
        if (!set_against(judging, station, &verdict->against[i]))
            return false;
    }
    set_no_blank(judging, verdict);
    if (entry->read_error) {
        judging->read_error = *entry->read_error;
        inputs->read_error = &judging->read_error;
    }
    return set_skipped(judging, verdict) && set_warnings(judging, verdict) &&
           judging_set_rows(judging, &station->worksheet);
}

struct judging *judging_from_verdict(struct station *station, struct entry *entry,
                                     const struct pellet_verdict *verdict)
{
    struct judging *judging = judging_new(&station->place, entry, &entry->id);
    if (!judging)
        return NULL;
    judging->exact = true;
    if (set_all(judging, station, entry, verdict))
        return judging;
    judging_free(judging);
    return NULL;
}

/* The content as it is now, and why it could not be read where it could not. */
static bool look_at_content(struct station *station, struct entry *entry,
                            const struct pellet_verdict *verdict, struct pellet_text *out)
{
    struct reading *reading = reading_new(&station->place, entry);
    if (!reading)
        return false;
    reading->must_hash = true;
    reading->last_try = true;
    reading_run(&reading->job);
    bool same = reading->read && strcmp(reading->content.sha256, verdict->sha256) == 0;
    if (same && reading->error.status != PELLET_OK && !entry->read_error) {
        entry->read_error = calloc(1, sizeof *entry->read_error);
        if (entry->read_error)
            *entry->read_error = reading->error;
    }
    if (same)
        entry->own_blank = reading->content.own_blank;
    else
        pellet_text_adds(out, "input: the spectrum is gone or no longer the one that was judged\n");
    reading_free(reading);
    return same;
}

size_t verify_entry(struct station *station, struct entry *entry, struct pellet_text *out)
{
    struct pellet_error error = {0};
    struct pellet_verdict verdict;
    size_t differences = 1;
    if (!read_verdict(&station->place, entry, &verdict, &error)) {
        pellet_text_addf(out, "verdict: %s\n", error.message);
        return differences;
    }
    struct judging *judging = look_at_content(station, entry, &verdict, out)
                                  ? judging_from_verdict(station, entry, &verdict)
                                  : NULL;
    if (judging) {
        judging_judge(judging);
        if (judging->result == JUDGING_DONE &&
            outputs_list(entry->name, &judging->ratio, &judging->verdict, &error) == PELLET_OK)
            differences = pellet_verdict_compare(&verdict, &judging->verdict, out);
        else
            pellet_text_addf(out, "against: %s is gone or no longer what it was\n",
                             judging->input ? judging->input : "a file it names");
    }
    judging_free(judging);
    pellet_verdict_clear(&verdict);
    return differences;
}
