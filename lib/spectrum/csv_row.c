// SPDX-License-Identifier: GPL-3.0-or-later
/* libcsv, one line at a time. */
#include "spectrum/csv_row.h"

#include "spectrum/number.h"

#include <math.h>
#include <string.h>

pellet_status pellet_row_init(struct pellet_row *row, struct pellet_dialect dialect)
{
    memset(row, 0, sizeof *row);
    row->dialect = dialect;
    if (csv_init(&row->parser, 0) != 0)
        return PELLET_E_MEMORY;
    csv_set_delim(&row->parser, (unsigned char)dialect.delimiter);
    return PELLET_OK;
}

void pellet_row_clear(struct pellet_row *row)
{
    csv_free(&row->parser);
    pellet_text_free(&row->text);
}

static void note_bad(struct pellet_row *row, size_t at, const char *bytes, size_t n)
{
    if (row->bad < at)
        return;
    const size_t kept = n < sizeof row->bad_text ? n : sizeof row->bad_text - 1;
    row->bad = at;
    memcpy(row->bad_text, bytes, kept);
    row->bad_text[kept] = 0;
}

/* Called by libcsv for each cell, with the blanks around it gone. */
static void on_cell(void *bytes, size_t n, void *data)
{
    struct pellet_row *row = data;
    if (n == 0 && row->dialect.delimiter == ' ') /* between two blanks of a run */
        return;
    const size_t at = row->all_cells;
    if (at == PELLET_COLUMNS_MAX) {
        row->overflow = true;
        return;
    }
    row->all_cells++;
    if (row->keep_text) {
        row->text_at[at] = row->text.length;
        pellet_text_add(&row->text, bytes, n);
        pellet_text_addc(&row->text, 0);
    }
    row->value[at] = NAN;
    if (!pellet_number_whole(bytes, n, row->dialect.decimal, &row->value[at]))
        note_bad(row, at, bytes, n);
    if (n > 0)
        row->cells = row->all_cells;
}

static enum pellet_row_kind kind_of(const struct pellet_row *row)
{
    if (row->cells == 0)
        return PELLET_ROW_BLANK;
    if (row->bad == 0)
        return PELLET_ROW_TEXT;
    if (row->cells == 1)
        return PELLET_ROW_NUMBER;
    return row->bad == row->cells ? PELLET_ROW_TABLE : PELLET_ROW_LEADING;
}

/* A line too long for a row: one cell that is no number, but broken where it begins as one. */
static void set_endless(struct pellet_row *row, const char *line, size_t n)
{
    note_bad(row, 0, line, n);
    row->cells = row->all_cells = 1;
    row->kind = pellet_row_may_be_number(line, n) ? PELLET_ROW_LEADING : PELLET_ROW_TEXT;
}

pellet_status pellet_row_read(struct pellet_row *row, const char *line, size_t n)
{
    row->cells = row->all_cells = 0;
    row->bad = SIZE_MAX;
    row->overflow = false;
    pellet_text_clear(&row->text);
    if (n > PELLET_ROW_BYTES_MAX) {
        set_endless(row, line, n);
        return PELLET_OK;
    }
    if (csv_parse(&row->parser, line, n, on_cell, NULL, row) != n ||
        csv_fini(&row->parser, on_cell, NULL, row) != 0 || row->text.failed)
        return PELLET_E_MEMORY;
    if (row->bad > row->cells)
        row->bad = row->cells;
    row->kind = kind_of(row);
    return PELLET_OK;
}

bool pellet_row_may_be_number(const char *line, size_t n)
{
    size_t i = 0;
    while (i < n && (line[i] == ' ' || line[i] == '\t' || line[i] == '"'))
        i++;
    return i < n && ((line[i] >= '0' && line[i] <= '9') || strchr("+-.,", line[i]));
}

const char *pellet_row_text(const struct pellet_row *row, size_t i)
{
    return row->keep_text && i < row->all_cells && row->text.length > 0 ? row->text.data + row->text_at[i]
                                                                        : "";
}
