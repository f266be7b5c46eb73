// SPDX-License-Identifier: GPL-3.0-or-later
/* A session in the order in which people think of it: samples, their pellets, their measurements; and
 * counted. */
#ifndef REPORT_SESSION_H
#define REPORT_SESSION_H

#include "pellet/report.h"

/* One sample: its measurements are item[first .. first + count), oldest first. */
struct report_sample {
    const char *name;
    size_t first, count;
};

struct report_session {
    size_t item_count; /* measurements of samples, grouped */
    const struct pellet_report_item **item;
    size_t sample_count; /* in the order of their first measurement */
    struct report_sample *sample;
    size_t reference_count; /* blanks, open beams and films, oldest first */
    const struct pellet_report_item **reference;
    size_t timed_count; /* all of them, oldest first */
    const struct pellet_report_item **timed;
};

#define REPORT_FAULTS_MAX 48

/* How often a check came out how. */
struct report_fault {
    const struct pellet_check *check;
    size_t count[PELLET_OUTCOME_COUNT];
    size_t total;
};

/* Most frequent first. */
struct report_tally {
    size_t count;
    struct report_fault item[REPORT_FAULTS_MAX];
};

struct report_figures {
    size_t samples, pellets, measurements;
    size_t fit;          /* samples whose newest pellet passed */
    size_t first_passed; /* samples whose first pellet passed, however often it was measured */
    size_t verdict[PELLET_OUTCOME_COUNT]; /* of pellets, by their newest measurement */
    struct report_tally reasons;          /* what led to verdicts, every measurement counted */
    struct report_tally unchecked;        /* what could not be made, of each pellet's newest measurement */
    size_t not_checked;                   /* the sum of these */
};

/* Errors: E_MEMORY; `session` is untouched then. The caller clears it. */
pellet_status report_session_make(const struct pellet_report *report, struct report_session *session);
void report_session_clear(struct report_session *session);
void report_session_count(const struct report_session *session, struct report_figures *figures);

/* Whether a later measurement of the same pellet takes the place of measurement `i` of the sample. */
bool report_superseded(const struct report_session *session, const struct report_sample *sample, size_t i);
/* The newest measurement of the sample: what counts now. */
const struct pellet_verdict *report_newest(const struct report_session *session,
                                           const struct report_sample *sample);

#endif
