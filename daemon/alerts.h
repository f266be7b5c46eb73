// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Alerts: the service puts an event into a spool folder, and a second process runs the station's command for
 * it. The service never waits for a command, and its sandbox is never opened for one.
 *
 * At most once: an event is taken out of the spool, durably, before its command is run. What is killed in
 * between is not run again.
 */
#ifndef PELLETD_ALERTS_H
#define PELLETD_ALERTS_H

#include "config.h"

#include <limits.h>

#define ALERT_EVENTS_MAX 1000 /* more waiting in the spool means that nobody runs them */
#define ALERT_BYTES_MAX  ((uint64_t)64 << 10)

/* The variables of an event as a command gets them: "PELLETD_FILE=caffeine_p1.csv", each ended by NUL. */
struct alert_event {
    struct pellet_bytes variables;
    const char *station; /* into `variables`; NULL where the event does not name one */
    pellet_ns landed;    /* when the spectrum came; PELLET_NO_TIME where the event does not say */
};

/*
 * The spool: the configuration's `spool`, else alerts/ in $STATE_DIRECTORY (systemd sets it), else in
 * $XDG_STATE_HOME/pelletd or ~/.local/state/pelletd. False: none of them is known.
 */
bool alerts_folder(const struct config *config, char path[PATH_MAX]);
/* Open it, made where it is missing, for its owner alone. -1 and `error` on failure. */
int alerts_open(const char *path, struct pellet_error *error);

/* ---------------------------------------------------------------- for the service (alerts_spool.c) */

/* Whether the station wants to be told of this verdict: not a pass, and its spectrum is young enough. */
bool alerts_wanted(const struct station_config *station, const struct pellet_verdict *verdict, pellet_ns now);
/* Put an event for a verdict into the spool. E_LIMIT where too many wait there already. */
pellet_status alerts_spool(const char *spool, const struct station_config *station,
                           const struct pellet_verdict *verdict, struct pellet_error *error);

/* ---------------------------------------------------------------- for the second process */

/*
 * Take the oldest event out of the spool, durably: it will not be taken again, whatever happens now.
 *
 * Errors: E_MISSING  none is there
 *         E_FORMAT   what was taken is not an event of ours
 *         others     the spool cannot be read or changed
 */
pellet_status alerts_take(int spool, struct alert_event *event, struct pellet_error *error);
void alert_event_clear(struct alert_event *event);
/* Remove what a killed process had taken; returns how many, which were perhaps not run. */
size_t alerts_forget_taken(int spool);

enum alert_end {
    ALERT_RAN,
    ALERT_STOPPED, /* we were asked to end */
    ALERT_TIME,    /* its time was up */
    ALERT_FAILED   /* it could not be started, or ended with an error */
};

/*
 * Run a command and wait for it: no shell, a process group of its own, nothing of our environment but PATH,
 * HOME, LANG and TZ, and the variables of the event. When its time is up, or `stop_fd` becomes readable, the
 * whole group is asked to end and killed 2 s later.
 *
 * Returned: `why` says what went wrong, in words
 */
enum alert_end alert_run(const struct station_config *station, const struct alert_event *event, int stop_fd,
                         char *why, size_t size);

#endif
