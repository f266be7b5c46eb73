// SPDX-License-Identifier: GPL-3.0-or-later
/* Lines, whatever they end in. */
#include "spectrum/lines.h"

#include <string.h>

static const char *find(const char *from, const char *end, char c)
{
    const char *at = from < end ? memchr(from, c, (size_t)(end - from)) : NULL;
    return at ? at : end;
}

void pellet_lines_begin(struct pellet_lines *lines, const char *bytes, size_t n)
{
    *lines = (struct pellet_lines){.next = bytes, .end = bytes + n};
    lines->next_lf = find(bytes, lines->end, '\n');
    lines->next_cr = find(bytes, lines->end, '\r');
}

bool pellet_lines_next(struct pellet_lines *lines)
{
    if (lines->next == lines->end)
        return false;
    if (lines->next_lf < lines->next)
        lines->next_lf = find(lines->next, lines->end, '\n');
    if (lines->next_cr < lines->next)
        lines->next_cr = find(lines->next, lines->end, '\r');

    const char *stop = lines->next_lf < lines->next_cr ? lines->next_lf : lines->next_cr;
    lines->line = lines->next;
    lines->n = (size_t)(stop - lines->next);
    lines->number++;
    lines->ended = stop < lines->end;
    lines->next = stop;
    if (lines->ended) {
        const bool pair = *stop == '\r' && stop + 1 < lines->end && stop[1] == '\n';
        lines->next += pair ? 2 : 1;
    }
    return true;
}
