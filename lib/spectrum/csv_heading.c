// SPDX-License-Identifier: GPL-3.0-or-later
/* Headings of CSV files. */
#include "spectrum/csv_heading.h"

#include <stdio.h>
#include <string.h>
#include <strings.h>

/* Leave out what may mark a comment, but not a quote or a delimiter: with it the first name begins, or is
 * empty. */
static void skip_to_names(const char **line, size_t *n, char delimiter)
{
    while (*n > 0 && strchr("#%!; \t", **line) && (**line != delimiter || delimiter == ' ')) {
        (*line)++;
        (*n)--;
    }
}

pellet_status pellet_heading_line(struct pellet_heading *heading, struct pellet_draft *draft,
                                  const char *line, size_t n, char delimiter, struct pellet_error *error)
{
    skip_to_names(&line, &n, delimiter);
    if (n == 0)
        return PELLET_OK;
    heading->line[1] = heading->line[0];
    heading->n[1] = heading->n[0];
    heading->line[0] = line;
    heading->n[0] = n;

    return pellet_draft_fact_line(draft, line, n, PELLET_FACT_COUNT, error);
}

/* ---------------------------------------------------------------- columns */

/* The names of the columns, upper heading line first; a line counts if it has as many cells as the table. */
struct names {
    struct pellet_row row[2];
    bool valid[2];
    size_t count;
};

/* Columns set apart by blanks have names with single blanks in them: two or more part the names. */
static pellet_status read_wide(struct pellet_row *row, const char *line, size_t n)
{
    struct pellet_text text = {0};
    for (size_t i = 0; i < n; i++) {
        const bool apart = line[i] == '\t' || (line[i] == ' ' && i + 1 < n && line[i + 1] == ' ');
        pellet_text_addc(&text, apart ? '\t' : line[i]);
        while (apart && i + 1 < n && (line[i + 1] == ' ' || line[i + 1] == '\t'))
            i++;
    }
    csv_set_delim(&row->parser, '\t');
    row->dialect.delimiter = '\t';
    const pellet_status status =
        text.failed ? PELLET_E_MEMORY : pellet_row_read(row, pellet_text_string(&text), text.length);
    pellet_text_free(&text);
    return status;
}

/* Whether a line has a name for each column; the names are in the row then. */
static pellet_status read_names(struct pellet_row *row, const char *line, size_t n, size_t count, bool *valid)
{
    pellet_status status = pellet_row_read(row, line, n);
    if (status == PELLET_OK && row->cells != count && row->dialect.delimiter == ' ')
        status = read_wide(row, line, n);
    *valid = row->cells == count && row->kind == PELLET_ROW_TEXT;
    return status;
}

static pellet_status names_read(struct names *names, const struct pellet_heading *heading,
                                struct pellet_dialect dialect)
{
    for (size_t i = 0; i < 2; i++) {
        struct pellet_row *row = &names->row[i];
        const size_t from = 1 - i;
        pellet_status status = pellet_row_init(row, dialect);
        row->keep_text = true;
        if (status == PELLET_OK && heading->line[from])
            status = read_names(row, heading->line[from], heading->n[from], names->count, &names->valid[i]);
        if (status != PELLET_OK)
            return status;
    }
    return PELLET_OK;
}

static const char *names_at(const struct names *names, size_t line, size_t column)
{
    return names->valid[line] ? pellet_row_text(&names->row[line], column) : "";
}

/* The name of a column for people and for the station's `column`. */
static const char *names_of(const struct names *names, size_t column, char spare[32])
{
    for (size_t line = 0; line < 2; line++)
        if (*names_at(names, line, column))
            return names_at(names, line, column);
    snprintf(spare, 32, "column %zu", column + 1);
    return spare;
}

static enum pellet_abscissa names_abscissa(const struct names *names, size_t column)
{
    enum pellet_abscissa found = PELLET_ABSCISSA_UNKNOWN;
    for (size_t line = 0; line < 2; line++) {
        const char *name = names_at(names, line, column);
        const enum pellet_abscissa says = pellet_abscissa_word(name, strlen(name));
        if (found == PELLET_ABSCISSA_UNKNOWN ||
            (found == PELLET_ABSCISSA_WAVELENGTH && says != PELLET_ABSCISSA_UNKNOWN))
            found = says;
    }
    return found;
}

static enum pellet_ordinate names_ordinate(const struct names *names, size_t column, enum pellet_scale *scale)
{
    enum pellet_ordinate found = PELLET_ORDINATE_UNKNOWN;
    *scale = PELLET_SCALE_UNKNOWN;
    for (size_t line = 0; line < 2 && found == PELLET_ORDINATE_UNKNOWN; line++) {
        const char *name = names_at(names, line, column);
        found = pellet_ordinate_word(name, strlen(name), scale);
    }
    if (names->valid[1] && strchr(names_at(names, 1, column), '%') && found == PELLET_ORDINATE_TRANSMITTANCE)
        *scale = PELLET_SCALE_PERCENT; /* the unit stands below the quantity */
    return found;
}

static size_t find_abscissa(const struct names *names)
{
    for (size_t i = 0; i < names->count; i++)
        if (names_abscissa(names, i) != PELLET_ABSCISSA_UNKNOWN)
            return i;
    return 0;
}

/* Several ordinates, and none of them is the one wanted, or two have its name. */
static pellet_status refuse_columns(const struct names *names, size_t x, struct pellet_dialect dialect,
                                    struct pellet_error *error)
{
    char list[256] = "", spare[32];
    size_t length = 0;
    for (size_t i = 0; i < names->count && length < sizeof list - 1; i++) {
        if (i == x)
            continue;
        const int n = snprintf(list + length, sizeof list - length, "%s'%.40s'", length ? ", " : "",
                               names_of(names, i, spare));
        length += n > 0 ? (size_t)n : 0;
    }
    const bool commas = dialect.delimiter == ',' && !names->valid[0] && !names->valid[1];
    return pellet_fail(error, PELLET_E_FORMAT,
                       "%zu ordinate columns (%s): name the one wanted as the station's 'column'%s",
                       names->count - 1, list,
                       commas ? ", or, if commas are decimal marks here, export with another delimiter" : "");
}

static pellet_status choose(const struct names *names, const char *wanted, struct pellet_dialect dialect,
                            struct pellet_columns *columns, struct pellet_error *error)
{
    char spare[32];
    struct pellet_columns out = {.x = find_abscissa(names)};
    if (names->count == 2) {
        out.y = 1 - out.x;
        *columns = out;
        return PELLET_OK;
    }
    size_t found = 0;
    for (size_t i = 0; wanted && i < names->count; i++) {
        if (i == out.x || strcasecmp(names_of(names, i, spare), wanted) != 0)
            continue;
        out.y = i;
        found++;
    }
    if (found == 1) {
        *columns = out;
        return PELLET_OK;
    }
    return refuse_columns(names, out.x, dialect, error);
}

/* What the heading says comes first, then a line such as "YUNITS: absorbance". */
static pellet_status describe(const struct names *names, struct pellet_columns columns,
                              struct pellet_draft *draft, struct pellet_error *error)
{
    char spare[32];
    const char *fact = draft->fact[PELLET_FACT_XUNITS];
    draft->abscissa = names_abscissa(names, columns.x);
    if (draft->abscissa == PELLET_ABSCISSA_UNKNOWN && fact)
        draft->abscissa = pellet_abscissa_word(fact, strlen(fact));
    draft->ordinate = names_ordinate(names, columns.y, &draft->scale);
    fact = draft->fact[PELLET_FACT_YUNITS];
    if (draft->ordinate == PELLET_ORDINATE_UNKNOWN && fact)
        draft->ordinate = pellet_ordinate_word(fact, strlen(fact), &draft->scale);
    const char *name = names_of(names, columns.x, spare);
    return pellet_draft_fact(draft, PELLET_FACT_XUNITS, name, strlen(name), error);
}

pellet_status pellet_heading_columns(const struct pellet_heading *heading, struct pellet_dialect dialect,
                                     size_t count, const char *wanted, struct pellet_draft *draft,
                                     struct pellet_columns *columns, struct pellet_error *error)
{
    struct names *names = calloc(1, sizeof *names);
    if (!names)
        return pellet_fail(error, PELLET_E_MEMORY, "no memory for the heading");
    names->count = count;
    struct pellet_columns out;
    pellet_status status = names_read(names, heading, dialect);
    if (status != PELLET_OK)
        pellet_fail(error, status, "no memory for the heading");
    else
        status = choose(names, wanted, dialect, &out, error);
    if (status == PELLET_OK)
        status = describe(names, out, draft, error);
    if (status == PELLET_OK)
        *columns = out;
    pellet_row_clear(&names->row[0]);
    pellet_row_clear(&names->row[1]);
    free(names);
    return status;
}
