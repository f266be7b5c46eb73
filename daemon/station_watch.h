// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * A thread for each station that is watched. Whatever touches the station's folder happens there, so that a
 * share that hangs stops its own station and nothing else.
 */
#ifndef PELLETD_STATION_WATCH_H
#define PELLETD_STATION_WATCH_H

#include "claims.h"
#include "line.h"
#include "metrics.h"
#include "reports.h"
#include "station.h"

#include <pthread.h>

enum station_mood {
    STATION_STARTING, /* not looked at yet */
    STATION_WATCHING, /* its folder is watched */
    STATION_AWAY,     /* its folder is not there, or is not ours to write to */
    STATION_STOPPED
};

/* What the main thread may ask of a station at any time. */
struct station_state {
    enum station_mood mood;
    size_t backlog; /* files that are to be read or judged */
    size_t judged;  /* since the start */
};

struct watch_options {
    unsigned jobs;
    int64_t rescan_ms;
    struct line_style style;
    bool name_stations;      /* more than one: say which */
    struct claims *claims;   /* of all stations; borrowed */
    int changed_fd;          /* an eventfd that is written when something changes */
    struct metrics *metrics; /* told of every verdict; borrowed */
    const char *spool;       /* where alerts go; NULL: nowhere */
};

struct station_watch {
    const struct station_config *config;
    struct watch_options options;
    pthread_t thread;
    int stop_fd;             /* eventfd: readable when it is to stop */
    struct reports *reports; /* the thread's own; NULL while the folder is away */
    size_t unread;           /* lines of verdicts that found no reader; the thread's own */
    pthread_mutex_t mutex;
    struct station_state state; /* under the mutex */
};

/* `config` is borrowed until the thread has ended. */
pellet_status station_watch_start(const struct station_config *config, const struct watch_options *options,
                                  struct station_watch **watch, struct pellet_error *error);
struct station_state station_watch_state(struct station_watch *watch);
/* Ask it to stop; it finishes the files in hand. */
void station_watch_stop(struct station_watch *watch);
/* Wait for its end until `until_ms` (monotonic). True: it has ended and `watch` is freed. False: it hangs. */
bool station_watch_join(struct station_watch *watch, int64_t until_ms);
/* Nobody will join it any more. What it was given stays its own until the program ends. */
void station_watch_abandon(struct station_watch *watch);

#endif
