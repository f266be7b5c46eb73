// SPDX-License-Identifier: GPL-3.0-or-later
#include "judging.h"

#include "outputs.h"

#include <math.h>
#include <stdlib.h>

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
        if (judging->attempt_verdict[i].has_verdict)
            pellet_verdict_clear(&judging->attempt_verdict[i].verdict);
    }
    if (judging->judged)
        pellet_verdict_clear(&judging->verdict);
    pellet_spectrum_clear(&judging->ratio);
    pellet_text_free(&judging->kept);
    pellet_text_free(&judging->basis);
    pellet_arena_free(&judging->arena);
    free(judging);
}

void judging_judge(struct judging *judging)
{
    judging->result = JUDGING_DONE;
    if (!judging_load(judging))
        return;
    judging->judged =
        pellet_judge(&judging->inputs, &judging->verdict, &judging->ratio, &judging->error) == PELLET_OK;
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

static enum judging_result publish(struct judging *judging)
{
    const struct outputs_spectra spectra = {&judging->ratio, blank_behind(&judging->inputs)};
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
    if (!judging->judged)
        judging_judge(judging);
    if (judging->result == JUDGING_DONE) {
        judging->verdict.judged = clock_now();
        judging->result = publish(judging);
    }
}

void judging_run_ahead(struct job *job)
{
    judging_judge((struct judging *)job);
}
