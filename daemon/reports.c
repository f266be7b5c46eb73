// SPDX-License-Identifier: GPL-3.0-or-later
#include "reports.h"

#include "log.h"
#include "reports_orphans.h"
#include "reports_pick.h"
#include "reports_sessions.h"

#include <stdlib.h>
#include <string.h>

#define THREADS            2     /* so that the page at the bench does not wait for a long record */
#define BENCH_MIN_MS       1000  /* between two pages while verdicts come in a flood */
#define BEAT_MS            60000 /* the page says that we live */
#define RECORD_MS          15000 /* a record follows the last verdict by this */
#define LATE_MS            10000 /* a record that is due waits no longer than this for the station to rest */
#define RECORD_SHARE       20    /* writing records may take one part in so many of the time */
#define FAILED_MS          60000 /* until the next try */
#define STOP_MS            8000  /* for records that are still to be written when the program ends */
#define NEVER_MS           INT64_MAX
#define BENCH_SESSIONS_MAX 8 /* that go on side by side */

struct reports {
    struct station *station;
    struct workers *workers;
    struct sessions sessions;

    bool started;  /* all that was there is known */
    bool complete; /* ... and the verdicts without a spectrum, too */
    bool bench_dirty, bench_busy, record_busy;
    bool failing; /* the last page could not be written: said once */
    int64_t bench_ms;
    pellet_ns worksheet_mtime_ns; /* of the one that the records were made with */
};

pellet_status reports_new(struct station *station, struct reports **reports, struct pellet_error *error)
{
    struct reports *made = calloc(1, sizeof *made);
    if (!made)
        return pellet_fail(error, PELLET_E_MEMORY, "no memory for the records");
    pellet_status status = workers_new(THREADS, &made->workers, error);
    if (status != PELLET_OK) {
        free(made);
        return status;
    }
    made->station = station;
    made->bench_dirty = true;
    made->bench_ms = INT64_MIN / 2;
    *reports = made;
    return PELLET_OK;
}

int reports_fd(const struct reports *reports)
{
    return workers_fd(reports->workers);
}

/* ---------------------------------------------------------------- sessions */

void reports_told(struct reports *reports, const struct entry *entry, bool fresh)
{
    const pellet_ns now = clock_now();
    struct session *session =
        entry->session ? sessions_find_or_add(&reports->sessions, entry->session) : NULL;
    if (!session)
        return;
    const pellet_ns came = fresh || entry->id.mtime_ns > now ? now : entry->id.mtime_ns;
    if (came > session->last)
        session->last = came;
    if (!fresh)
        return;
    session->fresh = true;
    session->closed = false;
    session_spoil(session, clock_monotonic_ms() + RECORD_MS);
    reports->bench_dirty = true;
}

void reports_moved(struct reports *reports, const struct entry *entry)
{
    struct session *session = entry->session ? sessions_find(&reports->sessions, entry->session) : NULL;
    if (!session)
        return;
    /* Whoever takes one away takes more: a closed session is to get one revision, not one for each file. */
    session_postpone(session, clock_monotonic_ms() + RECORD_MS);
    reports->bench_dirty = true;
}

static pellet_ns gap_of(const struct reports *reports)
{
    return (pellet_ns)(reports->station->rules.session_gap_h * 3600.0 * (double)PELLET_NS_PER_S);
}

static void close_quiet(struct reports *reports, int64_t now_ms)
{
    if (sessions_close_quiet(&reports->sessions, gap_of(reports), clock_now(), now_ms))
        reports->bench_dirty = true;
}

/* Orphans are in the index, but were never told. */
static void take_orphans(struct reports *reports, const struct orphans_job *job)
{
    orphans_adopt(reports->station, job);
    for (size_t i = 0; i < job->n; i++) {
        const struct entry *entry = entry_find(&reports->station->index, job->verdict[i].file);
        if (entry)
            reports_told(reports, entry, false);
    }
    reports->complete = true;
}

/* One that is to be looked at anyway keeps its time: spectra may just be taken away from it, one by one. */
static void look_at_all(struct reports *reports, int64_t now_ms)
{
    for (size_t i = 0; i < reports->sessions.n; i++) {
        if (!reports->sessions.item[i].dirty)
            session_spoil(&reports->sessions.item[i], now_ms);
    }
}

/* ---------------------------------------------------------------- what was written */

/* Said once, however often it is tried again. */
static void say_failure(struct reports *reports, const struct report_job *job)
{
    const bool away = job->error.status == PELLET_E_MISSING;
    if (job->result == REPORT_FAILED && !reports->failing && !away)
        log_failure(LOG_LEVEL_WARNING, job->session ? job->session : "bench.html", &job->error);
    reports->failing = job->result == REPORT_FAILED;
}

static void record_done(struct reports *reports, const struct report_job *job, int64_t now_ms)
{
    struct session *session = sessions_find(&reports->sessions, job->session);
    const int64_t pause_ms = RECORD_SHARE * job->took_ms;
    say_failure(reports, job);
    if (job->result == REPORT_WRITTEN && job->revision > 1)
        log_event(JOURNAL_REVISION, LOG_LEVEL_NOTICE, job->session, "the record is written as revision %u",
                  job->revision);
    if (!session)
        return;
    if (job->result == REPORT_FAILED)
        session_spoil(session, now_ms + FAILED_MS);
    else if (session->dirty && session->due_ms < now_ms + pause_ms)
        session->due_ms = now_ms + pause_ms;
}

static void collect(struct reports *reports, int64_t now_ms)
{
    for (struct job *job = workers_collect(reports->workers); job; job = workers_collect(reports->workers)) {
        if (job->run == orphans_run) {
            take_orphans(reports, (struct orphans_job *)job);
            look_at_all(reports, now_ms);
            orphans_free((struct orphans_job *)job);
            continue;
        }
        struct report_job *report = (struct report_job *)job;
        if (job->run == report_bench_run) {
            reports->bench_busy = false;
            say_failure(reports, report);
        } else {
            reports->record_busy = false;
            record_done(reports, report, now_ms);
        }
        report_job_free(report);
    }
}

/* ---------------------------------------------------------------- what is due */

static void start(struct reports *reports)
{
    struct orphans_job *orphans = orphans_new(&reports->station->place);
    reports->started = true;
    reports->worksheet_mtime_ns = reports->station->worksheet_id.mtime_ns;
    if (orphans)
        workers_submit(reports->workers, &orphans->job);
    else
        reports->complete = true;
}

static struct report_job *bench_job(const struct reports *reports, bool stopped)
{
    const struct session *shown = sessions_current(&reports->sessions);
    const char *list[BENCH_SESSIONS_MAX] = {0};
    size_t n = 0;
    if (shown)
        list[n++] = shown->id;
    for (size_t i = reports->sessions.n; i-- > 0 && n < BENCH_SESSIONS_MAX;) {
        if (&reports->sessions.item[i] != shown && !reports->sessions.item[i].closed)
            list[n++] = reports->sessions.item[i].id;
    }
    struct report_job *job = report_pick_bench(reports->station, list, n);
    if (job) {
        job->closed = !shown || shown->closed;
        job->stopped = stopped;
    }
    return job;
}

/* When the page is to be written next. */
static int64_t bench_due_ms(const struct reports *reports)
{
    const struct session *shown = sessions_current(&reports->sessions);
    if (reports->bench_busy || (!reports->started && !shown))
        return NEVER_MS;
    if (reports->bench_dirty)
        return reports->bench_ms + (reports->failing ? FAILED_MS : BENCH_MIN_MS);
    return shown && !shown->closed ? reports->bench_ms + BEAT_MS : NEVER_MS;
}

/* With each page the open session is also looked at: a spectrum may have been taken away. Where nothing has
 * come since the last page, at once: that we live is shown with one waking. */
static void write_bench(struct reports *reports, int64_t now_ms)
{
    struct session *shown = sessions_current(&reports->sessions);
    struct report_job *job = bench_job(reports, false);
    if (shown && !shown->closed && reports->complete)
        session_spoil(shown, reports->bench_dirty ? now_ms + RECORD_MS : now_ms);
    reports->bench_ms = now_ms;
    reports->bench_dirty = false;
    if (job) {
        reports->bench_busy = true;
        workers_submit(reports->workers, &job->job);
    }
}

static struct report_job *record_job(const struct reports *reports, struct session *session)
{
    struct report_job *job = report_pick_record(reports->station, session->id);
    if (job)
        job->closed = session->closed;
    session->dirty = false;
    return job;
}

static void write_record(struct reports *reports, struct session *session, int64_t now_ms)
{
    struct report_job *job = record_job(reports, session);
    if (!job) {
        session_spoil(session, now_ms + FAILED_MS);
        return;
    }
    reports->record_busy = true;
    workers_submit(reports->workers, &job->job);
}

static int64_t earlier(int64_t a, int64_t b)
{
    return a < b ? a : b;
}

int64_t reports_work(struct reports *reports, int64_t now_ms)
{
    const struct station *station = reports->station;
    const bool idle = station_idle(station);
    collect(reports, now_ms);
    if (!station->writes)
        return NEVER_MS;
    if (!reports->started && (idle || station->start_is_done))
        start(reports);
    close_quiet(reports, now_ms);
    if (reports->worksheet_mtime_ns != station->worksheet_id.mtime_ns && reports->complete) {
        reports->worksheet_mtime_ns = station->worksheet_id.mtime_ns;
        look_at_all(reports, now_ms);
    }
    if (bench_due_ms(reports) <= now_ms)
        write_bench(reports, now_ms);
    struct session *next =
        reports->complete && !reports->record_busy ? sessions_next_due(&reports->sessions) : NULL;
    if (next && !idle && now_ms < next->due_ms + LATE_MS)
        next = NULL; /* asked again before long: a station that does not rest wakes all the time */
    if (next && next->due_ms <= now_ms) {
        write_record(reports, next, now_ms);
        next = NULL;
    }
    return earlier(earlier(bench_due_ms(reports), next ? next->due_ms : NEVER_MS),
                   sessions_close_ms(&reports->sessions, gap_of(reports), clock_now(), now_ms));
}

/* ---------------------------------------------------------------- at the end */

static void wait_for_jobs(struct reports *reports)
{
    while (reports->bench_busy || reports->record_busy || (reports->started && !reports->complete)) {
        workers_wait(reports->workers);
        collect(reports, clock_monotonic_ms());
    }
}

void reports_stop(struct reports *reports)
{
    const int64_t until_ms = clock_monotonic_ms() + STOP_MS;
    wait_for_jobs(reports);
    if (!reports->station->writes)
        return;
    for (struct session *next = sessions_next_due(&reports->sessions);
         next && reports->complete && clock_monotonic_ms() < until_ms;
         next = sessions_next_due(&reports->sessions)) {
        struct report_job *job = record_job(reports, next);
        if (job)
            report_record_run(&job->job);
        report_job_free(job);
    }
    struct report_job *bench = bench_job(reports, true);
    if (bench)
        report_bench_run(&bench->job);
    report_job_free(bench);
}

void reports_free(struct reports *reports)
{
    if (!reports)
        return;
    wait_for_jobs(reports);
    workers_free(reports->workers);
    sessions_free(&reports->sessions);
    free(reports);
}

/* ---------------------------------------------------------------- for judge and report */

static bool finish_one(const struct reports *reports, struct session *session,
                       const struct reports_wish *wish)
{
    struct report_job *job = record_job(reports, session);
    if (!job) {
        log_say(LOG_LEVEL_ERROR, session->id, "no memory for the record");
        return false;
    }
    job->closed = wish->closed || session->closed;
    report_record_run(&job->job);
    const bool good = job->result != REPORT_FAILED;
    if (!good)
        log_failure(LOG_LEVEL_ERROR, session->id, &job->error);
    if (wish->on_record)
        wish->on_record(wish->context, job);
    report_job_free(job);
    return good;
}

bool reports_finish(struct reports *reports, const struct reports_wish *wish)
{
    bool good = true;
    if (!reports->station->writes)
        return true;
    struct orphans_job *orphans = orphans_new(&reports->station->place);
    if (orphans) {
        orphans_run(&orphans->job);
        take_orphans(reports, orphans);
        orphans_free(orphans);
    }
    close_quiet(reports, 0);
    for (size_t i = 0; i < reports->sessions.n; i++) {
        if (wish->all || reports->sessions.item[i].fresh)
            good = finish_one(reports, &reports->sessions.item[i], wish) && good;
    }
    return good;
}
