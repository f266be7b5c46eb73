// SPDX-License-Identifier: GPL-3.0-or-later
#include "station_watch_parts.h"

#include "log.h"

#include <errno.h>
#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/eventfd.h>
#include <time.h>
#include <unistd.h>

#define AWAY_MS 3000 /* between two looks for a folder that is away */
#define JOIN_MS 10   /* between two looks whether a thread has ended */

/* ---------------------------------------------------------------- here and away */

static bool wait_for_stop(const struct station_watch *watch, int64_t ms)
{
    struct pollfd fd = {.fd = watch->stop_fd, .events = POLLIN};
    return poll(&fd, 1, (int)ms) > 0;
}

static void close_station(struct station_watch *watch, struct station *station)
{
    station_free(station);
    claims_give_back(watch->options.claims, watch->config->name);
}

/* Open the station, if it is here and ours to write to. What keeps us from it is said once. */
static struct station *open_station(struct station_watch *watch, char last[200])
{
    const struct station_options how = {.jobs = watch->options.jobs,
                                        .patient = true,
                                        .on_verdict = watch_on_verdict,
                                        .on_moved = watch_on_moved,
                                        .context = watch};
    struct pellet_error error = {0};
    struct pellet_error lock_error = {0};
    struct station *station = NULL;
    char why[200] = "";
    if (!station_is_here(watch->config, -1, why, sizeof why)) {
        /* said below */
    } else if (station_open(watch->config, &how, &station, &lock_error, &error) != PELLET_OK) {
        snprintf(why, sizeof why, "%.199s", error.message);
    } else if (lock_error.status != PELLET_OK) {
        snprintf(why, sizeof why, "%.199s", lock_error.message);
        station_free(station);
        station = NULL;
    } else if (!claims_take(watch->options.claims, watch->config->name, station->place.folder,
                            station->place.output, why, sizeof why)) {
        station_free(station);
        station = NULL;
    } else if (reports_new(station, &watch->reports, &error) != PELLET_OK) {
        snprintf(why, sizeof why, "%.199s", error.message);
        close_station(watch, station);
        station = NULL;
    }
    if (!station && strcmp(why, last) != 0)
        log_event(JOURNAL_AWAY, LOG_LEVEL_WARNING, watch->config->name, "away: %s; looking for it again",
                  why);
    if (station && *last)
        log_event(JOURNAL_BACK, LOG_LEVEL_NOTICE, watch->config->name, "is back");
    snprintf(last, 200, "%s", why);
    return station;
}

static void *watch_station(void *argument)
{
    struct station_watch *watch = argument;
    char last[200] = "";
    bool stop = false;
    while (!stop) {
        struct station *station = open_station(watch, last);
        if (station) {
            stop = watch_folder(watch, station);
            snprintf(last, sizeof last, "%s", stop ? "" : "lost");
            reports_free(watch->reports);
            watch->reports = NULL;
            close_station(watch, station);
        } else {
            watch_set_mood(watch, STATION_AWAY);
        }
        stop = stop || wait_for_stop(watch, station ? 0 : AWAY_MS);
    }
    watch_set_mood(watch, STATION_STOPPED);
    return NULL;
}

/* ---------------------------------------------------------------- the thread */

static void free_watch(struct station_watch *watch)
{
    if (watch->stop_fd >= 0)
        close(watch->stop_fd);
    pthread_mutex_destroy(&watch->mutex);
    free(watch);
}

pellet_status station_watch_start(const struct station_config *config, const struct watch_options *options,
                                  struct station_watch **watch, struct pellet_error *error)
{
    struct station_watch *made = calloc(1, sizeof *made);
    if (!made)
        return pellet_fail(error, PELLET_E_MEMORY, "no memory for a station");
    made->config = config;
    made->options = *options;
    pthread_mutex_init(&made->mutex, NULL);
    made->stop_fd = eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK);
    int failed = made->stop_fd < 0 ? errno : pthread_create(&made->thread, NULL, watch_station, made);
    if (failed != 0) {
        free_watch(made);
        return pellet_fail_errno(error, failed, "cannot start a thread for %s", config->name);
    }
    *watch = made;
    return PELLET_OK;
}

struct station_state station_watch_state(struct station_watch *watch)
{
    pthread_mutex_lock(&watch->mutex);
    struct station_state state = watch->state;
    pthread_mutex_unlock(&watch->mutex);
    return state;
}

void station_watch_stop(struct station_watch *watch)
{
    (void)eventfd_write(watch->stop_fd, 1);
}

/* Asked again and again: the wait that pthreads offer goes by a clock that may be set back meanwhile. */
bool station_watch_join(struct station_watch *watch, int64_t until_ms)
{
    static const struct timespec pause = {.tv_nsec = JOIN_MS * 1000000L};
    while (pthread_tryjoin_np(watch->thread, NULL) != 0) {
        if (clock_monotonic_ms() >= until_ms)
            return false;
        (void)nanosleep(&pause, NULL);
    }
    free_watch(watch);
    return true;
}

void station_watch_abandon(struct station_watch *watch)
{
    pthread_detach(watch->thread);
}
