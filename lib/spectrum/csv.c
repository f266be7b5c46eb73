// SPDX-License-Identifier: GPL-3.0-or-later
/* Spectra from CSV: find the table, read it, refuse what is no table. */
#include "pellet/spectrum.h"

#include "spectrum/csv_heading.h"
#include "spectrum/encoding.h"
#include "spectrum/lines.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

struct csv_reader {
    struct pellet_read_options options;
    struct pellet_lines lines;
    struct pellet_row row;
    struct pellet_heading heading;
    struct pellet_draft draft;
    struct pellet_columns columns;
    size_t cells;     /* of every row of the table */
    size_t row_above; /* the last line that would be a row but stands above the heading; 0: none */
    struct pellet_lines last_row, row_before; /* of the table */
    int direction;                            /* of the abscissa: 1 rising, -1 falling, 0 not known yet */
    struct pellet_error footer; /* why the first line below the table is no row; line 0 while there is none */
    struct pellet_error *error;
};

/* Go to the next line; E_MISSING at the end of the text. */
static pellet_status next_line(struct csv_reader *reader)
{
    if (!pellet_lines_next(&reader->lines))
        return PELLET_E_MISSING;
    if (reader->lines.n <= reader->options.line_max)
        return PELLET_OK;
    return pellet_fail_at(reader->error, PELLET_E_LIMIT, reader->lines.number, 0,
                          "a line of %zu bytes, at most %zu are allowed; is this a spectrum?",
                          reader->lines.n, reader->options.line_max);
}

/* Read the present line into the row. */
static pellet_status read_row(struct csv_reader *reader)
{
    if (pellet_row_read(&reader->row, reader->lines.line, reader->lines.n) != PELLET_OK)
        return pellet_fail(reader->error, PELLET_E_MEMORY, "no memory for a line of %zu bytes",
                           reader->lines.n);
    if (reader->row.overflow)
        return pellet_fail_at(reader->error, PELLET_E_LIMIT, reader->lines.number, 0,
                              "more than %d columns; is this a spectrum?", PELLET_COLUMNS_MAX);
    return PELLET_OK;
}

static pellet_status next_row(struct csv_reader *reader)
{
    const pellet_status status = next_line(reader);
    return status == PELLET_OK ? read_row(reader) : status;
}

/* ---------------------------------------------------------------- what is no table */

static pellet_status fail_cell(const struct csv_reader *reader, struct pellet_error *error)
{
    return pellet_fail_at(error, PELLET_E_NUMBER, reader->lines.number, reader->row.bad + 1,
                          "'%s' is not a finite decimal number; export the spectrum again",
                          reader->row.bad_text);
}

static pellet_status fail_count(const struct csv_reader *reader)
{
    return pellet_fail_at(reader->error, PELLET_E_FORMAT, reader->lines.number, 0,
                          "%zu columns here, %zu above: columns of unequal length, or the file is cut short",
                          reader->row.cells, reader->cells);
}

/* No dialect makes rows of the lines: say whether there is one column of numbers or none at all. */
static pellet_status fail_no_rows(struct csv_reader *reader)
{
    size_t numbers = 0, first = 0;
    pellet_status status = pellet_row_init(&reader->row, (struct pellet_dialect){';', '.'});
    while (status == PELLET_OK && (status = next_line(reader)) == PELLET_OK) {
        if (!pellet_row_may_be_number(reader->lines.line, reader->lines.n))
            continue;
        status = read_row(reader);
        if (status == PELLET_OK && reader->row.kind == PELLET_ROW_NUMBER && numbers++ == 0)
            first = reader->lines.number;
    }
    if (status != PELLET_E_MISSING)
        return status;
    if (reader->lines.number == 0)
        return pellet_fail(reader->error, PELLET_E_SHORT, "the file is empty; export the spectrum again");
    if (numbers >= 2)
        return pellet_fail_at(reader->error, PELLET_E_FORMAT, first, 0,
                              "one column of numbers; a spectrum needs two, abscissa and ordinate");
    return pellet_fail_at(reader->error, PELLET_E_FORMAT, 1, 0,
                          "no table of numbers in this text; export the spectrum as CSV or JCAMP-DX");
}

/* ---------------------------------------------------------------- above the table */

/* What find_table remembers of the last line that was not blank. */
struct before {
    enum pellet_row_kind kind;
    size_t cells;
    struct pellet_lines lines;     /* to read it again */
    struct pellet_heading heading; /* of the lines above it */
};

/* A broken row right above the first good ones belongs to the table: it must not be lost as a heading. */
static bool is_broken_row(const struct before *before, size_t cells)
{
    return before->kind == PELLET_ROW_LEADING && before->cells == cells;
}

/*
 * The table begins with the first two rows in sequence of equally many numbers. Everything above is heading.
 * Leaves the reader so that the next line is the second row, and returns the first in `before`.
 */
static pellet_status find_table(struct csv_reader *reader, struct before *before)
{
    struct before last = {.kind = PELLET_ROW_BLANK};
    pellet_status status;
    while ((status = next_row(reader)) == PELLET_OK) {
        const struct pellet_row *row = &reader->row;
        if (row->kind == PELLET_ROW_BLANK)
            continue;
        if (row->kind == PELLET_ROW_TABLE && last.kind == PELLET_ROW_TABLE && last.cells == row->cells)
            break;
        if (row->kind == PELLET_ROW_TABLE && is_broken_row(&last, row->cells)) {
            reader->lines = last.lines;
            status = read_row(reader);
            return status == PELLET_OK ? fail_cell(reader, reader->error) : status;
        }
        if (last.kind == PELLET_ROW_TABLE)
            reader->row_above = last.lines.number;
        last = (struct before){row->kind, row->cells, reader->lines, reader->heading};
        status = pellet_heading_line(&reader->heading, &reader->draft, reader->lines.line, reader->lines.n,
                                     row->dialect.delimiter, reader->error);
        if (status != PELLET_OK)
            return status;
    }
    if (status == PELLET_E_MISSING)
        return pellet_fail_at(reader->error, PELLET_E_SHORT, last.lines.number, 0,
                              "no two rows of numbers in sequence; export the whole spectrum");
    *before = last;
    return status;
}

/* ---------------------------------------------------------------- the table */

static pellet_status check_order(struct csv_reader *reader, double x)
{
    const struct pellet_draft *draft = &reader->draft;
    if (draft->n == 0)
        return PELLET_OK;
    const double step = x - draft->x[draft->n - 1];
    const int direction = (step > 0) - (step < 0);
    if (direction == 0)
        return pellet_fail_at(reader->error, PELLET_E_FORMAT, reader->lines.number, 0,
                              "the abscissa %g is repeated; export one spectrum a file", x);
    if (reader->direction != 0 && direction != reader->direction)
        return pellet_fail_at(reader->error, PELLET_E_FORMAT, reader->lines.number, 0,
                              "the abscissa turns back at %g; export one spectrum a file, sorted", x);
    reader->direction = direction;
    return PELLET_OK;
}

static pellet_status take_row(struct csv_reader *reader)
{
    const double x = reader->row.value[reader->columns.x];
    pellet_status status = check_order(reader, x);
    if (status == PELLET_OK)
        status = pellet_draft_add(&reader->draft, x, reader->row.value[reader->columns.y],
                                  reader->options.points_max, reader->error);
    if (status == PELLET_E_LIMIT && reader->error)
        reader->error->line = reader->lines.number;
    reader->row_before = reader->last_row;
    reader->last_row = reader->lines;
    return status;
}

/* A line in or below the table. Text may follow a table, but no row may follow that text. */
static pellet_status table_line(struct csv_reader *reader)
{
    switch (reader->row.kind) {
    case PELLET_ROW_BLANK:
        return PELLET_OK;
    case PELLET_ROW_TEXT:
        if (reader->footer.line == 0)
            fail_cell(reader, &reader->footer);
        return PELLET_OK;
    case PELLET_ROW_LEADING:
        return fail_cell(reader, reader->error);
    case PELLET_ROW_NUMBER:
        return fail_count(reader);
    case PELLET_ROW_TABLE:
        break;
    }
    if (reader->footer.line > 0) {
        if (reader->error)
            *reader->error = reader->footer;
        return reader->footer.status;
    }
    return reader->row.cells == reader->cells ? take_row(reader) : fail_count(reader);
}

/* How the last number of a row is written: digits before the decimal mark, behind it, and of the exponent. */
struct written {
    size_t whole, fraction, exponent;
};

static bool is_quote_or_blank(char c)
{
    return c == ' ' || c == '\t' || c == '"';
}

static struct written last_number(const struct pellet_lines *row, struct pellet_dialect dialect)
{
    struct written written = {0};
    size_t end = row->n, *part = &written.whole;
    while (end > 0 && (row->line[end - 1] == dialect.delimiter || is_quote_or_blank(row->line[end - 1])))
        end--;
    size_t begin = end; /* a comma that is the decimal mark too parts nothing: quotes do */
    while (begin > 0 && !is_quote_or_blank(row->line[begin - 1]) &&
           (row->line[begin - 1] != dialect.delimiter || dialect.delimiter == dialect.decimal))
        begin--;
    for (size_t i = begin; i < end; i++) {
        if (row->line[i] == dialect.decimal)
            part = &written.fraction;
        else if (strchr("eEdD", row->line[i]))
            part = &written.exponent;
        else if (row->line[i] >= '0' && row->line[i] <= '9')
            ++*part;
    }
    return written;
}

/*
 * A file cut within its last number cannot be told for certain, but a last line without an end whose number
 * has fewer digits than the one above, or another exponent, looks like it. (1.5e-00 would be 1000
 * times 1.5e-003.)
 */
static bool looks_cut(const struct csv_reader *reader)
{
    if (reader->last_row.ended || reader->row_before.line == NULL)
        return false;
    const struct written last = last_number(&reader->last_row, reader->row.dialect);
    const struct written before = last_number(&reader->row_before, reader->row.dialect);
    return last.whole < before.whole || last.fraction < before.fraction || last.exponent != before.exponent;
}

static void warn_of_table(struct csv_reader *reader)
{
    struct pellet_draft *draft = &reader->draft;
    if (reader->row_above > 0)
        pellet_draft_warn(draft, "line %zu holds numbers but stands above the heading: not used",
                          reader->row_above);
    if (reader->footer.line > 0)
        pellet_draft_warn(draft, "text below the table, from line %zu on: not used", reader->footer.line);
    if (looks_cut(reader))
        pellet_draft_warn(draft,
                          "the last line has no end and its number fewer digits than the one above: the "
                          "file may be cut short");
}

static pellet_status read_table(struct csv_reader *reader)
{
    struct before first;
    pellet_status status = find_table(reader, &first);
    if (status != PELLET_OK)
        return status;
    reader->cells = first.cells;
    reader->draft.table_line = first.lines.number;
    status = pellet_heading_columns(&first.heading, reader->row.dialect, first.cells, reader->options.column,
                                    &reader->draft, &reader->columns, reader->error);
    reader->lines = first.lines;
    if (status == PELLET_OK)
        status = read_row(reader);
    while (status == PELLET_OK) {
        status = table_line(reader);
        if (status == PELLET_OK)
            status = next_row(reader);
    }
    if (status != PELLET_E_MISSING)
        return status;
    warn_of_table(reader);
    return PELLET_OK;
}

/* ---------------------------------------------------------------- the file */

static pellet_status read_text(struct csv_reader *reader, const char *text, size_t n,
                               struct pellet_spectrum *spectrum)
{
    struct pellet_dialect dialect;
    pellet_status status = pellet_csv_dialect(text, n, reader->options.line_max, &dialect);
    pellet_lines_begin(&reader->lines, text, n);
    if (status == PELLET_E_FORMAT)
        return fail_no_rows(reader);
    if (status == PELLET_OK)
        status = pellet_row_init(&reader->row, dialect);
    if (status != PELLET_OK)
        return pellet_fail(reader->error, status, "no memory to read the table");
    status = read_table(reader);
    if (status == PELLET_OK)
        status = pellet_draft_finish(&reader->draft, &reader->options, spectrum, reader->error);
    /* What concerns the table as a whole is told at its first line. */
    if (status != PELLET_OK && reader->error && reader->error->line == 0)
        reader->error->line = reader->draft.table_line;
    return status;
}

pellet_status pellet_csv_read(const char *bytes, size_t n, const struct pellet_read_options *options,
                              struct pellet_spectra *spectra, struct pellet_error *error)
{
    struct pellet_decoded text = {0};
    struct pellet_spectra out = {.n = 1, .item = calloc(1, sizeof *out.item)};
    struct csv_reader *reader = calloc(1, sizeof *reader);
    pellet_status status = PELLET_E_MEMORY;
    if (!out.item || !reader) {
        pellet_fail(error, status, "no memory to read a spectrum");
        goto done;
    }
    reader->options = pellet_read_options_filled(options);
    reader->error = error;
    reader->draft.date_order = PELLET_DATE_FREE;
    if (n > reader->options.bytes_max)
        status = pellet_fail(error, PELLET_E_LIMIT, "%zu bytes, at most %ju are allowed", n,
                             (uintmax_t)reader->options.bytes_max);
    else
        status = pellet_text_decode(bytes, n, &text, error);
    if (status == PELLET_OK)
        status = read_text(reader, text.bytes, text.n, &out.item[0]);
    if (status != PELLET_OK)
        goto done;
    *spectra = out;
    out = (struct pellet_spectra){0};
done:
    if (reader) {
        pellet_row_clear(&reader->row);
        pellet_draft_clear(&reader->draft);
    }
    free(reader);
    pellet_decoded_free(&text);
    if (out.item)
        pellet_spectra_clear(&out);
    return status;
}
