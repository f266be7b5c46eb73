// SPDX-License-Identifier: GPL-3.0-or-later
#include "reports_pick.h"

#include <stdlib.h>
#include <string.h>

#define NEWEST_MAX  31 /* one line more than the page at the bench shows, so that it knows of the rest */
#define WAITING_MAX 40
#define BLANKS_MAX  4

/* Whether its verdict stands in a file and is of one of these sessions. */
static bool belongs(const struct entry *entry, const char *const *session, size_t sessions)
{
    if (!entry->judged || entry->verdict_text || !entry->session)
        return false;
    for (size_t i = 0; i < sessions; i++) {
        if (strcmp(entry->session, session[i]) == 0)
            return true;
    }
    return false;
}

static int by_time(const void *a, const void *b)
{
    return entry_compare(*(const struct entry *const *)a, *(const struct entry *const *)b);
}

/* The entries of sessions, oldest first; to be freed. NULL: no memory. */
static const struct entry **entries_of(const struct station *station, const char *const *session,
                                       size_t sessions, size_t *n)
{
    const struct entry **list = calloc(station->index.n + 1, sizeof *list);
    *n = 0;
    for (size_t i = 0; list && i < station->index.n; i++) {
        if (belongs(station->index.item[i], session, sessions))
            list[(*n)++] = station->index.item[i];
    }
    if (list)
        qsort(list, *n, sizeof *list, by_time);
    return list;
}

/* ---------------------------------------------------------------- what a record rests on */

static void add_row(struct pellet_text *out, const struct pellet_worksheet_row *row)
{
    const double number[] = {row->sample_mg,      row->kbr_mg, row->pressed_mg,
                             row->powder_left_mg, row->die_mm, row->load_t};
    const char *const text[] = {row->operator_name, row->kbr_lot, row->decision, row->decided_by,
                                row->decision_reason};
    for (size_t i = 0; i < sizeof number / sizeof number[0]; i++) {
        char digits[32];
        pellet_number_format(number[i], digits);
        pellet_text_addf(out, " %s", digits);
    }
    /* With the end of each, so that words cannot move from one column to the next unseen. */
    for (size_t i = 0; i < sizeof text / sizeof text[0]; i++)
        pellet_text_add(out, text[i] ? text[i] : "", text[i] ? strlen(text[i]) + 1 : 1);
}

static void add_basis(struct pellet_text *out, const struct station *station, const struct entry *entry,
                      bool gone)
{
    char at[32];
    pellet_time_format(entry->verdict_at, at);
    pellet_text_add(out, entry->name, strlen(entry->name) + 1);
    pellet_text_addf(out, "%s %s %s %d", entry->sha256, pellet_outcome_id(entry->outcome), at, gone);
    const struct pellet_worksheet_row *row =
        entry->sample ? worksheet_find(&station->worksheet, entry->sample, entry->pellet) : NULL;
    if (row)
        add_row(out, row);
    pellet_text_addc(out, '\n');
}

static bool hash_basis(struct report_job *job, const struct station *station, const struct entry *const *list,
                       size_t n)
{
    struct pellet_text basis = {0};
    bool any_left = false;
    for (size_t i = 0; i < n; i++)
        any_left = any_left || list[i]->present;
    for (size_t i = 0; i < n; i++)
        add_basis(&basis, station, list[i], any_left && !list[i]->present);
    const bool good = pellet_text_status(&basis) == PELLET_OK;
    if (good)
        pellet_sha256_hex(pellet_text_string(&basis), basis.length, job->basis);
    pellet_text_free(&basis);
    return good;
}

/* ---------------------------------------------------------------- the jobs */

static struct report_job *new_job(const struct station *station, const char *session, size_t room)
{
    struct report_job *job = calloc(1, sizeof *job);
    if (!job)
        return NULL;
    job->place = &station->place;
    job->now = clock_now();
    job->source = pellet_arena_alloc(&job->arena, (room + 1) * sizeof *job->source);
    job->session = pellet_arena_string(&job->arena, session);
    if (job->source && (job->session || !session))
        return job;
    report_job_free(job);
    return NULL;
}

static bool add_source(struct report_job *job, const struct entry *entry)
{
    struct report_source *source = &job->source[job->n];
    *source = (struct report_source){.name = pellet_arena_string(&job->arena, entry->name),
                                     .gone = !entry->present};
    job->n += source->name != NULL;
    return source->name != NULL;
}

struct report_job *report_pick_record(const struct station *station, const char *session)
{
    size_t n = 0;
    const struct entry **list = entries_of(station, &session, 1, &n);
    struct report_job *job = list ? new_job(station, session, n) : NULL;
    bool good = job && hash_basis(job, station, list, n);
    for (size_t i = 0; good && i < n; i++)
        good = add_source(job, list[i]);
    free(list);
    if (!good) {
        report_job_free(job);
        return NULL;
    }
    job->job.run = report_record_run;
    return job;
}

/* What the page at the bench takes an entry for; each kind only so many times. */
struct bench_pick {
    size_t newest, waiting, blanks;
};

static bool is_picked(struct bench_pick *pick, const struct entry *entry)
{
    bool picked = pick->newest++ < NEWEST_MAX;
    if (entry->outcome == PELLET_WAIT && entry->present)
        picked = pick->waiting++ < WAITING_MAX || picked;
    if (entry->role == PELLET_BLANK && entry->outcome == PELLET_PASS)
        picked = pick->blanks++ < BLANKS_MAX || picked;
    return picked;
}

static const struct entry *judged_last(const struct entry *const *list, size_t n)
{
    const struct entry *last = NULL;
    for (size_t i = 0; i < n; i++) {
        if (!last || list[i]->verdict_at >= last->verdict_at)
            last = list[i];
    }
    return last;
}

struct report_job *report_pick_bench(const struct station *station, const char *const *session,
                                     size_t sessions)
{
    size_t n = 0;
    struct bench_pick pick = {0};
    const struct entry **list = entries_of(station, session, sessions, &n);
    struct report_job *job =
        list ? new_job(station, sessions > 0 ? session[0] : NULL, NEWEST_MAX + WAITING_MAX + BLANKS_MAX + 1)
             : NULL;
    const struct entry *last = list ? judged_last(list, n) : NULL;
    bool good = job != NULL;
    for (size_t i = n; good && i-- > 0;) {
        /* The one that was judged last stands large on the page, even if it was measured long ago. */
        if (is_picked(&pick, list[i]) || list[i] == last)
            good = add_source(job, list[i]);
        if (list[i]->role == PELLET_SAMPLE)
            job->tally[list[i]->outcome]++;
    }
    free(list);
    if (!good) {
        report_job_free(job);
        return NULL;
    }
    job->job.run = report_bench_run;
    return job;
}
