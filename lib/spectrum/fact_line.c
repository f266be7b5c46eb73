// SPDX-License-Identifier: GPL-3.0-or-later
/* Facts that stand as "key: value" in a line of text. */
#include "spectrum/draft.h"

/* Marks that some writers put before lines that are not data. */
static bool is_comment_mark(char c)
{
    return c == '#' || c == '%' || c == '!' || c == ';' || c == ' ' || c == '\t' || c == '"';
}

static void skip_marks(const char **line, size_t *n)
{
    while (*n > 0 && is_comment_mark(**line)) {
        (*line)++;
        (*n)--;
    }
}

/* Metadata may be parted by another mark than the table below it. */
static bool is_separator(char c)
{
    return c == ':' || c == '=' || c == '\t' || c == ';' || c == ',';
}

static size_t key_end(const char *line, size_t n)
{
    size_t i = 0;
    while (i < n && !is_separator(line[i]))
        i++;
    return i;
}

pellet_status pellet_draft_fact_line(struct pellet_draft *draft, const char *line, size_t n, int below,
                                     struct pellet_error *error)
{
    skip_marks(&line, &n);
    const size_t end = key_end(line, n);
    const enum pellet_fact fact = end < n ? pellet_fact_word(line, end) : PELLET_FACT_COUNT;
    if ((int)fact >= below || fact == PELLET_FACT_COUNT)
        return PELLET_OK;
    const char *value = line + end;
    size_t left = n - end;
    while (left > 0 && (is_separator(value[0]) || is_comment_mark(value[0]))) {
        value++;
        left--;
    }
    while (left > 0 && (value[left - 1] == ',' || value[left - 1] == ';'))
        left--;
    return pellet_draft_fact(draft, fact, value, left, error);
}
