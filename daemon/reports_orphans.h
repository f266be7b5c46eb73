// SPDX-License-Identifier: GPL-3.0-or-later
/* Verdicts whose spectrum is gone: they stay, and a record marks them. */
#ifndef PELLETD_REPORTS_ORPHANS_H
#define PELLETD_REPORTS_ORPHANS_H

#include "place.h"
#include "station.h"
#include "workers.h"

/* A job for a worker: look through the output folder for verdicts without a spectrum. */
struct orphans_job {
    struct job job;
    const struct place *place;
    size_t n, capacity;
    struct pellet_verdict *verdict; /* read briefly */
};

struct orphans_job *orphans_new(const struct place *place); /* NULL: no memory */
void orphans_free(struct orphans_job *job);                 /* NULL allowed */
void orphans_run(struct job *job);
/* On the station's thread: let it know of them, as of spectra that went while it looked on. */
void orphans_adopt(struct station *station, const struct orphans_job *job);

#endif
