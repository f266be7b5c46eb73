// SPDX-License-Identifier: GPL-3.0-or-later
/* Collecting what a reader finds. */
#include "spectrum/draft.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FACT_MAX     ((size_t)256) /* longer texts are cut: they are for people to read */
#define WARNINGS_MAX ((size_t)4096)

struct pellet_read_options pellet_read_options_filled(const struct pellet_read_options *options)
{
    struct pellet_read_options filled = options ? *options : (struct pellet_read_options){0};
    if (filled.bytes_max == 0)
        filled.bytes_max = PELLET_READ_BYTES_MAX;
    if (filled.points_max == 0)
        filled.points_max = PELLET_READ_POINTS_MAX;
    if (filled.line_max == 0)
        filled.line_max = PELLET_READ_LINE_MAX;
    return filled;
}

void pellet_draft_clear(struct pellet_draft *draft)
{
    free(draft->x);
    free(draft->y);
    for (size_t i = 0; i < PELLET_FACT_COUNT; i++)
        free(draft->fact[i]);
    pellet_text_free(&draft->warning);
    *draft = (struct pellet_draft){0};
}

static pellet_status grow(struct pellet_draft *draft, struct pellet_error *error)
{
    const size_t capacity = draft->capacity ? 2 * draft->capacity : 1024;
    double *x = realloc(draft->x, capacity * sizeof *x);
    if (x)
        draft->x = x;
    double *y = realloc(draft->y, capacity * sizeof *y);
    if (y)
        draft->y = y;
    if (!x || !y)
        return pellet_fail(error, PELLET_E_MEMORY, "no memory for %zu points", capacity);
    draft->capacity = capacity;
    return PELLET_OK;
}

pellet_status pellet_draft_add(struct pellet_draft *draft, double x, double y, size_t points_max,
                               struct pellet_error *error)
{
    if (draft->n == points_max)
        return pellet_fail(error, PELLET_E_LIMIT, "more than the %zu points allowed", points_max);
    if (draft->n == draft->capacity) {
        const pellet_status status = grow(draft, error);
        if (status != PELLET_OK)
            return status;
    }
    draft->x[draft->n] = x;
    draft->y[draft->n++] = y;
    return PELLET_OK;
}

static bool is_trim(char c)
{
    return c == ' ' || c == '\t' || c == '"' || c == '\r' || c == '\n';
}

/* The end of a text of at most FACT_MAX bytes that does not cut a UTF-8 character in two. */
static size_t cut(const char *bytes, size_t n)
{
    if (n <= FACT_MAX)
        return n;
    n = FACT_MAX;
    while (n > 0 && ((unsigned char)bytes[n] & 0xC0) == 0x80)
        n--;
    return n;
}

pellet_status pellet_draft_fact(struct pellet_draft *draft, enum pellet_fact fact, const char *bytes,
                                size_t n, struct pellet_error *error)
{
    while (n > 0 && is_trim(bytes[0])) {
        bytes++;
        n--;
    }
    n = cut(bytes, n);
    while (n > 0 && is_trim(bytes[n - 1]))
        n--;
    if (n == 0 || draft->fact[fact])
        return PELLET_OK;
    draft->fact[fact] = strndup(bytes, n);
    return draft->fact[fact] ? PELLET_OK : pellet_fail(error, PELLET_E_MEMORY, "no memory for a label");
}

void pellet_draft_warn(struct pellet_draft *draft, const char *format, ...)
{
    char line[512];
    va_list arguments;
    if (draft->warning.length > WARNINGS_MAX)
        return;
    va_start(arguments, format);
    vsnprintf(line, sizeof line, format, arguments);
    va_end(arguments);
    if (draft->warning.length > 0)
        pellet_text_addc(&draft->warning, '\n');
    pellet_text_adds(&draft->warning, line);
}
