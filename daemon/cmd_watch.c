// SPDX-License-Identifier: GPL-3.0-or-later
/* The service: signals, the service manager, and a thread for each station. It touches no station folder. */
#include "command.h"
#include "fleet.h"
#include "log.h"
#include "notify.h"
#include "outlet.h"
#include "watch_config.h"

#include <errno.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/eventfd.h>
#include <sys/signalfd.h>
#include <unistd.h>

#define STOP_MS    20000 /* for the files in hand; a share that hangs is not waited for any longer ... */
#define RELOAD_MS  4000  /* ... and keeps the others waiting no longer than this */
#define METRICS_MS 1000  /* between two writings while verdicts come in a flood */
#define READY_MS   5000  /* until stations that cannot be reached no longer keep us from being ready */

struct service {
    const struct options *options;
    const char *folder; /* the one that was named, or NULL */
    struct fleet *fleet;
    struct fleet *hanging; /* threads that never came back may still read their configuration */
    int signal_fd, changed_fd;
    struct metrics *metrics; /* counts on through reloads */
    int64_t metrics_ms;      /* when they were written */
    bool metrics_failing;    /* said once */
    char status[160];        /* as last told */
    bool ready;
    int64_t ready_ms;
    bool stop;
    bool failed; /* a station could not be started */
};

/* ---------------------------------------------------------------- the stations */

/* Those that have not ended by then are left to themselves: nobody else waits for a share that hangs. */
static void end_fleet(struct service *service, int64_t wait_ms)
{
    struct fleet *fleet = service->fleet;
    service->fleet = NULL;
    if (!fleet)
        return;
    fleet_stop(fleet);
    if (fleet_join(fleet, clock_monotonic_ms() + wait_ms))
        return;
    fleet_say_hanging(fleet);
    fleet->next = service->hanging;
    service->hanging = fleet;
}

/* A share may come back, and its station end after all. */
static void end_hanging(struct service *service)
{
    for (struct fleet **link = &service->hanging; *link;) {
        struct fleet *next = (*link)->next;
        if (fleet_join(*link, 0))
            *link = next;
        else
            link = &(*link)->next;
    }
}

/* What stations write to stays while one of them hangs: it may come back before the program is gone. */
static void end_shared(struct service *service)
{
    for (struct fleet *fleet = service->hanging; fleet; fleet = fleet->next)
        fleet_abandon(fleet);
    if (service->hanging)
        return;
    if (service->changed_fd >= 0)
        close(service->changed_fd);
    metrics_free(service->metrics);
}

/* A service that lacks a station is none: it ends, and the service manager starts it anew. */
static void begin_fleet(struct service *service, struct config *config)
{
    const struct watch_options how = {.jobs = service->options->jobs,
                                      .rescan_ms = (int64_t)(service->options->rescan_s * 1000),
                                      .style = line_style_for(STDOUT_FILENO, false),
                                      .changed_fd = service->changed_fd,
                                      .metrics = service->metrics};
    service->fleet = fleet_start(config, &how);
    service->failed = !service->fleet || service->fleet->n < service->fleet->config.station_count;
    service->stop = service->failed;
}

/* ---------------------------------------------------------------- reporting */

static void describe(const struct service *service, char *out, size_t size, bool *settled)
{
    size_t watching = 0;
    size_t away = 0;
    size_t backlog = 0;
    size_t judged = 0;
    for (size_t i = 0; i < service->fleet->n; i++) {
        const struct station_state state = station_watch_state(service->fleet->watch[i]);
        watching += state.mood == STATION_WATCHING;
        away += state.mood == STATION_AWAY;
        backlog += state.backlog;
        judged += state.judged;
        metrics_station(service->metrics, service->fleet->config.station[i].name,
                        state.mood == STATION_WATCHING, state.backlog);
    }
    *settled = watching + away == service->fleet->n;
    snprintf(out, size, "watching %zu, away %zu, judged %zu, to do %zu", watching, away, judged, backlog);
}

static void report(struct service *service)
{
    char status[160];
    bool settled = false;
    describe(service, status, sizeof status, &settled);
    if (!service->ready && (settled || clock_monotonic_ms() >= service->ready_ms)) {
        service->ready = notify_ready(status);
        if (!service->ready)
            return;
        log_event(JOURNAL_READY, LOG_LEVEL_INFO, NULL, "ready: %s", status);
    } else if (strcmp(status, service->status) != 0 && !notify_status(status)) {
        return;
    }
    memcpy(service->status, status, sizeof status);
}

/* When the file of metrics is to be written next; INT64_MAX for not now. */
static int64_t metrics_due_ms(const struct service *service)
{
    return service->fleet->config.metrics && metrics_changed(service->metrics)
               ? service->metrics_ms + METRICS_MS
               : INT64_MAX;
}

static void write_metrics(struct service *service)
{
    struct pellet_error error = {0};
    const char *path = service->fleet->config.metrics;
    const int64_t now_ms = clock_monotonic_ms();
    if (metrics_due_ms(service) > now_ms)
        return;
    service->metrics_ms = now_ms;
    const bool failed = metrics_write(service->metrics, path, &error) != PELLET_OK;
    if (failed && !service->metrics_failing)
        log_failure(LOG_LEVEL_WARNING, "metrics", &error);
    service->metrics_failing = failed;
}

/* ---------------------------------------------------------------- signals */

/* All or nothing: a bad new configuration is refused and the old one stays. */
static void reload(struct service *service)
{
    struct config config = {0};
    struct pellet_text problems = {0};
    struct pellet_error error = {0};
    notify_reloading();
    if (watch_config_load(service->options, service->folder, &config, &problems, &error) == PELLET_OK) {
        end_fleet(service, RELOAD_MS);
        begin_fleet(service, &config);
        log_event(JOURNAL_RELOADED, LOG_LEVEL_NOTICE, NULL, "configuration reloaded");
    } else {
        log_lines(LOG_LEVEL_ERROR, &problems);
        log_event(JOURNAL_REFUSED, LOG_LEVEL_ERROR, NULL,
                  "the new configuration is refused; the old one stays");
    }
    pellet_text_free(&problems);
    service->ready = false;
    service->ready_ms = clock_monotonic_ms() + READY_MS;
}

static void take_signal(struct service *service)
{
    struct signalfd_siginfo info;
    while (read(service->signal_fd, &info, sizeof info) == (ssize_t)sizeof info) {
        if (info.ssi_signo == SIGHUP)
            reload(service);
        else
            service->stop = true;
    }
}

static int open_signals(void)
{
    sigset_t set;
    sigemptyset(&set);
    sigaddset(&set, SIGTERM);
    sigaddset(&set, SIGINT);
    sigaddset(&set, SIGHUP);
    sigset_t blocked = set;
    sigaddset(&blocked, SIGALRM); /* as notify.h wants it */
    /* Before any thread starts, so that all of them inherit it. */
    pthread_sigmask(SIG_BLOCK, &blocked, NULL);
    /* A reader of our lines that went away is no reason to stop judging. */
    signal(SIGPIPE, SIG_IGN);
    return signalfd(-1, &set, SFD_CLOEXEC | SFD_NONBLOCK);
}

static int next_timeout(const struct service *service, int64_t watchdog_ms)
{
    const int64_t now_ms = clock_monotonic_ms();
    int64_t due_ms = metrics_due_ms(service);
    if (watchdog_ms > 0 && now_ms + watchdog_ms < due_ms)
        due_ms = now_ms + watchdog_ms;
    if (!service->ready && service->ready_ms < due_ms)
        due_ms = service->ready_ms;
    if (due_ms == INT64_MAX)
        return -1;
    return due_ms > now_ms ? (int)(due_ms - now_ms) : 0;
}

static void serve(struct service *service)
{
    const int64_t watchdog_ms = notify_watchdog_ms();
    while (!service->stop) {
        struct pollfd fds[] = {{.fd = service->signal_fd, .events = POLLIN},
                               {.fd = service->changed_fd, .events = POLLIN}};
        (void)poll(fds, 2, next_timeout(service, watchdog_ms));
        if (fds[1].revents) {
            eventfd_t count = 0;
            (void)eventfd_read(service->changed_fd, &count);
        }
        if (fds[0].revents)
            take_signal(service);
        if (watchdog_ms > 0)
            notify_watchdog();
        end_hanging(service);
        if (!service->stop) {
            report(service);
            write_metrics(service);
        }
    }
    notify_stopping();
}

/* ---------------------------------------------------------------- the command */

int command_watch(const struct options *options, int count, char **arguments)
{
    struct service service = {.options = options, .folder = count > 0 ? arguments[0] : NULL};
    struct config config = {0};
    struct pellet_text problems = {0};
    struct pellet_error error = {0};
    const pellet_status status = watch_config_load(options, service.folder, &config, &problems, &error);
    log_lines(LOG_LEVEL_ERROR, &problems);
    pellet_text_free(&problems);
    if (status != PELLET_OK)
        return reading_may_pass(status) && status != PELLET_E_DENIED
                   ? EXIT_TROUBLE
                   : EXIT_USAGE; /* which is not tried again */
    /* Whoever does not read what we say must not stop the judging. */
    outlet_never_block(STDOUT_FILENO);
    outlet_never_block(STDERR_FILENO);
    service.signal_fd = open_signals();
    service.changed_fd = eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK);
    service.ready_ms = clock_monotonic_ms() + READY_MS;
    service.metrics = metrics_new();
    if (!service.metrics)
        log_say(LOG_LEVEL_ERROR, "watch", "no memory");
    else if (service.signal_fd >= 0 && service.changed_fd >= 0)
        begin_fleet(&service, &config);
    else
        log_say(LOG_LEVEL_ERROR, "watch", "cannot wait for signals: %s", strerror(errno));
    config_clear(&config);
    const bool started = service.fleet && !service.failed;
    if (started)
        serve(&service);
    end_fleet(&service, STOP_MS);
    end_hanging(&service);
    if (service.signal_fd >= 0)
        close(service.signal_fd);
    end_shared(&service);
    return started && !service.failed ? EXIT_PASSED : EXIT_TROUBLE;
}
