// SPDX-License-Identifier: GPL-3.0-or-later
/* The sections of a session's record, one function each, in the order of the page. */
#ifndef REPORT_RECORD_H
#define REPORT_RECORD_H

#include "report/session.h"

/* What every section is given. */
struct report_record {
    const struct pellet_report *report;
    struct report_session session;
    struct report_figures figures;
};

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

extern const char report_record_style[];
extern const char report_record_script[];

#endif
