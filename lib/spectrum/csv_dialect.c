// SPDX-License-Identifier: GPL-3.0-or-later
/* Which delimiter and which decimal mark a file uses, told from the lines that become numbers. */
#include "spectrum/csv_row.h"

#include "spectrum/lines.h"

#define ALL_BELOW   ((size_t)1 << 16) /* shorter texts are tried whole */
#define SEGMENTS    ((size_t)512)     /* of a longer one, each gives a few lines */
#define PER_SEGMENT 4

static const struct pellet_dialect dialects[] = {
    {'\t', '.'}, {'\t', ','}, {';', '.'}, {';', ','}, {',', '.'}, {' ', '.'}, {' ', ','}, {',', ','},
};

#define DIALECT_COUNT (sizeof dialects / sizeof *dialects)

struct trial {
    struct pellet_row row[DIALECT_COUNT];
    size_t score[DIALECT_COUNT];
    size_t line_max;
};

static pellet_status try_line(struct trial *trial, const char *line, size_t n)
{
    if (n > trial->line_max || !pellet_row_may_be_number(line, n))
        return PELLET_OK;
    for (size_t i = 0; i < DIALECT_COUNT; i++) {
        const pellet_status status = pellet_row_read(&trial->row[i], line, n);
        if (status != PELLET_OK)
            return status;
        trial->score[i] += trial->row[i].kind == PELLET_ROW_TABLE;
    }
    return PELLET_OK;
}

/* Try at most `most` whole lines of a text; the first is left out where it may have begun before the text. */
static pellet_status try_lines(struct trial *trial, const char *text, size_t n, bool from_middle, size_t most)
{
    struct pellet_lines lines;
    pellet_status status = PELLET_OK;
    pellet_lines_begin(&lines, text, n);
    if (from_middle)
        pellet_lines_next(&lines);
    for (size_t i = 0; i < most && status == PELLET_OK && pellet_lines_next(&lines); i++)
        if (lines.ended || !from_middle)
            status = try_line(trial, lines.line, lines.n);
    return status;
}

static size_t best(const struct trial *trial)
{
    size_t found = 0;
    for (size_t i = 1; i < DIALECT_COUNT; i++)
        if (trial->score[i] > trial->score[found])
            found = i;
    return found;
}

static pellet_status try_sample(struct trial *trial, const char *text, size_t n)
{
    const size_t step = n / SEGMENTS;
    pellet_status status = PELLET_OK;
    for (size_t i = 0; n > ALL_BELOW && i < SEGMENTS && status == PELLET_OK; i++)
        status = try_lines(trial, text + i * step, step, true, PER_SEGMENT);
    if (status == PELLET_OK && trial->score[best(trial)] == 0)
        status = try_lines(trial, text, n, false, SIZE_MAX);
    return status;
}

pellet_status pellet_csv_dialect(const char *text, size_t n, size_t line_max, struct pellet_dialect *dialect)
{
    struct trial *trial = calloc(1, sizeof *trial);
    pellet_status status = trial ? PELLET_OK : PELLET_E_MEMORY;
    if (!trial)
        return status;
    trial->line_max = line_max;
    for (size_t i = 0; i < DIALECT_COUNT && status == PELLET_OK; i++)
        status = pellet_row_init(&trial->row[i], dialects[i]);
    if (status == PELLET_OK)
        status = try_sample(trial, text, n);
    const size_t found = best(trial);
    if (status == PELLET_OK && trial->score[found] == 0)
        status = PELLET_E_FORMAT;
    if (status == PELLET_OK)
        *dialect = dialects[found];
    for (size_t i = 0; i < DIALECT_COUNT; i++)
        pellet_row_clear(&trial->row[i]);
    free(trial);
    return status;
}
