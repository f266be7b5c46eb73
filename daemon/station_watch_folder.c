// SPDX-License-Identifier: GPL-3.0-or-later
/* A station's folder while it is here: events, scans, and the loop that waits for either. */
#include "station_watch_parts.h"

#include "log.h"
#include "watcher.h"

#include <fcntl.h>
#include <poll.h>
#include <unistd.h>

#define SCAN_SHARE  10   /* looking through the folder may take one tenth of the time, ... */
#define AGAIN_SHARE 1    /* ... and half of it where verdicts wait for that: a doubt does not last for ever */
#define SCAN_SOON   200  /* a scan that events ask for, so that many of them make one */
#define AGAIN_MS    2000 /* until a scan for what could not be looked at, doubling while it stays so */
#define NEVER_MS    INT64_MAX

/* What the thread works with. */
struct watching {
    struct station_watch *watch;
    struct station *station;
    struct watcher watcher;
    struct watcher output; /* where that is elsewhere: its verdicts may be deleted */
    int64_t scan_every_ms;
    int64_t scan_ms;       /* when to look through the folder next */
    int64_t rest_ms;       /* not before this: looking is not to take more than its share of the time ... */
    int64_t again_rest_ms; /* ... or this, where something could not be looked at */
    int64_t again_ms;      /* see AGAIN_MS */
    int64_t look_ms;       /* when to see whether the folder itself is still there */
    int mounts_fd; /* readable (POLLPRI) when something was mounted or unmounted; -1 where that is not told */
    bool lost;
    bool stop;
};

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
    /* It is not there before there is something in it; a scan sees what is missing below it. */
    (void)watching->output.kind->add(&watching->output, name, NULL);
}

static int64_t earlier(int64_t a, int64_t b)
{
    return a < b ? a : b;
}

static int64_t later(int64_t a, int64_t b)
{
    return a > b ? a : b;
}

static void scan_soon(struct watching *watching)
{
    const int64_t at_ms = later(watching->rest_ms, clock_monotonic_ms() + SCAN_SOON);
    watching->scan_ms = earlier(watching->scan_ms, at_ms);
}

static void scan(struct watching *watching, bool first)
{
    struct pellet_error error = {0};
    const int64_t start_ms = clock_monotonic_ms();
    watching->station->overlooked = watching->station->away = false;
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
    watching->rest_ms = end_ms + SCAN_SHARE * (end_ms - start_ms);
    watching->again_rest_ms = end_ms + AGAIN_SHARE * (end_ms - start_ms);
    watching->scan_ms = later(watching->rest_ms, end_ms + watching->scan_every_ms);
}

/* Something could not be looked at: not long, and a scan does it. */
static void scan_what_was_overlooked(struct watching *watching)
{
    if (!watching->station->overlooked)
        return;
    watching->station->overlooked = false;
    const int64_t at_ms = later(watching->again_rest_ms, clock_monotonic_ms() + watching->again_ms);
    watching->scan_ms = earlier(watching->scan_ms, at_ms);
    if (2 * watching->again_ms < watching->scan_every_ms)
        watching->again_ms *= 2;
}

static void on_sign(void *context, enum watcher_sign sign, const char *name)
{
    struct watching *watching = context;
    switch (sign) {
    case WATCHER_CHANGED:
        station_event(watching->station, name, SETTLE_CHANGED);
        break;
    case WATCHER_TOUCHED:
        station_event(watching->station, name, SETTLE_TOUCHED);
        break;
    case WATCHER_CLOSED:
        station_event(watching->station, name, SETTLE_CLOSE);
        break;
    case WATCHER_GONE:
        /* Perhaps the folder goes with it: that is not told while we hold it open. */
        watching->look_ms = earlier(watching->look_ms, clock_monotonic_ms() + SCAN_SOON);
        station_event(watching->station, name, SETTLE_GONE);
        break;
    case WATCHER_SCAN:
        scan_soon(watching);
        break;
    case WATCHER_LOST:
        watching->lost = true;
        break;
    }
}

/* Only what people do there counts: a verdict was deleted, or a sub-folder came. */
static void on_output_sign(void *context, enum watcher_sign sign, const char *name)
{
    if (sign == WATCHER_GONE || sign == WATCHER_SCAN)
        on_sign(context, sign, name);
}

/* ---------------------------------------------------------------- the loop */

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
                           {.fd = watching->output.fd, .events = POLLIN},
                           {.fd = reports_fd(watching->watch->reports), .events = POLLIN},
                           {.fd = watching->mounts_fd, .events = POLLPRI}};
    int64_t until_ms = earlier(earlier(due_ms, watching->scan_ms), station_wakes_ms(watching->station));
    until_ms = earlier(until_ms, watching->look_ms);
    if (poll(fds, sizeof fds / sizeof fds[0], timeout_until(until_ms, clock_monotonic_ms())) <= 0)
        return;
    watching->stop = fds[0].revents != 0;
    if (fds[2].revents)
        watching->watcher.kind->take(&watching->watcher, on_sign, watching);
    if (fds[3].revents)
        watching->output.kind->take(&watching->output, on_output_sign, watching);
    if (fds[5].revents)
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

static void watch_until_it_ends(struct watching *watching)
{
    scan(watching, true);
    watch_set_mood(watching->watch, STATION_WATCHING);
    while (!watching->stop && !watching->lost) {
        station_work(watching->station);
        int64_t due_ms = station_due(watching->station, clock_monotonic_ms());
        station_work(watching->station);
        watch_set_backlog(watching->watch, watching->station);
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
        watch_set_mood(watching->watch, STATION_AWAY);
    station_halt(watching->station);
    if (!watching->lost)
        reports_stop(watching->watch->reports);
}

/* Without events for it, a scan finds that a verdict is missing. */
static void start_output(struct watching *watching)
{
    const int folder = watching->station->place.output;
    const struct watcher_kind *kind = &watcher_poll;
    if (watching->watch->config->output)
        kind = watcher_choose(watching->watch->config->watch, folder);
    if (watcher_start(&watching->output, kind, folder, NULL) != PELLET_OK)
        (void)watcher_start(&watching->output, &watcher_poll, folder, NULL);
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
    start_output(watching);
    kind = watching->watcher.kind;
    watching->scan_every_ms = kind->scan_every_ms ? kind->scan_every_ms : watch->options.rescan_ms;
}

bool watch_folder(struct station_watch *watch, struct station *station)
{
    struct watching watching = {.watch = watch, .station = station, .look_ms = NEVER_MS};
    watching.mounts_fd = open("/proc/self/mountinfo", O_RDONLY | O_CLOEXEC);
    start_watching(&watching);
    watch_until_it_ends(&watching);
    watcher_stop(&watching.watcher);
    watcher_stop(&watching.output);
    if (watching.mounts_fd >= 0)
        close(watching.mounts_fd);
    return !watching.lost;
}
