// SPDX-License-Identifier: GPL-3.0-or-later
#include "station_watch.h"

#include "alerts.h"
#include "log.h"
#include "watcher.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/eventfd.h>
#include <time.h>
#include <unistd.h>

#define AWAY_MS    3000 /* between two looks for a folder that is away */
#define SCAN_SHARE 10   /* polling may take one tenth of the time */
#define SCAN_SOON  200  /* a scan that events ask for, so that many of them make one */
#define AGAIN_MS   2000 /* until a scan for what could not be looked at, doubling while it stays so */
#define NEVER_MS   INT64_MAX

/* What the thread works with while its folder is here. */
struct watching {
    struct station_watch *watch;
    struct station *station;
    struct watcher watcher;
    int64_t scan_every_ms;
    int64_t scan_ms;  /* when to look through the folder next */
    int64_t again_ms; /* see AGAIN_MS */
    int64_t look_ms;  /* when to see whether the folder itself is still there */
    int mounts_fd; /* readable (POLLPRI) when something was mounted or unmounted; -1 where that is not told */
    bool lost;
    bool stop;
};

/* ---------------------------------------------------------------- telling */

static void set_mood(struct station_watch *watch, enum station_mood mood)
{
    pthread_mutex_lock(&watch->mutex);
    bool other = watch->state.mood != mood;
    watch->state.mood = mood;
    pthread_mutex_unlock(&watch->mutex);
    if (other)
        (void)eventfd_write(watch->options.changed_fd, 1);
}

static void set_backlog(struct watching *watching)
{
    const struct station *station = watching->station;
    pthread_mutex_lock(&watching->watch->mutex);
    const bool was_busy = watching->watch->state.backlog > 0;
    watching->watch->state.backlog = station->ready.n - station->ready_first + station->reading +
                                     station->pending.all.n + station->judging;
    const bool is_busy = watching->watch->state.backlog > 0;
    pthread_mutex_unlock(&watching->watch->mutex);
    if (was_busy != is_busy)
        (void)eventfd_write(watching->watch->options.changed_fd, 1);
}

/* One line, one write: threads do not mix their lines. */
static void print_line(const struct station_watch *watch, const struct pellet_verdict *verdict)
{
    struct pellet_text line = {0};
    if (log_is_journal(STDOUT_FILENO))
        pellet_text_addf(&line, "<%d>", journal_priority(verdict));
    if (watch->options.name_stations)
        pellet_text_addf(&line, "%s%s", watch->config->name, watch->options.style.aligned ? "  " : "\t");
    if (line_of_verdict(verdict, &watch->options.style, &line) == PELLET_OK) {
        (void)fwrite(line.data, 1, line.length, stdout);
        (void)fflush(stdout);
    }
    pellet_text_free(&line);
}

/* Once is enough where both go to the journal. */
static void say_verdict(const struct station_watch *watch, const struct pellet_verdict *verdict)
{
    if (!journal_takes_fields() || !log_is_journal(STDOUT_FILENO))
        print_line(watch, verdict);
    journal_verdict(watch->config->name, verdict);
}

static void alert(const struct station_watch *watch, const struct pellet_verdict *verdict)
{
    struct pellet_error error = {0};
    if (watch->options.spool && alerts_wanted(watch->config, verdict, clock_now()) &&
        alerts_spool(watch->options.spool, watch->config, verdict, &error) != PELLET_OK)
        log_failure(LOG_LEVEL_WARNING, watch->config->name, &error);
}

/* From the file being ready to now; a verdict that is given anew later did not take that long. */
static double seconds_of(struct entry *entry)
{
    const int64_t ready_ms = entry->ready_ms;
    entry->ready_ms = 0;
    return ready_ms > 0 ? (double)(clock_monotonic_ms() - ready_ms) / 1000 : NAN;
}

static void on_verdict(void *context, struct entry *entry, const struct pellet_verdict *verdict, bool fresh)
{
    struct station_watch *watch = context;
    if (fresh)
        say_verdict(watch, verdict);
    if (watch->reports)
        reports_told(watch->reports, entry, fresh);
    metrics_verdict(watch->options.metrics, watch->config->name, verdict, fresh,
                    fresh ? seconds_of(entry) : NAN);
    if (!fresh)
        return;
    alert(watch, verdict);
    pthread_mutex_lock(&watch->mutex);
    watch->state.judged++;
    pthread_mutex_unlock(&watch->mutex);
    (void)eventfd_write(watch->options.changed_fd, 1);
}

/* ---------------------------------------------------------------- looking */

/* The limit of watches is the system's; looking often does the same more slowly. The folders that are watched
 * stay so. */
static void poll_too(struct watching *watching, const struct pellet_error *error)
{
    if (watching->scan_every_ms <= watcher_poll.scan_every_ms)
        return;
    log_say(LOG_LEVEL_WARNING, watching->watch->config->name, "%s; looking every 2 s as well",
            error->message);
    watching->scan_every_ms = watcher_poll.scan_every_ms;
}

static void on_folder(void *context, const char *name)
{
    struct watching *watching = context;
    struct pellet_error error = {0};
    const pellet_status status = watching->watcher.kind->add(&watching->watcher, name, &error);
    if (status != PELLET_OK && status != PELLET_E_MISSING && status != PELLET_E_DENIED)
        poll_too(watching, &error);
}

static void scan(struct watching *watching, bool first)
{
    struct pellet_error error = {0};
    const int64_t start_ms = clock_monotonic_ms();
    watching->station->overlooked = false;
    if (station_scan(watching->station, first, on_folder, watching, &error) != PELLET_OK) {
        log_say(LOG_LEVEL_WARNING, watching->watch->config->name, "away: %s; looking for it again",
                error.message);
        watching->lost = true;
    }
    if (!first)
        station_read_worksheet(watching->station);
    if (!watching->station->overlooked)
        watching->again_ms = AGAIN_MS;
    const int64_t end_ms = clock_monotonic_ms();
    const int64_t pause_ms = SCAN_SHARE * (end_ms - start_ms);
    watching->scan_ms = end_ms + (pause_ms > watching->scan_every_ms ? pause_ms : watching->scan_every_ms);
}

static int64_t earlier(int64_t a, int64_t b)
{
    return a < b ? a : b;
}

/* Something could not be looked at: not long, and a scan does it. */
static void scan_what_was_overlooked(struct watching *watching)
{
    if (!watching->station->overlooked)
        return;
    watching->station->overlooked = false;
    watching->scan_ms = earlier(watching->scan_ms, clock_monotonic_ms() + watching->again_ms);
    if (2 * watching->again_ms < watching->scan_every_ms)
        watching->again_ms *= 2;
}

static void on_sign(void *context, enum watcher_sign sign, const char *name)
{
    struct watching *watching = context;
    const int64_t soon_ms = clock_monotonic_ms() + SCAN_SOON;
    switch (sign) {
    case WATCHER_CHANGED:
        station_event(watching->station, name, SETTLE_CHANGED);
        break;
    case WATCHER_CLOSED:
        station_event(watching->station, name, SETTLE_CLOSE);
        break;
    case WATCHER_GONE:
        /* Perhaps the folder goes with it: that is not told while we hold it open. */
        watching->look_ms = earlier(watching->look_ms, soon_ms);
        station_event(watching->station, name, SETTLE_GONE);
        break;
    case WATCHER_SCAN:
        if (soon_ms < watching->scan_ms)
            watching->scan_ms = soon_ms;
        break;
    case WATCHER_LOST:
        watching->lost = true;
        break;
    }
}

/* ---------------------------------------------------------------- the loop while the folder is here */

static int timeout_until(int64_t until_ms, int64_t now_ms)
{
    if (until_ms == NEVER_MS)
        return -1;
    if (until_ms <= now_ms)
        return 0;
    return until_ms - now_ms > 3600000 ? 3600000 : (int)(until_ms - now_ms);
}

static void wait_for_something(struct watching *watching, int64_t due_ms)
{
    struct pollfd fds[] = {{.fd = watching->watch->stop_fd, .events = POLLIN},
                           {.fd = workers_fd(watching->station->workers), .events = POLLIN},
                           {.fd = watching->watcher.fd, .events = POLLIN},
                           {.fd = reports_fd(watching->watch->reports), .events = POLLIN},
                           {.fd = watching->mounts_fd, .events = POLLPRI}};
    int64_t until_ms = earlier(earlier(due_ms, watching->scan_ms), station_wakes_ms(watching->station));
    until_ms = earlier(until_ms, watching->look_ms);
    if (poll(fds, sizeof fds / sizeof fds[0], timeout_until(until_ms, clock_monotonic_ms())) <= 0)
        return;
    watching->stop = fds[0].revents != 0;
    if (fds[2].revents)
        watching->watcher.kind->take(&watching->watcher, on_sign, watching);
    if (fds[4].revents)
        watching->look_ms = 0;
}

static bool still_here(struct watching *watching)
{
    char why[200];
    if (station_is_here(watching->watch->config, watching->station->place.folder, why, sizeof why))
        return true;
    log_event(JOURNAL_AWAY, LOG_LEVEL_WARNING, watching->watch->config->name,
              "away: %s; looking for it again", why);
    return false;
}

static void watch_folder(struct watching *watching)
{
    scan(watching, true);
    set_mood(watching->watch, STATION_WATCHING);
    while (!watching->stop && !watching->lost) {
        station_work(watching->station);
        int64_t due_ms = station_due(watching->station, clock_monotonic_ms());
        station_work(watching->station);
        set_backlog(watching);
        scan_what_was_overlooked(watching);
        due_ms = earlier(due_ms, reports_work(watching->watch->reports, clock_monotonic_ms()));
        wait_for_something(watching, due_ms);
        const int64_t now_ms = clock_monotonic_ms();
        const bool scans = watching->scan_ms <= now_ms || watching->lost || watching->station->away;
        if (!scans && watching->look_ms > now_ms)
            continue;
        watching->look_ms = NEVER_MS;
        watching->lost = !still_here(watching);
        if (scans && !watching->lost)
            scan(watching, false);
    }
    if (watching->lost)
        set_mood(watching->watch, STATION_AWAY);
    station_halt(watching->station);
    if (!watching->lost)
        reports_stop(watching->watch->reports);
}

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
    const struct station_options how = {
        .jobs = watch->options.jobs, .patient = true, .on_verdict = on_verdict, .context = watch};
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
    } else if (!claims_take(watch->options.claims, watch->config->name, station->place.folder, why,
                            sizeof why)) {
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

static void start_watching(struct watching *watching)
{
    struct station_watch *watch = watching->watch;
    const int folder = watching->station->place.folder;
    const struct watcher_kind *kind = watcher_choose(watch->config->watch, folder);
    struct pellet_error error = {0};
    if (watcher_start(&watching->watcher, kind, folder, &error) != PELLET_OK) {
        log_say(LOG_LEVEL_WARNING, watch->config->name, "%s; looking every 2 s instead", error.message);
        (void)watcher_start(&watching->watcher, &watcher_poll, folder, NULL);
    }
    kind = watching->watcher.kind;
    watching->scan_every_ms = kind->scan_every_ms ? kind->scan_every_ms : watch->options.rescan_ms;
}

static void *watch_station(void *argument)
{
    struct station_watch *watch = argument;
    char last[200] = "";
    bool stop = false;
    while (!stop) {
        struct watching watching = {.watch = watch, .watcher.fd = -1, .look_ms = NEVER_MS};
        watching.mounts_fd = open("/proc/self/mountinfo", O_RDONLY | O_CLOEXEC);
        watching.station = open_station(watch, last);
        if (watching.station) {
            start_watching(&watching);
            watch_folder(&watching);
            snprintf(last, sizeof last, "%s", watching.lost ? "lost" : "");
            watcher_stop(&watching.watcher);
            reports_free(watch->reports);
            watch->reports = NULL;
            close_station(watch, watching.station);
            stop = watching.stop;
        }
        if (watching.mounts_fd >= 0)
            close(watching.mounts_fd);
        if (!stop && !watching.station)
            set_mood(watch, STATION_AWAY);
        stop = stop || wait_for_stop(watch, watching.station ? 0 : AWAY_MS);
    }
    set_mood(watch, STATION_STOPPED);
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

bool station_watch_join(struct station_watch *watch, int64_t until_ms)
{
    int64_t left_ms = until_ms - clock_monotonic_ms();
    struct timespec until;
    clock_gettime(CLOCK_REALTIME, &until);
    if (left_ms > 0) {
        until.tv_sec += left_ms / 1000;
        until.tv_nsec += (left_ms % 1000) * 1000000;
        until.tv_sec += until.tv_nsec / 1000000000;
        until.tv_nsec %= 1000000000;
    }
    if (pthread_timedjoin_np(watch->thread, NULL, &until) != 0)
        return false;
    free_watch(watch);
    return true;
}
