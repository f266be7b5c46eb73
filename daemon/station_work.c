// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * What goes on in a station. Reading comes first, so that all that is present is known before anything is
 * judged; then judging, in the order of measured time and one by one: each verdict rests on those before it
 * (a blank serves only when it was accepted, a sample tells of carry-over only when it was not refused). That
 * makes the verdicts the same whatever the number of threads, which share the reading and judge ahead.
 */
#include "station.h"
#include "station_parts.h"

#include "log.h"

#define HOLD_MAX_MS 2000 /* how long a file waits for others that are still settling */

/* ---------------------------------------------------------------- handing out */

/* It settles, or could not be read just now and will be looked at again soon. */
static bool is_awaited_since(const struct entry *entry, int64_t ready_ms, int64_t now_ms)
{
    const int64_t trouble_ms = entry->retry_until_ms - RETRY_UNTIL_MS;
    return (entry->settle.state != SETTLE_IDLE && entry->settle.first_ms <= ready_ms) ||
           (entry->retry_ms > 0 && now_ms < trouble_ms + HOLD_MAX_MS);
}

static bool someone_is_awaited_since(const struct station *station, int64_t ready_ms)
{
    const int64_t now_ms = clock_monotonic_ms();
    for (size_t i = 0; i < station->timed.n; i++) {
        if (is_awaited_since(station->timed.item[i], ready_ms, now_ms))
            return true;
    }
    return false;
}

/* A batch that is dropped at once settles one by one; its first file waits a little for the others, so that
 * all of them are judged in their order. */
static bool is_held(const struct station *station, const struct entry *entry)
{
    return station->options.patient && clock_monotonic_ms() < entry->ready_ms + HOLD_MAX_MS &&
           someone_is_awaited_since(station, entry->ready_ms);
}

static bool may_judge(const struct station *station, const struct entry *entry)
{
    if (station_in_doubt(station) || (station->trouble.on && clock_monotonic_ms() < station->trouble.next_ms))
        return false;
    if (entry->ahead && entry->ahead->under_way)
        return false;
    /* What it rests on may just have turned out to need another look: then that comes first. Without this
     * the turn would never end where that file is gone. */
    return station->judging == 0 && station->ready.n == 0 && !is_held(station, entry);
}

static void hand_out(struct station *station)
{
    const size_t readings_max = 4 * workers_threads(station->workers);
    while (station->ready_first < station->ready.n && station->reading < readings_max)
        station_start_reading(station, station->ready.item[station->ready_first++]);
    if (station->ready_first == station->ready.n)
        station->ready_first = station->ready.n = 0;
    if (station->reading > 0 || station->ready.n > 0 || station_in_doubt(station))
        return;
    station_judge_outdated(station);
    while (station->pending.all.n > 0 && may_judge(station, station->pending.all.item[0]))
        station_judge_first(station, station->pending.all.item[0]);
    station_judge_ahead(station);
}

/* ---------------------------------------------------------------- making it durable */

static struct station *station_of_sync(struct job *job)
{
    return (struct station *)((char *)job - offsetof(struct station, sync));
}

/* Slow disks take their time for this, so it is a worker's. A failure shows again with the next write. */
static void sync_run(struct job *job)
{
    (void)pellet_sync_folder(station_of_sync(job)->place.output, NULL);
}

static void sync_if_due(struct station *station)
{
    if (station->sync_ms == 0 || station->syncing || clock_monotonic_ms() < station->sync_ms)
        return;
    station->sync_ms = 0;
    station->syncing = true;
    station->sync.run = sync_run;
    workers_submit(station->workers, &station->sync);
}

/* ---------------------------------------------------------------- the turn of the wheel */

static void collect(struct station *station)
{
    for (struct job *job = workers_collect(station->workers); job; job = workers_collect(station->workers)) {
        if (job->run == sync_run) {
            station->syncing = false;
        } else if (job->run == reading_run) {
            station_reading_done(station, (struct reading *)job);
            reading_free((struct reading *)job);
        } else if (job->run == judging_run_ahead) {
            station_ahead_done(station, (struct judging *)job);
        } else {
            station_judging_done(station, (struct judging *)job);
            judging_free((struct judging *)job);
        }
    }
}

static bool someone_waits(const struct station *station)
{
    return station->waits[0].n + station->waits[1].n > 0;
}

/* When the session counts as over: nothing has come for its gap. */
static int64_t quiet_ms(const struct station *station)
{
    return station->activity_ms + (int64_t)(station->rules.session_gap_h * 3600000.0);
}

static void close_if_quiet(struct station *station)
{
    if (station->options.patient && someone_waits(station) && !station->closed && station_idle(station) &&
        clock_monotonic_ms() >= quiet_ms(station))
        station_close_session(station);
}

void station_work(struct station *station)
{
    collect(station);
    if (station->halted)
        return;
    station_next_batch(station);
    hand_out(station);
    if (station->reading == 0 && station->ready.n == 0)
        station_look_after_waits(station);
    sync_if_due(station);
    close_if_quiet(station);
    station_end_doubt(station);
}

static bool workers_have_something(const struct station *station)
{
    return station->reading > 0 || station->judging > 0 || station->ahead > 0;
}

/* Workers wake it by themselves. */
int64_t station_wakes_ms(const struct station *station)
{
    int64_t wakes_ms = INT64_MAX;
    if (station->pending.all.n > 0 && !workers_have_something(station))
        wakes_ms = station->trouble.on         ? station->trouble.next_ms
                   : station_in_doubt(station) ? station_doubts_until_ms(station)
                                               : station->pending.all.item[0]->ready_ms + HOLD_MAX_MS;
    if ((station->late.n > 0 || station->sheet_late) && station_batch_is_done(station))
        wakes_ms = 0;
    if (station->sync_ms > 0 && !station->syncing && station->sync_ms < wakes_ms)
        wakes_ms = station->sync_ms;
    if (someone_waits(station) && !station->closed && quiet_ms(station) < wakes_ms)
        wakes_ms = quiet_ms(station);
    return wakes_ms;
}

bool station_idle(const struct station *station)
{
    return station_batch_is_done(station) && station->late.n == 0;
}

void station_finish(struct station *station)
{
    while (!station_idle(station)) {
        station_work(station);
        if (station->options.on_turn)
            station->options.on_turn(station->options.context, station);
        if (workers_have_something(station))
            workers_wait(station->workers);
        else if (station->ready.n == 0 && station->pending.all.n > 0)
            break; /* held back by trouble with writing */
    }
}

void station_halt(struct station *station)
{
    station->halted = true;
    station->ready.n = station->ready_first = station->late.n = 0;
    while (workers_have_something(station) || station->syncing) {
        workers_wait(station->workers);
        collect(station);
    }
    for (size_t i = 0; i < station->pending.all.n; i++)
        station_drop_ahead(station, station->pending.all.item[i]);
    if (station->writes && station->sync_ms > 0)
        (void)pellet_sync_folder(station->place.output, NULL);
}
