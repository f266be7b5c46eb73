// SPDX-License-Identifier: GPL-3.0-or-later
#include "given_blank.h"

#include "log.h"

#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Relative to the station folder where it lies there, so that the verdict can be proved later; else
 * as it is. */
static const char *name_of(struct station *station, const char *path)
{
    char real[PATH_MAX];
    char folder[PATH_MAX];
    if (!realpath(path, real) || !realpath(station->config->folder, folder))
        return pellet_arena_string(&station->arena, path);
    size_t n = strlen(folder);
    bool inside = strncmp(real, folder, n) == 0 && real[n] == '/';
    return pellet_arena_string(&station->arena, inside ? real + n + 1 : real);
}

static pellet_ns time_of_file(const char *path)
{
    struct stat st;
    if (stat(path, &st) < 0)
        return PELLET_NO_TIME;
    return pellet_ns_of_file((struct timespec){.tv_sec = st.st_mtim.tv_sec});
}

static pellet_status judge(struct station *station, struct pellet_source *blank, struct pellet_error *error)
{
    struct pellet_verdict verdict;
    const struct pellet_inputs inputs = {.subject = *blank,
                                         .station = station->config->name,
                                         .session = "",
                                         .no_blank_age_min = NAN,
                                         .settings = &station->place.settings,
                                         .rules = &station->rules};
    pellet_status status = pellet_judge(&inputs, &verdict, NULL, error);
    if (status != PELLET_OK)
        return status;
    blank->state = verdict.state;
    if (verdict.outcome != PELLET_PASS)
        log_say(LOG_LEVEL_WARNING, blank->file, "as a blank it is at fault: %s", verdict.summary);
    pellet_verdict_clear(&verdict);
    return PELLET_OK;
}

static pellet_status read_blank(struct station *station, struct pellet_bytes *bytes,
                                struct pellet_spectra *spectra, struct pellet_error *error)
{
    const struct pellet_read_options options = place_read_options(station->config);
    pellet_status status = read_path(station->options.blank, options.bytes_max, bytes, error);
    if (status == PELLET_OK)
        status = pellet_spectra_read(bytes->data, bytes->n, &options, spectra, error);
    if (status == PELLET_OK && spectra->n != 1)
        status = pellet_fail(error, PELLET_E_FORMAT, "a blank must be the only spectrum of its file");
    return status;
}

static pellet_status set_source(struct station *station, const struct pellet_bytes *bytes,
                                struct pellet_error *error)
{
    struct pellet_source *blank = &station->given_blank;
    const struct pellet_spectrum *spectrum = &station->given_spectra->spectra.item[0];
    const bool labelled = spectrum->measured != PELLET_NO_TIME;
    *blank = (struct pellet_source){
        .file = name_of(station, station->options.blank),
        .bytes = bytes->n,
        .role = PELLET_BLANK,
        .measured = labelled ? spectrum->measured : time_of_file(station->options.blank),
        .measured_from = labelled ? PELLET_TIME_FROM_FILE : PELLET_TIME_FROM_MTIME,
        .spectrum = spectrum};
    pellet_sha256_hex(bytes->data, bytes->n, blank->sha256);
    if (!blank->file)
        return pellet_fail(error, PELLET_E_MEMORY, "no memory for the blank");
    return judge(station, blank, error);
}

pellet_status given_blank_load(struct station *station, struct pellet_error *error)
{
    struct pellet_bytes bytes = {0};
    struct pellet_spectra spectra = {0};
    char sha256[PELLET_SHA256_HEX];
    pellet_status status = read_blank(station, &bytes, &spectra, error);
    if (status == PELLET_OK) {
        pellet_sha256_hex(bytes.data, bytes.n, sha256);
        /* Held for the station's life: it is used for every sample and so never leaves the cache. */
        station->given_spectra = spectrum_cache_put(station->place.cache, sha256, &spectra);
        status = station->given_spectra ? set_source(station, &bytes, error)
                                        : pellet_fail(error, PELLET_E_MEMORY, "no memory for the blank");
    }
    if (status != PELLET_OK)
        pellet_error_set_file(error, station->options.blank);
    pellet_spectra_clear(&spectra);
    pellet_bytes_free(&bytes);
    return status;
}
