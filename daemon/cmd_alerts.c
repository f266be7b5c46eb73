// SPDX-License-Identifier: GPL-3.0-or-later
/* The second process: it runs the commands of alerts, one after another, as they come into the spool. */
#include "alerts.h"
#include "command.h"
#include "lock.h"
#include "log.h"
#include "notify.h"
#include "place.h"

#include <errno.h>
#include <poll.h>
#include <signal.h>
#include <string.h>
#include <sys/inotify.h>
#include <sys/signalfd.h>
#include <unistd.h>

#define LOOK_MS    60000 /* the net under inotify */
#define LOCK_TRIES 20
#define LOCK_MS    100

struct alerts_run {
    const struct options *options;
    int spool, events_fd, signal_fd;
};

static const struct station_config *find_station(const struct config *config, const char *name)
{
    for (size_t i = 0; i < config->station_count; i++) {
        if (strcmp(config->station[i].name, name) == 0)
            return &config->station[i];
    }
    return NULL;
}

static bool is_young(const struct station_config *station, const struct alert_event *event)
{
    const double age_min = ((double)clock_now() - (double)event->landed) / (60.0 * (double)PELLET_NS_PER_S);
    return age_min <= station->alert.max_age_min;
}

static void run_command(const struct alerts_run *run, const struct station_config *station,
                        const struct alert_event *event)
{
    char why[200];
    const enum alert_end end = alert_run(station, event, run->signal_fd, why, sizeof why);
    if (end == ALERT_RAN)
        log_event(JOURNAL_ALERT, LOG_LEVEL_INFO, station->name, "ran %s", station->alert.argv[0]);
    else
        log_event(JOURNAL_ALERT_FAILED, LOG_LEVEL_WARNING, station->name, "%s: %s", station->alert.argv[0],
                  why);
}

/* The configuration is read for each event, so a change needs no reload. */
static void handle(const struct alerts_run *run, const struct alert_event *event)
{
    struct config config = {0};
    struct pellet_text problems = {0};
    if (config_load(run->options->config, &config, &problems, NULL) == PELLET_OK) {
        const struct station_config *station = find_station(&config, event->station);
        if (!station || station->alert.n == 0)
            log_say(LOG_LEVEL_NOTICE, event->station, "no station of that name has an alert any more");
        else if (!is_young(station, event))
            log_say(LOG_LEVEL_NOTICE, station->name,
                    "an alert is left out: its spectrum is older than %g min", station->alert.max_age_min);
        else
            run_command(run, station, event);
    } else {
        log_lines(LOG_LEVEL_ERROR, &problems);
    }
    pellet_text_free(&problems);
    config_clear(&config);
}

static bool is_stopped(const struct alerts_run *run)
{
    struct pollfd fd = {.fd = run->signal_fd, .events = POLLIN};
    return poll(&fd, 1, 0) > 0;
}

static void drain(const struct alerts_run *run)
{
    pellet_status status = PELLET_OK;
    while (status == PELLET_OK && !is_stopped(run)) {
        struct alert_event event = {0};
        struct pellet_error error = {0};
        status = alerts_take(run->spool, &event, &error);
        if (status == PELLET_OK)
            handle(run, &event);
        else if (status != PELLET_E_MISSING)
            log_failure(LOG_LEVEL_ERROR, NULL, &error);
        if (status == PELLET_E_FORMAT)
            status = PELLET_OK; /* it is gone; the next one may be good */
        alert_event_clear(&event);
    }
}

static void serve(const struct alerts_run *run)
{
    notify_ready("waiting for alerts");
    log_event(JOURNAL_READY, LOG_LEVEL_INFO, NULL, "ready: waiting for alerts");
    while (!is_stopped(run)) {
        struct pollfd fds[] = {{.fd = run->signal_fd, .events = POLLIN},
                               {.fd = run->events_fd, .events = POLLIN}};
        char events[4096];
        drain(run);
        (void)poll(fds, 2, LOOK_MS);
        while (read(run->events_fd, events, sizeof events) > 0)
            continue;
    }
    notify_stopping();
}

static int open_signals(void)
{
    sigset_t set;
    sigemptyset(&set);
    sigaddset(&set, SIGTERM);
    sigaddset(&set, SIGINT);
    (void)sigprocmask(SIG_BLOCK, &set, NULL);
    return signalfd(-1, &set, SFD_CLOEXEC);
}

static bool find_spool(const struct options *options, char path[PATH_MAX], int *code)
{
    struct config config = {0};
    struct pellet_text problems = {0};
    bool found = false;
    if (config_load(options->config, &config, &problems, NULL) != PELLET_OK) {
        log_lines(LOG_LEVEL_ERROR, &problems);
        *code = EXIT_USAGE;
    } else if (!(found = alerts_folder(&config, path))) {
        log_say(LOG_LEVEL_ERROR, "alerts", "no spool is known: set `spool` in the configuration, or HOME");
        *code = EXIT_USAGE;
    }
    pellet_text_free(&problems);
    config_clear(&config);
    return found;
}

/* A command that was started just before the last process was killed may still hold the lock for a moment. */
static pellet_status take_lock(int spool, int *lock, struct pellet_error *error)
{
    pellet_status status = lock_take(spool, lock, error);
    for (int tries = 0; status == PELLET_E_BUSY && tries < LOCK_TRIES; tries++) {
        (void)poll(NULL, 0, LOCK_MS);
        status = lock_take(spool, lock, error);
    }
    return status;
}

/* Everything that is waited for, or a message and false. */
static bool prepare(struct alerts_run *run, const char *path, int *lock)
{
    struct pellet_error error = {0};
    run->spool = alerts_open(path, &error);
    if (run->spool < 0 || take_lock(run->spool, lock, &error) != PELLET_OK) {
        log_failure(LOG_LEVEL_ERROR, "alerts", &error);
        return false;
    }
    run->signal_fd = open_signals();
    run->events_fd = inotify_init1(IN_CLOEXEC | IN_NONBLOCK);
    if (run->signal_fd < 0 || run->events_fd < 0 ||
        inotify_add_watch(run->events_fd, path, IN_MOVED_TO) < 0) {
        log_say(LOG_LEVEL_ERROR, "alerts", "cannot watch %s: %s", path, strerror(errno));
        return false;
    }
    return true;
}

int command_alerts(const struct options *options, int count, char **arguments)
{
    struct alerts_run run = {.options = options, .spool = -1, .events_fd = -1, .signal_fd = -1};
    char path[PATH_MAX];
    int lock = -1;
    int code = EXIT_TROUBLE;
    (void)count;
    (void)arguments;
    if (!find_spool(options, path, &code))
        return code;
    if (prepare(&run, path, &lock)) {
        const size_t lost = alerts_forget_taken(run.spool);
        if (lost > 0)
            log_say(LOG_LEVEL_NOTICE, "alerts", "%zu taken before the last end are not run again", lost);
        serve(&run);
        code = EXIT_PASSED;
    }
    const int fds[] = {run.spool, run.events_fd, run.signal_fd, lock};
    for (size_t i = 0; i < sizeof fds / sizeof fds[0]; i++) {
        if (fds[i] >= 0)
            close(fds[i]);
    }
    return code;
}
