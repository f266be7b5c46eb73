// SPDX-License-Identifier: GPL-3.0-or-later
/* What stands above the numbers of a CSV file: facts line by line, and the names of the columns. */
#ifndef PELLET_SPECTRUM_CSV_HEADING_H
#define PELLET_SPECTRUM_CSV_HEADING_H

#include "spectrum/csv_row.h"
#include "spectrum/draft.h"

/* The two non-blank lines right above the table, nearest first; borrowed from the text. */
struct pellet_heading {
    const char *line[2];
    size_t n[2];
};

/* Take a line above the table: keep it as a possible heading, and a fact if it states one ("key: value",
 * "key = value", "key;value"). */
pellet_status pellet_heading_line(struct pellet_heading *heading, struct pellet_draft *draft,
                                  const char *line, size_t n, char delimiter, struct pellet_error *error);

/* The columns of a table, chosen from the heading. */
struct pellet_columns {
    size_t x, y;
};

/*
 * Choose abscissa and ordinate among `count` columns, and note in the draft what the heading says they are.
 *
 * Errors: E_FORMAT where there are several ordinates and `wanted` (may be NULL) names none of them; the
 * message lists them.
 */
pellet_status pellet_heading_columns(const struct pellet_heading *heading, struct pellet_dialect dialect,
                                     size_t count, const char *wanted, struct pellet_draft *draft,
                                     struct pellet_columns *columns, struct pellet_error *error);

#endif
