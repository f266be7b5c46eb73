// SPDX-License-Identifier: GPL-3.0-or-later
#include "metrics.h"

#include "place.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* Upper ends, in seconds; what takes longer is in +Inf alone. */
static const double bucket_ends[] = {0.1, 0.25, 0.5, 1, 2.5, 5, 10, 30};
enum { BUCKETS = sizeof bucket_ends / sizeof bucket_ends[0] };

static const enum pellet_outcome outcomes[] = {PELLET_PASS, PELLET_WAIT, PELLET_RESCAN, PELLET_REMAKE};
enum { OUTCOMES = sizeof outcomes / sizeof outcomes[0] };

struct station_metrics {
    char *name;
    size_t verdicts[PELLET_OUTCOME_COUNT];
    size_t bucket[BUCKETS]; /* cumulative, as the format wants them */
    size_t judged;
    double seconds;
    bool watching;
    size_t queue;
    pellet_ns blank_measured; /* of the latest accepted blank; PELLET_NO_TIME where there is none */
};

struct metrics {
    pthread_mutex_t mutex;
    size_t n;
    struct station_metrics *station;
    bool changed;
};

struct metrics *metrics_new(void)
{
    struct metrics *metrics = calloc(1, sizeof *metrics);
    if (metrics)
        pthread_mutex_init(&metrics->mutex, NULL);
    return metrics;
}

void metrics_free(struct metrics *metrics)
{
    if (!metrics)
        return;
    for (size_t i = 0; i < metrics->n; i++)
        free(metrics->station[i].name);
    free(metrics->station);
    pthread_mutex_destroy(&metrics->mutex);
    free(metrics);
}

/* NULL: no memory; the numbers of that station are missing then. */
static struct station_metrics *find(struct metrics *metrics, const char *name)
{
    for (size_t i = 0; i < metrics->n; i++) {
        if (strcmp(metrics->station[i].name, name) == 0)
            return &metrics->station[i];
    }
    struct station_metrics *list = realloc(metrics->station, (metrics->n + 1) * sizeof *list);
    char *copy = list ? strdup(name) : NULL;
    if (list)
        metrics->station = list;
    if (!copy)
        return NULL;
    list[metrics->n] = (struct station_metrics){.name = copy, .blank_measured = PELLET_NO_TIME};
    return &list[metrics->n++];
}

static void count(struct station_metrics *station, const struct pellet_verdict *verdict, double seconds)
{
    station->verdicts[verdict->outcome]++;
    if (isnan(seconds))
        return;
    station->judged++;
    station->seconds += seconds;
    for (size_t i = 0; i < BUCKETS; i++)
        station->bucket[i] += seconds <= bucket_ends[i];
}

void metrics_verdict(struct metrics *metrics, const char *station, const struct pellet_verdict *verdict,
                     bool fresh, double seconds)
{
    pthread_mutex_lock(&metrics->mutex);
    struct station_metrics *mine = find(metrics, station);
    if (mine && fresh)
        count(mine, verdict, seconds);
    if (mine && verdict->role == PELLET_BLANK && verdict->outcome == PELLET_PASS &&
        verdict->measured > mine->blank_measured)
        mine->blank_measured = verdict->measured;
    metrics->changed = true;
    pthread_mutex_unlock(&metrics->mutex);
}

void metrics_station(struct metrics *metrics, const char *station, bool watching, size_t queue)
{
    pthread_mutex_lock(&metrics->mutex);
    struct station_metrics *mine = find(metrics, station);
    if (mine && (mine->watching != watching || mine->queue != queue)) {
        metrics->changed = true;
        mine->watching = watching;
        mine->queue = queue;
    }
    pthread_mutex_unlock(&metrics->mutex);
}

bool metrics_changed(struct metrics *metrics)
{
    pthread_mutex_lock(&metrics->mutex);
    const bool changed = metrics->changed;
    pthread_mutex_unlock(&metrics->mutex);
    return changed;
}

/* ---------------------------------------------------------------- the text */

static void add_head(struct pellet_text *out, const char *name, const char *type, const char *help)
{
    pellet_text_addf(out, "# HELP %s %s\n# TYPE %s %s\n", name, help, name, type);
}

static void add_verdicts(const struct metrics *metrics, struct pellet_text *out)
{
    add_head(out, "pelletd_verdicts_total", "counter", "Verdicts given since the program started.");
    for (size_t i = 0; i < metrics->n; i++) {
        for (size_t k = 0; k < OUTCOMES; k++)
            pellet_text_addf(out, "pelletd_verdicts_total{station=\"%s\",outcome=\"%s\"} %zu\n",
                             metrics->station[i].name, pellet_outcome_id(outcomes[k]),
                             metrics->station[i].verdicts[outcomes[k]]);
    }
}

static void add_seconds(const struct metrics *metrics, struct pellet_text *out)
{
    char number[32];
    add_head(out, "pelletd_judging_seconds", "histogram",
             "From a spectrum being ready on the disk to its verdict being there.");
    for (size_t i = 0; i < metrics->n; i++) {
        const struct station_metrics *station = &metrics->station[i];
        for (size_t k = 0; k < BUCKETS; k++) {
            pellet_number_round(bucket_ends[k], 6, number);
            pellet_text_addf(out, "pelletd_judging_seconds_bucket{station=\"%s\",le=\"%s\"} %zu\n",
                             station->name, number, station->bucket[k]);
        }
        pellet_text_addf(out, "pelletd_judging_seconds_bucket{station=\"%s\",le=\"+Inf\"} %zu\n",
                         station->name, station->judged);
        pellet_number_round(station->seconds, 9, number);
        pellet_text_addf(out, "pelletd_judging_seconds_sum{station=\"%s\"} %s\n", station->name, number);
        pellet_text_addf(out, "pelletd_judging_seconds_count{station=\"%s\"} %zu\n", station->name,
                         station->judged);
    }
}

static void add_stations(const struct metrics *metrics, struct pellet_text *out)
{
    add_head(out, "pelletd_station_watching", "gauge", "1 while the folder of the station is watched.");
    for (size_t i = 0; i < metrics->n; i++)
        pellet_text_addf(out, "pelletd_station_watching{station=\"%s\"} %d\n", metrics->station[i].name,
                         metrics->station[i].watching);
    add_head(out, "pelletd_queue_files", "gauge", "Spectra that are to be read or judged.");
    for (size_t i = 0; i < metrics->n; i++)
        pellet_text_addf(out, "pelletd_queue_files{station=\"%s\"} %zu\n", metrics->station[i].name,
                         metrics->station[i].queue);
    add_head(out, "pelletd_blank_measured_timestamp_seconds", "gauge",
             "When the latest accepted blank was measured.");
    for (size_t i = 0; i < metrics->n; i++) {
        if (metrics->station[i].blank_measured != PELLET_NO_TIME)
            pellet_text_addf(out, "pelletd_blank_measured_timestamp_seconds{station=\"%s\"} %lld\n",
                             metrics->station[i].name,
                             (long long)(metrics->station[i].blank_measured / PELLET_NS_PER_S));
    }
}

/* Names of stations hold letters, digits, '.', '_' and '-': nothing in them wants escaping. */
void metrics_print(struct metrics *metrics, pellet_ns now, struct pellet_text *out)
{
    pthread_mutex_lock(&metrics->mutex);
    add_head(out, "pelletd_build_info", "gauge", "The version, as a label.");
    pellet_text_adds(out, "pelletd_build_info{version=\"" PELLET_VERSION "\"} 1\n");
    add_head(out, "pelletd_written_timestamp_seconds", "gauge", "When this file was written.");
    pellet_text_addf(out, "pelletd_written_timestamp_seconds %lld\n", (long long)(now / PELLET_NS_PER_S));
    add_verdicts(metrics, out);
    add_seconds(metrics, out);
    add_stations(metrics, out);
    metrics->changed = false;
    pthread_mutex_unlock(&metrics->mutex);
}

pellet_status metrics_write(struct metrics *metrics, const char *path, struct pellet_error *error)
{
    struct pellet_text text = {0};
    struct pellet_text parent = {0};
    const char *slash = strrchr(path, '/');
    pellet_text_add(&parent, slash && slash > path ? path : "/",
                    slash && slash > path ? (size_t)(slash - path) : 1);
    metrics_print(metrics, clock_now(), &text);
    int folder = -1;
    pellet_status status = pellet_text_status(&text);
    if (status == PELLET_OK)
        status = pellet_text_status(&parent);
    if (status == PELLET_OK && (folder = open(parent.data, O_RDONLY | O_DIRECTORY | O_CLOEXEC)) < 0)
        status = pellet_fail_errno(error, errno, "cannot open the folder of the metrics, %s", parent.data);
    if (status == PELLET_OK)
        status = pellet_write_atomic(folder, slash ? slash + 1 : path, text.data, text.length, error);
    if (folder >= 0)
        close(folder);
    pellet_text_free(&parent);
    pellet_text_free(&text);
    return status;
}
