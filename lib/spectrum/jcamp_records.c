// SPDX-License-Identifier: GPL-3.0-or-later
/* The labelled data records of JCAMP-DX. */
#include "spectrum/jcamp.h"

#include "spectrum/lines.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

#define RECORDS_MAX ((size_t)65536) /* so that a file of empty labels cannot take up memory */

size_t pellet_jcamp_uncommented(const char *line, size_t n)
{
    for (const char *at = line; (at = memchr(at, '$', n - (size_t)(at - line))) != NULL; at++) {
        if ((size_t)(at - line) + 1 == n)
            break;
        if (at[1] == '$')
            return (size_t)(at - line);
    }
    return n;
}

static size_t skip_blanks(const char *line, size_t n)
{
    size_t i = 0;
    while (i < n && (line[i] == ' ' || line[i] == '\t'))
        i++;
    return i;
}

static void normalise(const char *name, size_t n, char label[PELLET_JCAMP_LABEL_MAX])
{
    size_t length = 0;
    for (size_t i = 0; i < n && length < PELLET_JCAMP_LABEL_MAX - 1; i++)
        if (!strchr(" \t-/_", name[i]))
            label[length++] = (char)toupper((unsigned char)name[i]);
    label[length] = 0;
}

static pellet_status add_record(struct pellet_records *records, size_t *capacity, struct pellet_record record,
                                struct pellet_error *error)
{
    if (records->n == RECORDS_MAX)
        return pellet_fail_at(error, PELLET_E_LIMIT, record.line, 0,
                              "more than %zu labels; is this a spectrum?", RECORDS_MAX);
    if (records->n == *capacity) {
        const size_t more = *capacity ? 2 * *capacity : 64;
        struct pellet_record *grown = realloc(records->item, more * sizeof *grown);
        if (!grown)
            return pellet_fail(error, PELLET_E_MEMORY, "no memory for %zu labels", more);
        records->item = grown;
        *capacity = more;
    }
    records->item[records->n++] = record;
    return PELLET_OK;
}

/* Begin a record at a line whose "##" is at `start`. */
static pellet_status begin_record(const struct pellet_lines *lines, size_t start,
                                  struct pellet_record *record, struct pellet_error *error)
{
    const char *name = lines->line + start + 2;
    const char *equals = memchr(name, '=', lines->n - start - 2);
    if (!equals)
        return pellet_fail_at(error, PELLET_E_FORMAT, lines->number, start + 1,
                              "a label without '='; the file is damaged: export it again");
    *record = (struct pellet_record){
        .name = name, .name_n = (size_t)(equals - name), .value = equals + 1, .line = lines->number};
    normalise(name, record->name_n, record->label);
    record->n = (size_t)(lines->line + lines->n - record->value);
    return PELLET_OK;
}

static pellet_status take_line(const struct pellet_lines *lines, struct pellet_records *records,
                               size_t *capacity, struct pellet_error *error)
{
    const size_t start = skip_blanks(lines->line, lines->n);
    if (lines->n - start >= 2 && memcmp(lines->line + start, "##", 2) == 0) {
        struct pellet_record record;
        const pellet_status status = begin_record(lines, start, &record, error);
        return status == PELLET_OK ? add_record(records, capacity, record, error) : status;
    }
    if (records->n > 0) {
        struct pellet_record *last = &records->item[records->n - 1];
        last->n = (size_t)(lines->line + lines->n - last->value);
        return PELLET_OK;
    }
    if (pellet_jcamp_uncommented(lines->line + start, lines->n - start) == 0)
        return PELLET_OK;
    return pellet_fail_at(error, PELLET_E_FORMAT, lines->number, 1,
                          "JCAMP-DX begins with ##TITLE=, this does not");
}

pellet_status pellet_records_read(const char *text, size_t n, size_t line_max, struct pellet_records *records,
                                  struct pellet_error *error)
{
    struct pellet_records out = {0};
    struct pellet_lines lines;
    size_t capacity = 0;
    pellet_status status = PELLET_OK;
    pellet_lines_begin(&lines, text, n);
    while (status == PELLET_OK && pellet_lines_next(&lines)) {
        if (lines.n > line_max)
            status = pellet_fail_at(error, PELLET_E_LIMIT, lines.number, 0,
                                    "a line of %zu bytes, at most %zu are allowed; is this a spectrum?",
                                    lines.n, line_max);
        else
            status = take_line(&lines, &out, &capacity, error);
    }
    if (status == PELLET_OK && out.n == 0)
        status = pellet_fail_at(error, PELLET_E_SHORT, lines.number, 0,
                                "there is no label in the file; export the spectrum again");
    if (status != PELLET_OK) {
        pellet_records_clear(&out);
        return status;
    }
    *records = out;
    return PELLET_OK;
}

void pellet_records_clear(struct pellet_records *records)
{
    free(records->item);
    *records = (struct pellet_records){0};
}

void pellet_record_text(const struct pellet_record *record, char out[PELLET_JCAMP_TEXT_MAX])
{
    struct pellet_lines lines;
    size_t length = 0;
    pellet_lines_begin(&lines, record->value, record->n);
    while (pellet_lines_next(&lines) && length + 1 < PELLET_JCAMP_TEXT_MAX) {
        const size_t start = skip_blanks(lines.line, lines.n);
        size_t n = pellet_jcamp_uncommented(lines.line + start, lines.n - start);
        while (n > 0 && isspace((unsigned char)lines.line[start + n - 1]))
            n--;
        if (n == 0)
            continue;
        if (length > 0)
            out[length++] = ' ';
        if (n > PELLET_JCAMP_TEXT_MAX - 1 - length)
            n = PELLET_JCAMP_TEXT_MAX - 1 - length;
        memcpy(out + length, lines.line + start, n);
        length += n;
    }
    out[length] = 0;
}
