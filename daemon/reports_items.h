// SPDX-License-Identifier: GPL-3.0-or-later
/* The verdicts of a session, read back from their files, with what stands beside each. */
#ifndef PELLETD_REPORTS_ITEMS_H
#define PELLETD_REPORTS_ITEMS_H

#include "pellet/report.h"
#include "reports_record.h"
#include "worksheet.h"

struct report_items {
    size_t n;
    struct pellet_verdict *verdict;
    struct pellet_bytes *picture;
    struct pellet_report_item *item;
    size_t left_out; /* verdicts beyond what memory is given for them */
    struct worksheet worksheet;
};

/*
 * Read the verdicts that a job names. One whose file is gone or damaged is passed over: it is judged anew,
 * and the record written again.
 *
 * Given:   brief  only what the page at the bench needs: no pictures, no worksheet, no lists
 * Errors:  E_MEMORY; `items` is to be cleared either way
 */
pellet_status report_items_read(const struct report_job *job, bool brief, struct report_items *items);
void report_items_clear(struct report_items *items);

/* What the files state of how they were measured; strings come from `arena`. Files that are gone
 * say nothing. */
void report_items_settings(const struct report_job *job, struct pellet_arena *arena,
                           const char *setting[PELLET_SETTING_COUNT]);

/* The rule set that these verdicts were judged by, where it is at hand. False: it is not. */
bool report_items_rules(const struct report_job *job, const struct report_items *items,
                        struct pellet_rules *shipped, const struct pellet_rules **rules);

#endif
