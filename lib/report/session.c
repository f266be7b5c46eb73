// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/session.h"

#include <stdlib.h>
#include <string.h>

/* A sample whose name does not say so is called after its file. */
static const char *sample_name(const struct pellet_verdict *verdict)
{
    return verdict->sample != NULL ? verdict->sample : verdict->file;
}

static int compare_times(const struct pellet_verdict *a, const struct pellet_verdict *b)
{
    if (a->measured != b->measured)
        return a->measured < b->measured ? -1 : 1;
    if (a->scan != b->scan)
        return a->scan < b->scan ? -1 : 1;
    return strcmp(a->file, b->file);
}

static int by_time(const void *a, const void *b)
{
    return compare_times((*(const struct pellet_report_item *const *)a)->verdict,
                         (*(const struct pellet_report_item *const *)b)->verdict);
}

static int by_sample(const void *a, const void *b)
{
    const struct pellet_verdict *x = (*(const struct pellet_report_item *const *)a)->verdict;
    const struct pellet_verdict *y = (*(const struct pellet_report_item *const *)b)->verdict;
    const int order = strcmp(sample_name(x), sample_name(y));
    return order != 0 ? order : compare_times(x, y);
}

static bool starts_sample(const struct report_session *session, size_t i)
{
    return i == 0 ||
           strcmp(sample_name(session->item[i]->verdict), sample_name(session->item[i - 1]->verdict)) != 0;
}

static void find_samples(struct report_session *session)
{
    for (size_t i = 0; i < session->item_count; i++) {
        if (starts_sample(session, i))
            session->sample[session->sample_count++] =
                (struct report_sample){.name = sample_name(session->item[i]->verdict), .first = i};
        session->sample[session->sample_count - 1].count++;
    }
}

/* A sample with its first measurement: qsort has no place for the session. */
struct placed {
    const struct pellet_report_item *first;
    struct report_sample sample;
};

static int by_first(const void *a, const void *b)
{
    const struct placed *x = a, *y = b;
    return compare_times(x->first->verdict, y->first->verdict);
}

/* Samples come sorted by name and are put in the order of their first measurement. */
static pellet_status order_samples(struct report_session *session)
{
    const size_t n = session->sample_count;
    struct placed *placed = calloc(n + 1, sizeof *placed);

    if (placed == NULL)
        return PELLET_E_MEMORY;
    for (size_t i = 0; i < n; i++)
        placed[i] = (struct placed){session->item[session->sample[i].first], session->sample[i]};
    qsort(placed, n, sizeof *placed, by_first);
    for (size_t i = 0; i < n; i++)
        session->sample[i] = placed[i].sample;
    free(placed);
    return PELLET_OK;
}

pellet_status report_session_make(const struct pellet_report *report, struct report_session *session)
{
    const size_t room = report->item_count + 1;
    struct report_session made = {.item = calloc(room, sizeof(*made.item)),
                                  .sample = calloc(room, sizeof *made.sample),
                                  .reference = calloc(room, sizeof(*made.reference)),
                                  .timed = calloc(room, sizeof(*made.timed))};
    pellet_status status = PELLET_E_MEMORY;

    if (made.item == NULL || made.sample == NULL || made.reference == NULL || made.timed == NULL)
        goto out;
    for (size_t i = 0; i < report->item_count; i++) {
        const struct pellet_report_item *item = &report->item[i];
        if (item->verdict->role == PELLET_SAMPLE)
            made.item[made.item_count++] = item;
        else
            made.reference[made.reference_count++] = item;
        made.timed[made.timed_count++] = item;
    }
    qsort(made.item, made.item_count, sizeof(*made.item), by_sample);
    qsort(made.reference, made.reference_count, sizeof(*made.reference), by_time);
    qsort(made.timed, made.timed_count, sizeof(*made.timed), by_time);
    find_samples(&made);
    status = order_samples(&made);
out:
    if (status == PELLET_OK)
        *session = made;
    else
        report_session_clear(&made);
    return status;
}

void report_session_clear(struct report_session *session)
{
    free(session->item);
    free(session->sample);
    free(session->reference);
    free(session->timed);
    *session = (struct report_session){0};
}

bool report_superseded(const struct report_session *session, const struct report_sample *sample, size_t i)
{
    const int pellet = session->item[sample->first + i]->verdict->pellet;

    for (size_t k = i + 1; k < sample->count; k++) {
        if (session->item[sample->first + k]->verdict->pellet == pellet)
            return true;
    }
    return false;
}

const struct pellet_verdict *report_newest(const struct report_session *session,
                                           const struct report_sample *sample)
{
    return session->item[sample->first + sample->count - 1]->verdict;
}

static void count_finding(const struct pellet_finding *finding, struct report_tally *tally)
{
    size_t i = 0;

    while (i < tally->count && strcmp(tally->item[i].check->id, finding->check->id) != 0)
        i++;
    if (i == REPORT_FAULTS_MAX)
        return;
    if (i == tally->count) {
        tally->item[i] = (struct report_fault){.check = finding->check};
        tally->count++;
    }
    tally->item[i].count[finding->outcome]++;
    tally->item[i].total++;
}

static void count_pellet(const struct pellet_verdict *verdict, struct report_figures *figures)
{
    figures->pellets++;
    figures->verdict[verdict->outcome]++;
    for (size_t i = 0; i < verdict->check_count; i++) {
        if (verdict->check[i].outcome != PELLET_NOT_CHECKED)
            continue;
        figures->not_checked++;
        count_finding(&verdict->check[i], &figures->unchecked);
    }
}

static void count_sample(const struct report_session *session, const struct report_sample *sample,
                         struct report_figures *figures)
{
    const int first_pellet = session->item[sample->first]->verdict->pellet;

    for (size_t i = 0; i < sample->count; i++) {
        const struct pellet_verdict *verdict = session->item[sample->first + i]->verdict;
        for (size_t k = 0; k < verdict->reason_count; k++)
            count_finding(&verdict->reason[k], &figures->reasons);
        if (report_superseded(session, sample, i))
            continue;
        count_pellet(verdict, figures);
        if (verdict->pellet == first_pellet)
            figures->first_passed += verdict->outcome == PELLET_PASS;
    }
    figures->samples++;
    figures->measurements += sample->count;
    figures->fit += report_newest(session, sample)->outcome == PELLET_PASS;
}

static int by_total(const void *a, const void *b)
{
    const struct report_fault *x = a, *y = b;
    if (x->total != y->total)
        return x->total > y->total ? -1 : 1;
    return strcmp(x->check->id, y->check->id);
}

void report_session_count(const struct report_session *session, struct report_figures *figures)
{
    *figures = (struct report_figures){0};
    for (size_t i = 0; i < session->sample_count; i++)
        count_sample(session, &session->sample[i], figures);
    qsort(figures->reasons.item, figures->reasons.count, sizeof figures->reasons.item[0], by_total);
    qsort(figures->unchecked.item, figures->unchecked.count, sizeof figures->unchecked.item[0], by_total);
}
