// SPDX-License-Identifier: GPL-3.0-or-later
#include "reading.h"

#include "outputs.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define NONE        ((size_t)-1)
#define VERDICT_MAX ((uint64_t)1 << 20)
/* Coarse clocks of file systems make a younger verdict no proof that it saw the last change. */
#define TRUST_AGE_NS (2 * PELLET_NS_PER_S)

struct reading *reading_new(const struct place *place, struct entry *entry)
{
    struct reading *reading = calloc(1, sizeof *reading);
    if (!reading || !(reading->name = strdup(entry->name))) {
        free(reading);
        return NULL;
    }
    reading->job.run = reading_run;
    reading->place = place;
    reading->entry = entry;
    return reading;
}

void content_clear(struct content *content)
{
    free(content->sample);
    entry_settings_clear(&content->settings);
    *content = (struct content){0};
}

void reading_free(struct reading *reading)
{
    if (!reading)
        return;
    content_clear(&reading->content);
    if (reading->has_verdict)
        pellet_verdict_clear(&reading->verdict);
    free(reading->kept);
    free(reading->name);
    free(reading);
}

/* ---------------------------------------------------------------- the spectrum */

pellet_status spectra_load(const struct place *place, const char *name, struct pellet_file_id *id,
                           char sha256[PELLET_SHA256_HEX], struct cached_spectra **spectra,
                           struct pellet_error *error)
{
    const struct pellet_read_options options = place_read_options(place->config);
    struct pellet_bytes bytes = {0};
    struct pellet_spectra read = {0};
    *sha256 = '\0';
    pellet_status status = pellet_read_file(place->folder, name, options.bytes_max, &bytes, id, error);
    if (status != PELLET_OK)
        return status;
    pellet_sha256_hex(bytes.data, bytes.n, sha256);
    struct cached_spectra *found = spectrum_cache_get(place->cache, sha256);
    if (!found) {
        status = pellet_spectra_read(bytes.data, bytes.n, &options, &read, error);
        if (status == PELLET_OK) {
            found = spectrum_cache_put(place->cache, sha256, &read);
            if (!found)
                status = pellet_fail(error, PELLET_E_MEMORY, "no memory for the spectrum");
        }
        pellet_spectra_clear(&read);
    }
    pellet_bytes_free(&bytes);
    if (status == PELLET_OK)
        *spectra = found;
    return status;
}

static enum pellet_role role_of_title(const struct station_config *config,
                                      const struct pellet_spectrum *spectrum)
{
    if (!spectrum->title)
        return PELLET_SAMPLE;
    return name_role(spectrum->title, &config->blank, &config->open_beam, &config->film);
}

/* A verdict has one sample, one pellet and one row of the worksheet, so several samples cannot share it. */
static pellet_status refuse_blocks(const struct station_config *config, const struct pellet_spectra *spectra,
                                   struct pellet_error *error)
{
    char list[300] = "";
    size_t used = 0;
    for (size_t i = 0; i < spectra->n && used < sizeof list - 1; i++) {
        const char *title = spectra->item[i].title;
        const int n = snprintf(list + used, sizeof list - used, "%s'%.40s' is a %s", used ? ", " : "",
                               title ? title : "", pellet_role_id(role_of_title(config, &spectra->item[i])));
        used += n > 0 ? (size_t)n : 0;
    }
    return pellet_fail(
        error, PELLET_E_FORMAT,
        "the file holds %zu spectra, and a verdict is for one sample, alone or with its blank: "
        "export each to a file of its own (%s)",
        spectra->n, list);
}

pellet_status blocks_choose(const struct station_config *config, const struct pellet_spectra *spectra,
                            size_t *subject, size_t *blank, struct pellet_error *error)
{
    size_t sample = NONE;
    size_t own_blank = NONE;
    size_t samples = 0;
    size_t others = 0;
    if (spectra->n == 1) {
        *subject = 0;
        *blank = NONE;
        return PELLET_OK;
    }
    for (size_t i = 0; i < spectra->n; i++) {
        switch (role_of_title(config, &spectra->item[i])) {
        case PELLET_SAMPLE:
            sample = i;
            samples++;
            break;
        case PELLET_BLANK:
            others += own_blank != NONE;
            own_blank = i;
            break;
        default:
            others++;
        }
    }
    if (samples != 1 || others > 0)
        return refuse_blocks(config, spectra, error);
    *subject = sample;
    *blank = own_blank;
    return PELLET_OK;
}

/* ---------------------------------------------------------------- what name and content say */

static bool fill_settings(const struct pellet_spectrum *spectrum, struct entry_settings *settings)
{
    *settings = (struct entry_settings){.known = true,
                                        .single_beam = spectrum->ordinate == PELLET_ORDINATE_SINGLE_BEAM,
                                        .resolution = spectrum->resolution};
    if (spectrum->n > 1)
        settings->spacing =
            (spectrum->wavenumber[spectrum->n - 1] - spectrum->wavenumber[0]) / (double)(spectrum->n - 1);
    for (size_t i = 0; i < PELLET_SETTING_COUNT; i++) {
        if (spectrum->setting[i] && !(settings->stated[i] = strdup(spectrum->setting[i])))
            return false;
    }
    return true;
}

static pellet_ns whole_seconds(pellet_ns time)
{
    pellet_ns rest = time % PELLET_NS_PER_S;
    return time - (rest < 0 ? rest + PELLET_NS_PER_S : rest);
}

static void fill_time(const struct station_config *config, pellet_ns label, pellet_ns mtime,
                      struct content *content)
{
    const bool wants_label = config->measured != MEASURED_MTIME;
    const bool labelled = wants_label && label != PELLET_NO_TIME;
    /* Whole seconds, as the verdict will hold it: the order must not change when it is read back. */
    content->measured = whole_seconds(labelled ? label : mtime);
    content->measured_from = labelled ? PELLET_TIME_FROM_FILE : PELLET_TIME_FROM_MTIME;
    content->label_missing = config->measured == MEASURED_FILE && !labelled;
}

static bool fill_name(const struct station_config *config, const char *name, struct content *content)
{
    if (content->role != PELLET_SAMPLE)
        return true;
    struct sample_name said;
    sample_name_read(config->sample_name, name, &said);
    content->pellet = said.pellet;
    content->scan = said.scan;
    content->sample = strdup(said.sample);
    return content->sample != NULL;
}

/* `spectra` is NULL where the file could not be read: then its name and mtime are all there is. */
static pellet_status fill_content(struct reading *reading, const struct cached_spectra *spectra)
{
    const struct station_config *config = reading->place->config;
    struct content *content = &reading->content;
    size_t subject = 0;
    size_t blank = NONE;
    pellet_ns label = PELLET_NO_TIME;
    bool good = true;
    content->settings.resolution = NAN;
    content->settings.known = true;
    content->role = name_role(reading->name, &config->blank, &config->open_beam, &config->film);
    if (spectra && blocks_choose(config, &spectra->spectra, &subject, &blank, &reading->error) == PELLET_OK) {
        const struct pellet_spectrum *spectrum = &spectra->spectra.item[subject];
        if (content->role == PELLET_SAMPLE)
            content->role = role_of_title(config, spectrum);
        content->own_blank = blank != NONE;
        label = spectrum->measured;
        good = fill_settings(spectrum, &content->settings);
    }
    fill_time(config, label, reading->id.mtime_ns, content);
    reading->read = true;
    if (!fill_name(config, reading->name, content) || !good)
        return pellet_fail(&reading->error, PELLET_E_MEMORY, "no memory for the file's settings");
    return PELLET_OK;
}

/* ---------------------------------------------------------------- the verdict beside it */

static void fill_id(const struct stat *st, struct pellet_file_id *id)
{
    *id = (struct pellet_file_id){.device = st->st_dev,
                                  .inode = st->st_ino,
                                  .bytes = S_ISREG(st->st_mode) ? (uint64_t)st->st_size : 0,
                                  .mtime_ns = pellet_ns_of_file(st->st_mtim),
                                  .ctime_ns = pellet_ns_of_file(st->st_ctim)};
}

bool reading_may_pass(pellet_status status)
{
    return status == PELLET_E_BUSY || status == PELLET_E_DENIED || status == PELLET_E_IO ||
           status == PELLET_E_MEMORY || status == PELLET_E_SPACE;
}

typedef pellet_status read_fn(const char *yaml, size_t n, struct pellet_verdict *verdict,
                              struct pellet_error *error);

/* What is denied to us is no verdict of ours, and what cannot be read for a minute counts as none. */
static pellet_status trouble_with_verdict(const struct reading *reading, pellet_status status)
{
    const bool passes = status == PELLET_E_MEMORY ||
                        (reading_may_pass(status) && status != PELLET_E_DENIED && !reading->last_try);
    return passes ? status : PELLET_E_MISSING;
}

/* Read the verdict, if there is a sound one. `times` is what its own file was. */
static pellet_status read_verdict(struct reading *reading, read_fn *read, struct pellet_file_id *times)
{
    struct pellet_text name = {0};
    struct pellet_bytes bytes = {0};
    pellet_status status = PELLET_OK;
    if (reading->kept) {
        *times = (struct pellet_file_id){.mtime_ns = INT64_MAX, .ctime_ns = INT64_MAX};
        status = read(reading->kept, reading->kept_length, &reading->verdict, &reading->error);
    } else {
        pellet_verdict_name(reading->name, &name);
        status = pellet_text_status(&name);
        if (status != PELLET_OK) {
            pellet_text_free(&name);
            return pellet_fail(&reading->error, status, "no memory for the name of its verdict");
        }
        status =
            pellet_read_file(reading->place->output, name.data, VERDICT_MAX, &bytes, times, &reading->error);
        /* What is too large to be one of ours is no verdict of a newer format. */
        if (status != PELLET_OK)
            status = trouble_with_verdict(reading, status);
        else
            status = read(bytes.data, bytes.n, &reading->verdict, &reading->error);
    }
    reading->has_verdict = status == PELLET_OK;
    pellet_bytes_free(&bytes);
    pellet_text_free(&name);
    return status;
}

/* Missing outputs are made again from all that the verdict says. */
static void check_outputs(struct reading *reading)
{
    struct pellet_file_id times;
    if (!reading->wants_outputs || outputs_complete(reading->place, &reading->verdict))
        return;
    pellet_verdict_clear(&reading->verdict);
    reading->outputs_missing = read_verdict(reading, pellet_verdict_read, &times) == PELLET_OK;
    if (!reading->outputs_missing)
        reading->result = READING_CHANGED;
}

/* Whether mtime alone shows that the verdict is for the present content. A change of rights or a rename after
 * the verdict is no proof of another content, but worth a look. */
static bool trusted_by_mtime(const struct reading *reading, const struct pellet_file_id *verdict_file)
{
    const struct pellet_file_id *id = &reading->id;
    return id->bytes == reading->verdict.bytes && id->mtime_ns == reading->verdict.mtime_ns &&
           id->mtime_ns < verdict_file->mtime_ns - TRUST_AGE_NS && id->ctime_ns <= verdict_file->ctime_ns;
}

static bool same_content(const struct reading *reading)
{
    return reading->has_verdict && reading->verdict.bytes == reading->id.bytes &&
           strcmp(reading->verdict.sha256, reading->content.sha256) == 0;
}

/* ---------------------------------------------------------------- the whole */

static enum reading_result read_content(struct reading *reading)
{
    struct cached_spectra *spectra = NULL;
    struct pellet_file_id id = reading->id;
    char sha256[PELLET_SHA256_HEX];
    pellet_status status =
        spectra_load(reading->place, reading->name, &id, sha256, &spectra, &reading->error);
    if (status == PELLET_E_CHANGED)
        return READING_CHANGED;
    if (status == PELLET_E_MISSING)
        return READING_GONE;
    /* That we are short of memory is never the file's fault. */
    if (reading_may_pass(status) && (!reading->last_try || status == PELLET_E_MEMORY))
        return READING_TROUBLE;
    reading->id = id;
    memcpy(reading->content.sha256, sha256, sizeof sha256);
    pellet_status filled = fill_content(reading, status == PELLET_OK ? spectra : NULL);
    spectrum_cache_give_back(reading->place->cache, spectra);
    if (filled != PELLET_OK)
        return READING_TROUBLE;
    return !reading->trust_nothing && same_content(reading) ? READING_KNOWN : READING_NEW;
}

void reading_run(struct job *job)
{
    struct reading *reading = (struct reading *)job;
    struct pellet_file_id verdict_file = {0};
    struct stat st;
    pellet_status seen = place_look(reading->place, reading->name, &st, &reading->error);
    if (seen != PELLET_OK) {
        reading->result = reading_may_pass(seen)     ? READING_TROUBLE
                          : seen == PELLET_E_CHANGED ? READING_CHANGED /* a handle of NFS gone stale */
                                                     : READING_GONE;
        return;
    }
    fill_id(&st, &reading->id);
    read_fn *read = reading->whole ? pellet_verdict_read : pellet_verdict_read_brief;
    const pellet_status status = read_verdict(reading, read, &verdict_file);
    if (reading_may_pass(status)) {
        reading->result = READING_TROUBLE;
        return;
    }
    reading->error = (struct pellet_error){0};
    if (status == PELLET_E_LIMIT)
        reading->result = READING_FOREIGN;
    else if (status == PELLET_OK && !reading->must_hash && !reading->trust_nothing &&
             trusted_by_mtime(reading, &verdict_file))
        reading->result = READING_KNOWN;
    else
        reading->result = read_content(reading);
    if (reading->result == READING_KNOWN)
        check_outputs(reading);
}
