// SPDX-License-Identifier: GPL-3.0-or-later
#include "worksheet.h"

#include <csv.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

enum column_kind { TEXT, NUMBER, COUNT };

/* What is beyond these is a slip of the pen or of the unit, not a pellet: a kilogram, a plate, a rolling
 * mill. */
#define MASS_MAX_MG 1e6
#define DIE_MAX_MM  100.0
#define LOAD_MAX_T  100.0
#define PELLET_MAX  1e6

/* Each column: how it is called, what it holds, the most it may hold, and where that goes in a row. */
static const struct column {
    const char *name;
    enum column_kind kind;
    double most;
    size_t offset;
} columns[] = {
    {"sample", TEXT, 0, offsetof(struct pellet_worksheet_row, sample)},
    {"pellet", COUNT, PELLET_MAX, offsetof(struct pellet_worksheet_row, pellet)},
    {"operator", TEXT, 0, offsetof(struct pellet_worksheet_row, operator_name)},
    {"sample_mg", NUMBER, MASS_MAX_MG, offsetof(struct pellet_worksheet_row, sample_mg)},
    {"kbr_mg", NUMBER, MASS_MAX_MG, offsetof(struct pellet_worksheet_row, kbr_mg)},
    {"pressed_mg", NUMBER, MASS_MAX_MG, offsetof(struct pellet_worksheet_row, pressed_mg)},
    {"powder_left_mg", NUMBER, MASS_MAX_MG, offsetof(struct pellet_worksheet_row, powder_left_mg)},
    {"die_mm", NUMBER, DIE_MAX_MM, offsetof(struct pellet_worksheet_row, die_mm)},
    {"load_t", NUMBER, LOAD_MAX_T, offsetof(struct pellet_worksheet_row, load_t)},
    {"kbr_lot", TEXT, 0, offsetof(struct pellet_worksheet_row, kbr_lot)},
    {"decision", TEXT, 0, offsetof(struct pellet_worksheet_row, decision)},
    {"decided_by", TEXT, 0, offsetof(struct pellet_worksheet_row, decided_by)},
    {"decision_reason", TEXT, 0, offsetof(struct pellet_worksheet_row, decision_reason)},
};
enum { COLUMN_COUNT = sizeof columns / sizeof columns[0], FIELDS_MAX = 64 };

/* What the parser's callbacks work on. */
struct parsing {
    struct worksheet *worksheet;
    struct pellet_text *problems;
    char decimal;
    bool header_seen;
    const struct column *column_at[FIELDS_MAX]; /* of the field; NULL for one we do not know */
    bool has_sample;
    size_t field, filled; /* fields of this line, and how many of those we know hold something */
    size_t line;
    struct pellet_worksheet_row row;
    pellet_status status;
};

static void note_problem(struct parsing *parsing, const char *column, const char *text)
{
    pellet_text_addf(parsing->problems, "line %zu, %s: '", parsing->line, column);
    pellet_text_add_visible(parsing->problems, text, strnlen(text, 60));
    pellet_text_adds(parsing->problems, "' is not a number that can stand there\n");
}

static void set_number(struct parsing *parsing, const struct column *column, const char *text)
{
    void *place = (char *)&parsing->row + column->offset;
    double value = 0;
    if (pellet_number_parse(text, strlen(text), parsing->decimal, &value) != PELLET_OK || value < 0 ||
        value > column->most || (column->kind == COUNT && value != floor(value)))
        note_problem(parsing, column->name, text);
    else if (column->kind == COUNT)
        *(int *)place = (int)value;
    else
        *(double *)place = value;
}

static void set_field(struct parsing *parsing, const struct column *column, const char *text)
{
    if (!*text)
        return;
    parsing->filled++;
    if (column->kind != TEXT) {
        set_number(parsing, column, text);
        return;
    }
    const char *copy = pellet_arena_string(&parsing->worksheet->arena, text);
    if (!copy)
        parsing->status = PELLET_E_MEMORY;
    *(const char **)((char *)&parsing->row + column->offset) = copy;
}

static void read_heading(struct parsing *parsing, const char *text)
{
    for (size_t i = 0; i < COLUMN_COUNT; i++) {
        if (strcasecmp(text, columns[i].name) == 0) {
            parsing->column_at[parsing->field] = &columns[i];
            parsing->has_sample = parsing->has_sample || i == 0;
        }
    }
}

/* libcsv terminates fields because of CSV_APPEND_NULL. */
static void take_field(void *field, size_t n, void *context)
{
    struct parsing *parsing = context;
    const char *text = n > 0 ? field : "";
    if (parsing->field < FIELDS_MAX) {
        const struct column *column = parsing->column_at[parsing->field];
        if (!parsing->header_seen)
            read_heading(parsing, text);
        else if (column)
            set_field(parsing, column, text);
    }
    parsing->field++;
}

static void clear_row(struct parsing *parsing)
{
    parsing->row = (struct pellet_worksheet_row){.sample_mg = NAN,
                                                 .kbr_mg = NAN,
                                                 .pressed_mg = NAN,
                                                 .powder_left_mg = NAN,
                                                 .die_mm = NAN,
                                                 .load_t = NAN};
}

static void keep_row(struct parsing *parsing)
{
    struct worksheet *worksheet = parsing->worksheet;
    if (worksheet->n == worksheet->capacity) {
        size_t capacity = worksheet->capacity ? 2 * worksheet->capacity : 64;
        struct pellet_worksheet_row *row =
            capacity <= 2 * WORKSHEET_ROWS_MAX ? realloc(worksheet->row, capacity * sizeof *row) : NULL;
        if (!row) {
            parsing->status = capacity > 2 * WORKSHEET_ROWS_MAX ? PELLET_E_LIMIT : PELLET_E_MEMORY;
            return;
        }
        worksheet->row = row;
        worksheet->capacity = capacity;
    }
    parsing->row.line = parsing->line;
    worksheet->row[worksheet->n++] = parsing->row;
}

/* A row that belongs to no sample can be found by nobody. */
static void end_row(struct parsing *parsing)
{
    if (parsing->row.sample)
        keep_row(parsing);
    else if (parsing->filled > 0)
        pellet_text_addf(parsing->problems, "line %zu: no sample is named; the row is left out\n",
                         parsing->line);
}

/* CR and LF are reported separately; a line ends with LF. */
static void take_line(int ending, void *context)
{
    struct parsing *parsing = context;
    if (ending == '\r')
        return;
    if (parsing->header_seen && parsing->status == PELLET_OK)
        end_row(parsing);
    if (parsing->field > 0)
        parsing->header_seen = true;
    parsing->field = parsing->filled = 0;
    parsing->line++;
    clear_row(parsing);
}

static char delimiter_of(const char *bytes, size_t n)
{
    static const char candidates[] = {',', ';', '\t'};
    size_t line = 0;
    while (line < n && bytes[line] != '\n')
        line++;
    for (size_t i = 1; i < sizeof candidates; i++) {
        if (memchr(bytes, candidates[i], line))
            return candidates[i];
    }
    return candidates[0];
}

static pellet_status parse(const char *bytes, size_t n, struct parsing *parsing, struct pellet_error *error)
{
    struct csv_parser parser;
    char delimiter = delimiter_of(bytes, n);
    parsing->decimal = delimiter == ',' ? '.' : ',';
    if (csv_init(&parser, CSV_APPEND_NULL | CSV_REPALL_NL) != 0)
        return pellet_fail(error, PELLET_E_MEMORY, "no memory for the worksheet");
    csv_set_delim(&parser, (unsigned char)delimiter);
    bool parsed = csv_parse(&parser, bytes, n, take_field, take_line, parsing) == n &&
                  csv_fini(&parser, take_field, take_line, parsing) == 0;
    csv_free(&parser);
    if (parsed && parsing->field > 0)
        take_line('\n', parsing);
    if (parsing->status != PELLET_OK)
        return pellet_fail(error, parsing->status, "the worksheet has more than %d rows or no memory is left",
                           WORKSHEET_ROWS_MAX);
    if (!parsed)
        return pellet_fail_at(error, PELLET_E_FORMAT, parsing->line, 0, "the worksheet is no CSV");
    if (!parsing->has_sample)
        return pellet_fail_at(error, PELLET_E_FORMAT, 1, 0, "the worksheet has no column 'sample'");
    return PELLET_OK;
}

static int by_name_and_pellet(const void *a, const void *b)
{
    const struct pellet_worksheet_row *const *x = a, *const *y = b;
    const int order = strcmp((*x)->sample, (*y)->sample);

    if (order != 0)
        return order;
    if ((*x)->pellet != (*y)->pellet)
        return (*x)->pellet < (*y)->pellet ? -1 : 1;
    return ((*x)->line > (*y)->line) - ((*x)->line < (*y)->line);
}

/* Two rows for one pellet are an oversight more often than a correction: the last counts, and it is said. */
static pellet_status note_overruled(const struct worksheet *worksheet, struct pellet_text *problems)
{
    const struct pellet_worksheet_row **sorted = malloc((worksheet->n + 1) * sizeof *sorted);

    if (!sorted)
        return PELLET_E_MEMORY;
    for (size_t i = 0; i < worksheet->n; i++)
        sorted[i] = &worksheet->row[i];
    qsort(sorted, worksheet->n, sizeof *sorted, by_name_and_pellet);
    for (size_t i = 0; i + 1 < worksheet->n; i++) {
        const struct pellet_worksheet_row *one = sorted[i], *next = sorted[i + 1];
        if (strcmp(one->sample, next->sample) == 0 && one->pellet == next->pellet)
            pellet_text_addf(problems, "line %zu: line %zu is for the same pellet and counts instead\n",
                             one->line, next->line);
    }
    free(sorted);
    return PELLET_OK;
}

pellet_status worksheet_read(const char *bytes, size_t n, struct worksheet *worksheet,
                             struct pellet_text *problems, struct pellet_error *error)
{
    struct worksheet made = {0};
    struct parsing parsing = {.worksheet = &made, .problems = problems, .line = 1};
    if (n > WORKSHEET_BYTES_MAX)
        return pellet_fail(error, PELLET_E_LIMIT, "the worksheet is larger than 4 MiB");
    if (n >= 3 && memcmp(bytes, "\xEF\xBB\xBF", 3) == 0) {
        bytes += 3;
        n -= 3;
    }
    clear_row(&parsing);
    pellet_status status = parse(bytes, n, &parsing, error);
    if (status == PELLET_OK && note_overruled(&made, problems) != PELLET_OK)
        status = pellet_fail(error, PELLET_E_MEMORY, "no memory for the worksheet");
    if (status == PELLET_OK)
        *worksheet = made;
    else
        worksheet_clear(&made);
    return status;
}

void worksheet_clear(struct worksheet *worksheet)
{
    pellet_arena_free(&worksheet->arena);
    free(worksheet->row);
    *worksheet = (struct worksheet){0};
}

const struct pellet_worksheet_row *worksheet_find(const struct worksheet *worksheet, const char *sample,
                                                  int pellet)
{
    const struct pellet_worksheet_row *any = NULL;
    for (size_t i = worksheet->n; i-- > 0;) {
        const struct pellet_worksheet_row *row = &worksheet->row[i];
        if (strcmp(row->sample, sample) != 0)
            continue;
        if (row->pellet == pellet)
            return row;
        if (row->pellet == 0 && !any)
            any = row;
    }
    return any;
}

/* NaN is a value of its own here: nothing was written. */
static bool numbers_differ(double a, double b)
{
    return a != b && !(isnan(a) && isnan(b));
}

bool worksheet_rows_differ(const struct pellet_worksheet_row *a, const struct pellet_worksheet_row *b)
{
    if (!a || !b)
        return a != b;
    return numbers_differ(a->sample_mg, b->sample_mg) || numbers_differ(a->kbr_mg, b->kbr_mg) ||
           numbers_differ(a->pressed_mg, b->pressed_mg) ||
           numbers_differ(a->powder_left_mg, b->powder_left_mg) || numbers_differ(a->die_mm, b->die_mm) ||
           numbers_differ(a->load_t, b->load_t);
}
