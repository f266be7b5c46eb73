// SPDX-License-Identifier: GPL-3.0-or-later
/* The service: signals, the service manager, and a thread for each station. It touches no station folder. */
#include "alerts.h"
#include "command.h"
#include "log.h"
#include "notify.h"
#include "station_watch.h"

#include <errno.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/eventfd.h>
#include <sys/signalfd.h>
#include <unistd.h>

#define STOP_MS    20000 /* for the files in hand; a share that hangs is not waited for any longer */
#define METRICS_MS 1000  /* between two writings while verdicts come in a flood */
#define READY_MS   5000  /* until stations that cannot be reached no longer keep us from being ready */

/* One configuration at work. */
struct fleet {
    struct config config;
    size_t n;
    struct station_watch **watch;
    char spool[PATH_MAX]; /* "": no alert can be kept */
    struct claims *claims;
    struct fleet *next; /* in the list of those that hang */
};

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

/* ---------------------------------------------------------------- configuration */

static void override(const struct options *options, struct station_config *station)
{
    if (options->rules)
        station->rules = options->rules;
    if (options->out)
        station->output = options->out;
}

static pellet_status load_folder(const struct service *service, struct config *config,
                                 struct pellet_error *error)
{
    struct config made = {0};
    made.station = pellet_arena_alloc(&made.arena, sizeof *made.station);
    pellet_status status = made.station
                               ? station_config_default(service->folder, &made.arena, made.station, error)
                               : pellet_fail(error, PELLET_E_MEMORY, "no memory for a station");
    if (status != PELLET_OK) {
        pellet_arena_free(&made.arena);
        return status;
    }
    made.station_count = 1;
    *config = made;
    return PELLET_OK;
}

/* A folder that is a configured station keeps its settings. */
static pellet_status load(const struct service *service, struct config *config, struct pellet_text *problems,
                          struct pellet_error *error)
{
    struct config made = {0};
    pellet_status status = config_load(service->options->config, &made, problems, error);
    if (status != PELLET_OK)
        return status;
    const struct station_config *known = service->folder ? config_station_of(&made, service->folder) : NULL;
    if (known) {
        made.station[0] = *known;
        made.station_count = 1;
    } else if (service->folder) {
        config_clear(&made);
        status = load_folder(service, &made, error);
        if (status != PELLET_OK)
            pellet_text_addf(problems, "%s: %s\n", service->folder, error->message);
    } else if (made.station_count == 0) {
        status = pellet_fail(error, PELLET_E_USAGE, "no station is configured");
        pellet_text_adds(problems, "no station is configured; name a folder (pelletd watch FOLDER) or a "
                                   "configuration (--config FILE)\n");
    }
    if (status == PELLET_OK)
        *config = made;
    else
        config_clear(&made);
    return status;
}

/* All rule sets must be good before anything is changed. */
static pellet_status check_rules(const struct config *config, struct pellet_text *problems,
                                 struct pellet_error *error)
{
    pellet_status first = PELLET_OK;
    for (size_t i = 0; i < config->station_count; i++) {
        struct pellet_rules rules;
        struct pellet_error problem = {0};
        pellet_status status = rules_find(config->station[i].rules, &rules, &problem);
        if (status == PELLET_OK) {
            pellet_rules_clear(&rules);
            continue;
        }
        pellet_text_addf(problems, "%s: rules %s", config->station[i].name, config->station[i].rules);
        if (problem.line > 0)
            pellet_text_addf(problems, ": line %zu, column %zu", problem.line, problem.column);
        pellet_text_addf(problems, ": %s\n", problem.message);
        if (first == PELLET_OK) {
            first = status;
            *error = problem;
        }
    }
    return first;
}

/* ---------------------------------------------------------------- the stations */

static void fleet_stop(struct service *service)
{
    struct fleet *fleet = service->fleet;
    bool all = true;
    service->fleet = NULL;
    if (!fleet)
        return;
    for (size_t i = 0; i < fleet->n; i++)
        station_watch_stop(fleet->watch[i]);
    const int64_t until_ms = clock_monotonic_ms() + STOP_MS;
    for (size_t i = 0; i < fleet->n; i++) {
        if (!station_watch_join(fleet->watch[i], until_ms)) {
            log_say(LOG_LEVEL_WARNING, fleet->config.station[i].name, "hangs; it is left to itself");
            all = false;
        }
    }
    if (!all) {
        fleet->next = service->hanging;
        service->hanging = fleet;
        return;
    }
    config_clear(&fleet->config);
    claims_free(fleet->claims);
    free(fleet->watch);
    free(fleet);
}

static struct fleet *fleet_start(const struct service *service, struct config *config,
                                 struct pellet_error *error)
{
    struct fleet *fleet = calloc(1, sizeof *fleet);
    struct station_watch **watch = calloc(config->station_count, sizeof *watch);
    struct claims *claims = claims_new();
    struct watch_options how = {.jobs = service->options->jobs,
                                .rescan_ms = (int64_t)(service->options->rescan_s * 1000),
                                .style = line_style_for(STDOUT_FILENO, false),
                                .name_stations = config->station_count > 1,
                                .claims = claims,
                                .changed_fd = service->changed_fd,
                                .metrics = service->metrics};
    if (!fleet || !watch || !claims) {
        free(fleet);
        free(watch);
        claims_free(claims);
        pellet_fail(error, PELLET_E_MEMORY, "no memory for the stations");
        return NULL;
    }
    fleet->config = *config;
    fleet->watch = watch;
    fleet->claims = claims;
    *config = (struct config){0};
    if (alerts_folder(&fleet->config, fleet->spool))
        how.spool = fleet->spool;
    for (size_t i = 0; i < fleet->config.station_count; i++) {
        override(service->options, &fleet->config.station[i]);
        if (station_watch_start(&fleet->config.station[i], &how, &watch[fleet->n], error) == PELLET_OK)
            fleet->n++;
        else
            log_failure(LOG_LEVEL_ERROR, fleet->config.station[i].name, error);
    }
    return fleet;
}

/* A service that lacks a station is none: it ends, and the service manager starts it anew. */
static void fleet_begin(struct service *service, struct config *config)
{
    struct pellet_error error = {0};
    service->fleet = fleet_start(service, config, &error);
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
        service->ready = true;
        notify_ready(status);
        log_event(JOURNAL_READY, LOG_LEVEL_INFO, NULL, "ready: %s", status);
    } else if (strcmp(status, service->status) != 0) {
        notify_status(status);
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
    pellet_status status = load(service, &config, &problems, &error);
    if (status == PELLET_OK && (status = check_rules(&config, &problems, &error)) != PELLET_OK)
        config_clear(&config);
    if (status == PELLET_OK) {
        fleet_stop(service);
        fleet_begin(service, &config);
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
    /* Blocked before any thread starts, so that all of them inherit it. */
    pthread_sigmask(SIG_BLOCK, &set, NULL);
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
    pellet_status status = load(&service, &config, &problems, &error);
    if (status == PELLET_OK)
        status = check_rules(&config, &problems, &error);
    log_lines(LOG_LEVEL_ERROR, &problems);
    pellet_text_free(&problems);
    if (status != PELLET_OK) {
        config_clear(&config);
        return status == PELLET_E_MEMORY ? EXIT_TROUBLE : EXIT_USAGE; /* the latter is not tried again */
    }
    service.signal_fd = open_signals();
    service.changed_fd = eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK);
    service.ready_ms = clock_monotonic_ms() + READY_MS;
    service.metrics = metrics_new();
    if (!service.metrics)
        log_say(LOG_LEVEL_ERROR, "watch", "no memory");
    else if (service.signal_fd >= 0 && service.changed_fd >= 0)
        fleet_begin(&service, &config);
    else
        log_say(LOG_LEVEL_ERROR, "watch", "cannot wait for signals: %s", strerror(errno));
    config_clear(&config);
    const bool started = service.fleet && !service.failed;
    if (started)
        serve(&service);
    fleet_stop(&service);
    if (service.signal_fd >= 0)
        close(service.signal_fd);
    if (service.changed_fd >= 0)
        close(service.changed_fd);
    /* A thread that hangs may still count. */
    if (!service.hanging)
        metrics_free(service.metrics);
    return started && !service.failed ? EXIT_PASSED : EXIT_TROUBLE;
}
