// SPDX-License-Identifier: GPL-3.0-or-later
/* What a watched station tells: the main thread of how it is, and everybody of each verdict. */
#include "station_watch_parts.h"

#include "alerts.h"
#include "log.h"
#include "outlet.h"

#include <math.h>
#include <sys/eventfd.h>
#include <unistd.h>

void watch_set_mood(struct station_watch *watch, enum station_mood mood)
{
    pthread_mutex_lock(&watch->mutex);
    bool other = watch->state.mood != mood;
    watch->state.mood = mood;
    pthread_mutex_unlock(&watch->mutex);
    if (other)
        (void)eventfd_write(watch->options.changed_fd, 1);
}

void watch_set_backlog(struct station_watch *watch, const struct station *station)
{
    pthread_mutex_lock(&watch->mutex);
    const bool was_busy = watch->state.backlog > 0;
    watch->state.backlog = station->ready.n - station->ready_first + station->late.n + station->reading +
                           station->pending.all.n + station->judging;
    const bool is_busy = watch->state.backlog > 0;
    pthread_mutex_unlock(&watch->mutex);
    if (was_busy != is_busy)
        (void)eventfd_write(watch->options.changed_fd, 1);
}

/* A reader that does not read must not keep the next pellet waiting: its lines are left out, and counted. */
static void write_line(struct station_watch *watch, const struct pellet_text *line)
{
    const bool written =
        outlet_write(STDOUT_FILENO, line->data, line->length, watch->unread > 0 ? 0 : OUTLET_WAIT_MS);
    if (written && watch->unread > 0)
        log_say(LOG_LEVEL_WARNING, watch->config->name,
                "nobody read the lines of %zu verdicts, and they are left out; the verdicts are beside the "
                "spectra",
                watch->unread);
    watch->unread = written ? 0 : watch->unread + 1;
}

static void print_line(struct station_watch *watch, const struct pellet_verdict *verdict)
{
    struct pellet_text line = {0};
    if (log_is_journal(STDOUT_FILENO))
        pellet_text_addf(&line, "<%d>", journal_priority(verdict));
    if (watch->options.name_stations)
        pellet_text_addf(&line, "%s%s", watch->config->name, watch->options.style.aligned ? "  " : "\t");
    if (line_of_verdict(verdict, &watch->options.style, &line) == PELLET_OK)
        write_line(watch, &line);
    pellet_text_free(&line);
}

/* Once is enough where both go to the journal. */
static void say_verdict(struct station_watch *watch, const struct pellet_verdict *verdict)
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

void watch_on_verdict(void *context, struct entry *entry, const struct pellet_verdict *verdict, bool fresh)
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

void watch_on_moved(void *context, const struct entry *entry)
{
    const struct station_watch *watch = context;
    if (watch->reports)
        reports_moved(watch->reports, entry);
}
