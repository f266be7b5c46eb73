// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Writing one page: the record of a session with its table, or the page at the bench. A job for a worker: it
 * reads the verdict files that it is given by name, and the worksheet and the pictures beside them, and
 * nothing that the station's thread changes.
 */
#ifndef PELLETD_REPORTS_RECORD_H
#define PELLETD_REPORTS_RECORD_H

#include "place.h"
#include "workers.h"

/* One spectrum whose verdict goes in. */
struct report_source {
    const char *name;
    bool gone; /* the spectrum is no longer in the folder */
};

enum report_result {
    REPORT_GOOD,    /* what is there says this already */
    REPORT_WRITTEN, /* ... and now it does */
    REPORT_FAILED   /* `error` says why; the next try may work */
};

struct report_job {
    struct job job;
    const struct place *place;
    struct pellet_arena arena; /* owns names and session */
    const char *session;       /* NULL: none, for the page at the bench */
    bool closed;               /* nothing more can come */
    bool stopped;              /* the program is about to end; for the page at the bench */
    pellet_ns now;
    char basis[PELLET_SHA256_HEX]; /* of all that the record is to say: see reports_pick.h */
    size_t tally[PELLET_OUTCOME_COUNT];
    size_t n;
    struct report_source *source;

    enum report_result result;
    unsigned revision; /* of the record that is there now */
    int64_t took_ms;
    struct pellet_error error;
};

void report_job_free(struct report_job *job); /* NULL allowed */

/* Whether a session's name may be that of a file: what pelletd gives fits, what is planted may not. */
bool report_session_is_good(const char *session);

/*
 * The record of a session and its table. A record that says the same already is left as it is. That of a
 * closed session is never changed: it is kept below reports/revision-N/, and a new revision takes its place.
 * The table is written first; the page ends with a line that names its revision and its basis, so a record is
 * whole when that line is there, and a start after a crash finds out by it what is still to be written.
 */
void report_record_run(struct job *job);

/* The page at the bench. */
void report_bench_run(struct job *job);

#endif
