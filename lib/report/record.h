// SPDX-License-Identifier: GPL-3.0-or-later
/* The sections of a session's record, one function each, in the order of the page. */
#ifndef REPORT_RECORD_H
#define REPORT_RECORD_H

#include "report/session.h"

/* Pieces of drawings that stand at the head of the page, as their text: the axes of each range,
 * each blank. */
#define REPORT_SHARED_MAX 64
struct report_shared {
    size_t count;
    struct pellet_text piece[REPORT_SHARED_MAX];
};
void report_shared_clear(struct report_shared *shared);

/* What every section is given. */
struct report_record {
    const struct pellet_report *report;
    struct report_session session;
    struct report_figures figures;
    struct report_shared *shared;
};

/* Before all drawings, where a browser lays out whatever else it leaves for later. */
void report_add_shared(const struct report_record *record, struct pellet_text *out);
void report_add_summary(const struct report_record *record, struct pellet_text *out);
void report_add_overview(const struct report_record *record, struct pellet_text *out);
void report_add_samples(const struct report_record *record, struct pellet_text *out);
void report_add_blanks(const struct report_record *record, struct pellet_text *out);
void report_add_faults(const struct report_record *record, struct pellet_text *out);
void report_add_rules(const struct report_record *record, struct pellet_text *out);
void report_add_files(const struct report_record *record, struct pellet_text *out);
void report_add_signatures(const struct report_record *record, struct pellet_text *out);

/* The table of all checks of a verdict: what was measured beside its limit. */
void report_add_measured(const struct pellet_verdict *verdict, struct pellet_text *out);
/* The marked spectrum; nothing where there is none. */
void report_add_picture(const struct report_record *record, const struct pellet_report_item *item,
                        struct pellet_text *out);
/* What became of the file and of its blank since, a list item each: gone, changed, late. */
void report_add_remarks(const struct report_session *session, const struct pellet_report_item *item,
                        struct pellet_text *out);

#endif
