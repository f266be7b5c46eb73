// SPDX-License-Identifier: GPL-3.0-or-later
/* The worksheet that people keep beside the spectra: a row for each pellet they press. */
#ifndef PELLETD_WORKSHEET_H
#define PELLETD_WORKSHEET_H

#include "pellet/judge.h"

#define WORKSHEET_NAME      "worksheet.csv"
#define WORKSHEET_BYTES_MAX ((uint64_t)4 << 20)
#define WORKSHEET_ROWS_MAX  20000

struct worksheet {
    size_t n, capacity;
    struct pellet_worksheet_row *row;
    struct pellet_arena arena; /* owns the texts of the rows */
};

/*
 * Read a worksheet: comma, semicolon or tab between fields, columns in any order, those we do not know left
 * out. With semicolons or tabs a decimal comma is understood.
 *
 * Returned:  worksheet  cleared by worksheet_clear; untouched on error
 *            problems   one line for each cell that could not be used (its value counts as missing), for each
 * row that names no sample (it is left out), and for each that is overruled by a later one Errors: E_FORMAT
 * where there is no column `sample`; E_LIMIT; E_MEMORY
 */
pellet_status worksheet_read(const char *bytes, size_t n, struct worksheet *worksheet,
                             struct pellet_text *problems, struct pellet_error *error);
void worksheet_clear(struct worksheet *worksheet);

/* The last row for this sample and pellet, else the last one for this sample that names no pellet;
 * or NULL. */
const struct pellet_worksheet_row *worksheet_find(const struct worksheet *worksheet, const char *sample,
                                                  int pellet);

/* Whether what of the two rows can change a verdict differs: masses, die and load. Either may be NULL: no
 * row. */
bool worksheet_rows_differ(const struct pellet_worksheet_row *a, const struct pellet_worksheet_row *b);

#endif
