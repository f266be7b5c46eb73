// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The record of each session and the page at the bench, kept up to date beside the verdicts. Everything is
 * made anew from the folder, on threads of its own, so that judging never waits for it. All functions are for
 * the station's thread.
 */
#ifndef PELLETD_REPORTS_H
#define PELLETD_REPORTS_H

#include "reports_record.h"
#include "station.h"

struct reports;

/* `station` is borrowed and must live longer. */
pellet_status reports_new(struct station *station, struct reports **reports, struct pellet_error *error);
void reports_free(struct reports *reports); /* waits for what is being written; NULL allowed */

/* A verdict was given (`fresh`) or found; its entry is up to date. */
void reports_told(struct reports *reports, const struct entry *entry, bool fresh);

/* The spectrum of a verdict was taken away, or is back. */
void reports_moved(struct reports *reports, const struct entry *entry);

/* ---------------------------------------------------------------- for watch */

/* Readable when reports_work has something to collect. */
int reports_fd(const struct reports *reports);
/*
 * Write what is due: the page at the bench at each verdict and each minute while a session is open; the
 * record soon after the last verdict and when the session closes. Never waits. Returns when it wants to be
 * called again (monotonic ms); INT64_MAX for never.
 */
int64_t reports_work(struct reports *reports, int64_t now_ms);
/* The program ends: write what is still to be written, and say so on the page at the bench. */
void reports_stop(struct reports *reports);

/* ---------------------------------------------------------------- for judge and report */

struct reports_wish {
    bool all;    /* every session of the folder, not only those with a fresh verdict */
    bool closed; /* nothing more will come; else a session is closed when nothing came for its gap */
    void (*on_record)(void *context, const struct report_job *record); /* told of each; NULL allowed */
    void *context;
};

/* Write the records now and wait for them. False: one could not be written (it was said). */
bool reports_finish(struct reports *reports, const struct reports_wish *wish);

#endif
