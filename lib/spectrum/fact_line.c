// SPDX-License-Identifier: GPL-3.0-or-later
/* Facts that stand as "key: value" in a line of text. */
#include "spectrum/draft.h"

/* Marks that some writers put before lines that are not data. */
static bool is_comment_mark(char c)
{
    return c == '#' || c == '%' || c == '!' || c == ';' || c == ' ' || c == '\t' || c == '"';
}

void pellet_skip_marks(const char **line, size_t *n)
{
    while (*n > 0 && is_comment_mark(**line)) {
        (*line)++;
        (*n)--;
    }
}

/* Where the key of "key: value" ends; n where the line has no such form. */
static size_t key_end(const char *line, size_t n, char delimiter)
{
    for (size_t i = 0; i < n; i++)
        if (line[i] == ':' || line[i] == '=' || line[i] == '\t' || (line[i] == delimiter && delimiter != ' '))
            return i;
    return n;
}

pellet_status pellet_draft_fact_line(struct pellet_draft *draft, const char *line, size_t n, char delimiter,
                                     int below, struct pellet_error *error)
{
    pellet_skip_marks(&line, &n);
    const size_t end = key_end(line, n, delimiter);
    const enum pellet_fact fact = end < n ? pellet_fact_word(line, end) : PELLET_FACT_COUNT;
    if ((int)fact >= below || fact == PELLET_FACT_COUNT)
        return PELLET_OK;
    const char *value = line + end + 1;
    size_t left = n - end - 1;
    while (left > 0 &&
           (value[0] == ':' || value[0] == '=' || value[0] == delimiter || is_comment_mark(value[0]))) {
        value++;
        left--;
    }
    while (left > 0 && (value[left - 1] == delimiter || value[left - 1] == ',' || value[left - 1] == ';'))
        left--;
    return pellet_draft_fact(draft, fact, value, left, error);
}
