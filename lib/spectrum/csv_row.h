// SPDX-License-Identifier: GPL-3.0-or-later
/* One line of a CSV file as cells, tokenised by libcsv. */
#ifndef PELLET_SPECTRUM_CSV_ROW_H
#define PELLET_SPECTRUM_CSV_ROW_H

#include "pellet/core.h"

#include <csv.h>

#define PELLET_COLUMNS_MAX 256
#define PELLET_ROW_BYTES_MAX                                                                                 \
    ((size_t)1 << 20) /* 4 KiB for each column: a longer line holds no row of numbers */

/* How a file separates its cells and writes its fractions. Delimiter ' ' stands for runs of blanks. */
struct pellet_dialect {
    char delimiter, decimal;
};

/* What a line is to a table of numbers. */
enum pellet_row_kind {
    PELLET_ROW_BLANK,
    PELLET_ROW_TEXT,    /* the first cell is no number */
    PELLET_ROW_NUMBER,  /* a single number */
    PELLET_ROW_LEADING, /* two or more cells, the first a number, some other not */
    PELLET_ROW_TABLE    /* two or more numbers and nothing else */
};

struct pellet_row {
    struct csv_parser parser;
    struct pellet_dialect dialect;
    enum pellet_row_kind kind;
    size_t cells;                     /* trailing empty ones left out */
    double value[PELLET_COLUMNS_MAX]; /* NaN where the cell is no number */
    size_t bad;                       /* the first cell that is no number; `cells` where all are */
    char bad_text[32];                /* its beginning */
    bool overflow;                    /* more cells than PELLET_COLUMNS_MAX */

    bool keep_text;                     /* keep the cells as text too */
    struct pellet_text text;            /* one after the other, each ended by a NUL */
    size_t text_at[PELLET_COLUMNS_MAX]; /* where each begins */
    size_t all_cells;                   /* while reading: empty ones included */
};

pellet_status pellet_row_init(struct pellet_row *row, struct pellet_dialect dialect);
void pellet_row_clear(struct pellet_row *row);

/*
 * Read a line (without its end) into the row. Quotes never reach beyond the line: a heading with a lone
 * quotation mark must not swallow the table below it.
 */
pellet_status pellet_row_read(struct pellet_row *row, const char *line, size_t n);

/* Whether a line may begin with a number at all: a look at one byte that spares text the tokeniser. */
bool pellet_row_may_be_number(const char *line, size_t n);

/* Cell i as text, with keep_text set before reading; "" where there is none. */
const char *pellet_row_text(const struct pellet_row *row, size_t i);

/*
 * The dialect of a text: the one under which most of (a sample of) its lines are rows of two or more numbers;
 * on a tie the first of: tab, semicolon, comma, blanks, each with the decimal point before the comma. Comma
 * with comma comes last, so it is only found where quotes keep the two apart. E_FORMAT where no line is such
 * a row under any.
 */
pellet_status pellet_csv_dialect(const char *text, size_t n, size_t line_max, struct pellet_dialect *dialect);

#endif
