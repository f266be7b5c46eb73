// SPDX-License-Identifier: GPL-3.0-or-later
#include "station.h"

#include "given_blank.h"
#include "lock.h"
#include "log.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Spectra held in memory for pairing; a usual one is 30 to 120 KiB. */
#ifndef CACHE_BYTES
#define CACHE_BYTES ((size_t)48 << 20)
#endif
#define JOBS_MAX 8
/* Where no close was seen. */
#define SETTLE_OPEN_MS  5000
#define RULES_BYTES_MAX ((uint64_t)1 << 20)

pellet_status rules_find(const char *name, struct pellet_rules *rules, struct pellet_error *error)
{
    struct pellet_bytes bytes = {0};
    if (!strchr(name, '/') && !strstr(name, ".yaml"))
        return pellet_rules_shipped(name, rules, error);
    pellet_status status = read_path(name, RULES_BYTES_MAX, &bytes, error);
    if (status == PELLET_OK)
        status = pellet_rules_read(bytes.data, bytes.n, name, rules, error);
    pellet_bytes_free(&bytes);
    if (status != PELLET_OK)
        pellet_error_set_file(error, name);
    return status;
}

static int open_folder(const char *path, struct pellet_error *error)
{
    int folder = open(path, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (folder < 0) {
        pellet_fail_errno(error, errno, "cannot open the folder");
        pellet_error_set_file(error, path);
    }
    return folder;
}

static pellet_status open_folders(struct station *station, struct pellet_error *error)
{
    const struct station_config *config = station->config;
    station->place.folder = open_folder(config->folder, error);
    if (station->place.folder < 0)
        return error->status;
    if (config->output && !station->options.keep && mkdir(config->output, 0777) < 0 && errno != EEXIST) {
        pellet_fail_errno(error, errno, "cannot make the output folder %s", config->output);
        return error->status;
    }
    station->place.output = open_folder(config->output ? config->output : config->folder, error);
    if (station->place.output < 0 && station->options.keep)
        station->place.output = open_folder(config->folder, error);
    return station->place.output < 0 ? error->status : PELLET_OK;
}

/* Only the holder of the lock sweeps: nobody else writes here then. */
static void take_lock(struct station *station, struct pellet_error *error)
{
    if (!station->options.keep && lock_take(station->place.output, &station->lock, error) == PELLET_OK)
        station->writes = true;
    if (station->config->since == SINCE_INSTALL && station->lock >= 0)
        station->since = lock_made(station->lock);
}

/* Each thread may hold a file of 64 MiB and what is read from it; more than a few find nothing to do. */
static unsigned processors(void)
{
    long n = sysconf(_SC_NPROCESSORS_ONLN);
    return n < 1 ? 1 : n > JOBS_MAX ? JOBS_MAX : (unsigned)n;
}

static pellet_status open_parts(struct station *station, struct pellet_error *lock_error,
                                struct pellet_error *error)
{
    pellet_status status = rules_find(station->config->rules, &station->rules, error);
    if (status != PELLET_OK)
        return status;
    station->unlisted_rules = true;
    status = open_folders(station, error);
    if (status != PELLET_OK)
        return status;
    station->place.cache = spectrum_cache_new(CACHE_BYTES);
    if (!station->place.cache)
        return pellet_fail(error, PELLET_E_MEMORY, "no memory for a station");
    status = station_settings(station->config, &station->place.settings, error);
    if (status == PELLET_OK && station->options.blank)
        status = given_blank_load(station, error);
    if (status != PELLET_OK)
        return status;
    take_lock(station, lock_error);
    return workers_new(station->options.jobs ? station->options.jobs : processors(), &station->workers,
                       error);
}

pellet_status station_open(const struct station_config *config, const struct station_options *options,
                           struct station **station, struct pellet_error *lock_error,
                           struct pellet_error *error)
{
    struct station *made = calloc(1, sizeof *made);
    if (!made)
        return pellet_fail(error, PELLET_E_MEMORY, "no memory for a station");
    made->config = config;
    made->options = *options;
    made->lock = -1;
    made->since = config->since_time;
    made->place = (struct place){.config = config, .folder = -1, .output = -1, .rules = &made->rules};
    made->settle.closed_ms = (int64_t)(config->settle_s * 1000);
    made->settle.open_ms = made->settle.closed_ms > SETTLE_OPEN_MS ? made->settle.closed_ms : SETTLE_OPEN_MS;
    made->activity_ms = INT64_MIN / 2;
    pellet_status status = open_parts(made, lock_error, error);
    if (status != PELLET_OK) {
        station_free(made);
        return status;
    }
    *station = made;
    return PELLET_OK;
}

void station_free(struct station *station)
{
    if (!station)
        return;
    if (station->workers) {
        station_halt(station);
        workers_free(station->workers);
    }
    if (station->given_spectra)
        spectrum_cache_give_back(station->place.cache, station->given_spectra);
    entry_list_free(&station->ready);
    entry_list_free(&station->late);
    entry_list_free(&station->timed);
    entry_list_free(&station->waits_new);
    for (size_t kind = 0; kind < 2; kind++) {
        measured_free(&station->time[kind]);
        timeline_free(&station->waits[kind]);
    }
    measured_free(&station->pending);
    entry_index_free(&station->index);
    worksheet_clear(&station->worksheet);
    pellet_text_free(&station->unread);
    spectrum_cache_free(station->place.cache);
    if (station->unlisted_rules)
        pellet_rules_clear(&station->rules);
    pellet_arena_free(&station->arena);
    if (station->lock >= 0)
        close(station->lock);
    if (station->place.output >= 0)
        close(station->place.output);
    if (station->place.folder >= 0)
        close(station->place.folder);
    free(station);
}
