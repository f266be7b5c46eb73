// SPDX-License-Identifier: GPL-3.0-or-later
#include "reports_items.h"

#include "reading.h"

#include <stdlib.h>
#include <string.h>

#define VERDICT_MAX ((uint64_t)1 << 20)
#define PICTURE_MAX ((uint64_t)1 << 20)
/* Whoever may write the folder may fill it: a record takes no more memory than this. A verdict has some 8
 * KiB, a picture some 15. */
#define VERDICTS_BYTES_MAX ((size_t)128 << 20)
#define PICTURES_BYTES_MAX ((size_t)48 << 20)
/* Settings are the same through a session; the first file may be silent where the next is not. */
#define SETTINGS_FILES_MAX 4

static bool read_verdict(const struct report_job *job, const char *name, bool brief, size_t *room,
                         struct pellet_verdict *verdict)
{
    struct pellet_text file = {0};
    struct pellet_bytes bytes = {0};
    pellet_verdict_name(name, &file);
    pellet_status status = pellet_text_status(&file);
    if (status == PELLET_OK)
        status = pellet_read_file(job->place->output, file.data, VERDICT_MAX, &bytes, NULL, NULL);
    if (status == PELLET_OK && bytes.n > *room)
        status = PELLET_E_LIMIT;
    if (status == PELLET_OK)
        status =
            (brief ? pellet_verdict_read_brief : pellet_verdict_read)(bytes.data, bytes.n, verdict, NULL);
    if (status == PELLET_OK)
        *room -= bytes.n;
    pellet_bytes_free(&bytes);
    pellet_text_free(&file);
    return status == PELLET_OK;
}

static void read_picture(const struct report_job *job, const char *name, size_t *room,
                         struct pellet_bytes *picture)
{
    struct pellet_text file = {0};
    struct pellet_bytes bytes = {0};
    place_output_name(name, "pictures", ".svg", &file);
    if (pellet_text_status(&file) == PELLET_OK &&
        pellet_read_file(job->place->output, file.data, PICTURE_MAX, &bytes, NULL, NULL) == PELLET_OK &&
        bytes.n > 0 && bytes.n <= *room) {
        *room -= bytes.n;
        *picture = bytes;
        bytes = (struct pellet_bytes){0};
    }
    pellet_bytes_free(&bytes);
    pellet_text_free(&file);
}

static void read_worksheet(const struct report_job *job, struct worksheet *worksheet)
{
    struct pellet_bytes bytes = {0};
    struct pellet_text problems = {0};
    /* The station has said already what is amiss with it. */
    if (pellet_read_file(job->place->folder, WORKSHEET_NAME, WORKSHEET_BYTES_MAX, &bytes, NULL, NULL) ==
        PELLET_OK)
        (void)worksheet_read(bytes.data, bytes.n, worksheet, &problems, NULL);
    pellet_text_free(&problems);
    pellet_bytes_free(&bytes);
}

pellet_status report_items_read(const struct report_job *job, bool brief, struct report_items *items)
{
    size_t verdict_room = VERDICTS_BYTES_MAX;
    size_t picture_room = PICTURES_BYTES_MAX;
    *items = (struct report_items){.verdict = calloc(job->n + 1, sizeof *items->verdict),
                                   .picture = calloc(job->n + 1, sizeof *items->picture),
                                   .item = calloc(job->n + 1, sizeof *items->item)};
    if (!items->verdict || !items->picture || !items->item)
        return PELLET_E_MEMORY;
    if (!brief)
        read_worksheet(job, &items->worksheet);
    for (size_t i = 0; i < job->n; i++) {
        const struct report_source *source = &job->source[i];
        struct pellet_verdict *verdict = &items->verdict[items->n];
        struct pellet_report_item *item = &items->item[items->n];
        if (!read_verdict(job, source->name, brief, &verdict_room, verdict)) {
            items->left_out++;
            continue;
        }
        *item = (struct pellet_report_item){.verdict = verdict, .gone = source->gone};
        if (!brief && verdict->sample)
            item->row = worksheet_find(&items->worksheet, verdict->sample, verdict->pellet);
        if (!brief && verdict->output_count > 0)
            read_picture(job, source->name, &picture_room, &items->picture[items->n]);
        item->svg = items->picture[items->n].data;
        items->n++;
    }
    return PELLET_OK;
}

void report_items_clear(struct report_items *items)
{
    for (size_t i = 0; i < items->n; i++) {
        pellet_verdict_clear(&items->verdict[i]);
        pellet_bytes_free(&items->picture[i]);
    }
    free(items->verdict);
    free(items->picture);
    free(items->item);
    worksheet_clear(&items->worksheet);
    *items = (struct report_items){0};
}

void report_items_settings(const struct report_job *job, struct pellet_arena *arena,
                           const char *setting[PELLET_SETTING_COUNT])
{
    size_t left = SETTINGS_FILES_MAX;
    for (size_t i = 0; i < job->n && left > 0; i++) {
        char sha256[PELLET_SHA256_HEX];
        struct cached_spectra *spectra = NULL;
        if (job->source[i].gone)
            continue;
        left--;
        if (spectra_load(job->place, job->source[i].name, NULL, sha256, &spectra, NULL) != PELLET_OK)
            continue;
        for (size_t k = 0; k < PELLET_SETTING_COUNT; k++) {
            const char *stated = spectra->spectra.item[0].setting[k];
            if (!setting[k] && stated)
                setting[k] = pellet_arena_string(arena, stated);
        }
        spectrum_cache_give_back(job->place->cache, spectra);
    }
}

bool report_items_rules(const struct report_job *job, const struct report_items *items,
                        struct pellet_rules *shipped, const struct pellet_rules **rules)
{
    const struct pellet_verdict *first = items->n > 0 ? &items->verdict[0] : NULL;
    *rules = NULL;
    for (size_t i = 0; i < items->n && !*rules; i++) {
        if (strcmp(items->verdict[i].rules_sha256, job->place->rules->sha256) == 0)
            *rules = job->place->rules;
    }
    if (!*rules && first && first->rules_name &&
        pellet_rules_shipped(first->rules_name, shipped, NULL) == PELLET_OK) {
        if (strcmp(first->rules_sha256, shipped->sha256) == 0)
            *rules = shipped;
        else
            pellet_rules_clear(shipped);
    }
    return *rules != NULL;
}
