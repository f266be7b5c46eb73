// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Judging ahead. Verdicts are given one by one, since each may rest on those before it. But what a sample
 * will rest on can mostly be foreseen, and to compute the verdict is what takes the time: so threads that
 * have nothing else to do judge the next ones before their turn. When it comes, what a file rests on is found
 * as ever. Is it what was foreseen, then the result is published; else the file is judged again. A verdict
 * therefore cannot depend on what was foreseen, nor on the number of threads.
 */
#include "station_parts.h"

#define AHEAD_MAX 32 /* each holds its spectra, about 300 KiB */

static size_t most_ahead(const struct station *station)
{
    const size_t threads = workers_threads(station->workers);
    const size_t most = threads > 1 ? 2 * threads : 0; /* a thread alone would gain nothing */
    return most < AHEAD_MAX ? most : AHEAD_MAX;
}

static void judge_ahead(struct station *station, struct entry *entry, const struct entry *const before[],
                        size_t n)
{
    struct judging *judging = station_prepare_ahead(station, entry, before, n);
    if (!judging)
        return;
    judging->job.run = judging_run_ahead;
    judging->under_way = true;
    entry->ahead = judging;
    station->ahead++;
    station->foreseen++;
    workers_submit_idle(station->workers, &judging->job);
}

void station_judge_ahead(struct station *station)
{
    const struct timeline *pending = &station->pending.all;
    const size_t most = most_ahead(station);
    const struct entry *before[AHEAD_MAX + 1];
    size_t n = 0;
    if (station->in_hand)
        before[n++] = station->in_hand;
    for (size_t i = 0; i < pending->n && i < most; i++) {
        /* All that follows rests on its verdict. */
        if (n > 0 && entry_is_server(before[n - 1]))
            return;
        if (!pending->item[i]->ahead && station->foreseen < most)
            judge_ahead(station, pending->item[i], before, n);
        before[n++] = pending->item[i];
    }
}

static void discard(struct station *station, struct judging *judging)
{
    station->foreseen--;
    judging_free(judging);
}

void station_ahead_done(struct station *station, struct judging *judging)
{
    station->ahead--;
    judging->under_way = false;
    if (!judging->entry)
        discard(station, judging);
}

struct judging *station_take_ahead(struct station *station, struct judging *judging)
{
    struct judging *ahead = judging->entry->ahead;
    judging->entry->ahead = NULL;
    if (!ahead)
        return judging;
    if (ahead->result != JUDGING_DONE || !judging_rests_on_the_same(ahead, judging)) {
        discard(station, ahead);
        return judging;
    }
    station->foreseen--;
    ahead->job.run = judging_run;
    ahead->write = judging->write;
    judging_free(judging);
    return ahead;
}

void station_drop_ahead(struct station *station, struct entry *entry)
{
    struct judging *ahead = entry->ahead;
    entry->ahead = NULL;
    if (ahead && ahead->under_way)
        ahead->entry = NULL; /* freed when it comes back */
    else if (ahead)
        discard(station, ahead);
}
