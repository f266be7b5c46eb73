// SPDX-License-Identifier: GPL-3.0-or-later
/* The marked spectrum inside the record: drawn with the page's own style, what many have in common only once.
 */
#include "report/drawing.h"
#include "report/markup.h"
#include "report/record.h"
#include "report/wording.h"

#include <string.h>

/* A piece of the drawing, or a reference to it where it stands in the page already. */
static void add_shared(struct report_shared *shared, const char *piece, struct pellet_text *out)
{
    for (size_t i = 0; i < shared->count; i++) {
        if (strcmp(pellet_text_string(&shared->piece[i]), piece) == 0) {
            pellet_text_addf(out, "<use href=\"#d%zu\"/>", i);
            return;
        }
    }
    if (shared->count == REPORT_SHARED_MAX) {
        pellet_text_adds(out, piece);
        return;
    }
    pellet_text_addf(out, "<g id=\"d%zu\">%s</g>", shared->count, piece);
    pellet_text_adds(&shared->piece[shared->count++], piece);
}

void report_shared_clear(struct report_shared *shared)
{
    for (size_t i = 0; i < shared->count; i++)
        pellet_text_free(&shared->piece[i]);
    shared->count = 0;
}

static void add_marks(const struct report_drawing *drawing, struct pellet_text *out)
{
    if (drawing->mark_count == 0)
        return;
    pellet_text_adds(out, "<ol class=\"marks\">");
    for (size_t i = 0; i < drawing->mark_count; i++) {
        const struct pellet_finding *f = drawing->mark[i].finding;
        report_html(out, "<li>{} ({}): {}</li>", report_bench_word(f->check), report_outcome_word(f->outcome),
                    f->says);
    }
    pellet_text_adds(out, "</ol>");
}

/* The pieces around the plot; the wavenumbers are a group of their own, which a zoom hides. */
static void add_axes(struct report_shared *shared, const struct report_drawing *drawing,
                     struct pellet_text *out)
{
    struct pellet_text piece = {0};

    report_draw_absorbances(drawing, &piece);
    report_draw_captions(drawing, &piece);
    add_shared(shared, pellet_text_string(&piece), out);
    out->failed = out->failed || piece.failed;
    pellet_text_clear(&piece);
    report_draw_wavenumbers(drawing, &piece);
    pellet_text_adds(out, "<g class=\"x\">");
    add_shared(shared, pellet_text_string(&piece), out);
    pellet_text_adds(out, "</g>");
    out->failed = out->failed || piece.failed;
    pellet_text_free(&piece);
}

/* The plot with the blank behind it. */
static void add_plot(struct report_shared *shared, const struct report_drawing *drawing,
                     struct pellet_text *out)
{
    struct pellet_text blank = {0}, behind = {0};

    report_draw_blank(drawing, &blank);
    if (blank.length > 0)
        add_shared(shared, blank.data, &behind);
    report_draw_plot(drawing, pellet_text_string(&behind), out);
    out->failed = out->failed || blank.failed || behind.failed;
    pellet_text_free(&blank);
    pellet_text_free(&behind);
}

void report_add_picture(const struct report_record *record, const struct pellet_report_item *item,
                        struct pellet_text *out)
{
    struct report_drawing drawing;

    if (item->svg == NULL || !report_drawing_read(item->svg, &drawing))
        return;
    report_drawing_mark(&drawing, item->verdict);
    pellet_text_addf(out, "<figure><svg class=\"f\" viewBox=\"0 0 %d %d\" role=\"img\" aria-label=\"",
                     REPORT_DRAWING_WIDTH, REPORT_DRAWING_FOOT);
    report_html(out, SAYS_PICTURE_ALT "\">", item->verdict->file, item->verdict->summary);
    add_axes(record->shared, &drawing, out);
    add_plot(record->shared, &drawing, out);
    report_draw_numbers(&drawing, out);
    pellet_text_adds(out, "</svg>");
    add_marks(&drawing, out);
    pellet_text_adds(out, "</figure>\n");
}
