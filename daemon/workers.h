// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * A small pool of threads. Jobs are run in the order in which they were handed in, those for idle
 * threads after all others, and collected when they are done; a descriptor becomes readable when there is
 * something to collect.
 */
#ifndef PELLETD_WORKERS_H
#define PELLETD_WORKERS_H

#include "pellet/core.h"

struct workers;

/* Embed it as the first member of what the job needs. */
struct job {
    void (*run)(struct job *job); /* on a thread of the pool */
    struct job *next;             /* the pool's own while it has the job */
};

pellet_status workers_new(unsigned threads, struct workers **workers, struct pellet_error *error);
/* Waits for the jobs in hand, drops nothing: what is done can still be collected before this. NULL
 * allowed. */
void workers_free(struct workers *workers);

void workers_submit(struct workers *workers, struct job *job);
/* Run it when no other job waits: it may turn out to have been for nothing. */
void workers_submit_idle(struct workers *workers, struct job *job);
/* Jobs that are done, oldest first, NULL when there is none now. */
struct job *workers_collect(struct workers *workers);
/* Wait until something can be collected, if anything is under way at all. */
void workers_wait(struct workers *workers);
/* Readable (eventfd) while something can be collected. */
int workers_fd(const struct workers *workers);
unsigned workers_threads(const struct workers *workers);

#endif
