// SPDX-License-Identifier: GPL-3.0-or-later
#include "line.h"

#include "log.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define FILE_COLUMN 24

/* SGR: bold with green, cyan, yellow, red. */
static const char *const colours[PELLET_OUTCOME_COUNT] = {
    [PELLET_PASS] = "\033[1;32m",
    [PELLET_WAIT] = "\033[1;36m",
    [PELLET_RESCAN] = "\033[1;33m",
    [PELLET_REMAKE] = "\033[1;31m",
};

struct line_style line_style_for(int fd, bool json)
{
    const char *no_colour = getenv("NO_COLOR");
    const char *term = getenv("TERM");
    const bool terminal = isatty(fd);
    return (struct line_style){.aligned = terminal || log_is_journal(fd),
                               .colour = terminal && !(no_colour && *no_colour) && term &&
                                         strcmp(term, "dumb") != 0,
                               .json = json};
}

static void add_padding(struct pellet_text *out, size_t from, size_t width)
{
    for (size_t used = out->length - from; used < width; used++)
        pellet_text_addc(out, ' ');
}

static void add_visible(struct pellet_text *out, const char *text)
{
    if (text)
        pellet_text_add_visible(out, text, strlen(text));
}

static void add_columns(const struct pellet_verdict *verdict, const struct line_style *style,
                        struct pellet_text *out)
{
    const char *colour = style->colour ? colours[verdict->outcome] : NULL;
    const char *gap = style->aligned ? "  " : "\t";
    const bool instructs = verdict->instruction && *verdict->instruction;
    if (colour)
        pellet_text_adds(out, colour);
    size_t start = out->length;
    pellet_text_adds(out, pellet_outcome_id(verdict->outcome));
    if (style->aligned)
        add_padding(out, start, strlen("remake"));
    if (colour)
        pellet_text_adds(out, "\033[0m");
    pellet_text_adds(out, gap);
    start = out->length;
    add_visible(out, verdict->file);
    if (style->aligned)
        add_padding(out, start, FILE_COLUMN);
    pellet_text_adds(out, gap);
    add_visible(out, verdict->summary);
    if (instructs || !style->aligned)
        pellet_text_adds(out, style->aligned ? " \xE2\x80\x94 " : gap);
    if (instructs)
        add_visible(out, verdict->instruction);
}

pellet_status line_of_verdict(const struct pellet_verdict *verdict, const struct line_style *style,
                              struct pellet_text *out)
{
    if (style->json) {
        pellet_status status = pellet_verdict_json(verdict, out);
        if (status != PELLET_OK)
            return status;
    } else {
        add_columns(verdict, style, out);
    }
    pellet_text_addc(out, '\n');
    return pellet_text_status(out);
}
