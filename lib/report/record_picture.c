// SPDX-License-Identifier: GPL-3.0-or-later
/* The marked spectrum inside the record: drawn with the page's own style, what many have in common
 * only once. */
#include "pellet/wording_pages.h"
#include "report/drawing.h"
#include "report/markup.h"
#include "report/record.h"

#include <string.h>

/* ---------------------------------------------------------------- what drawings have in common */

/* The pieces around the plot, but for the wavenumbers, which a zoom draws anew. */
static void draw_frame(const struct report_drawing *drawing, struct pellet_text *out)
{
    report_draw_absorbances(drawing, out);
    report_draw_captions(drawing, out);
}

/*
 * How a piece is drawn, what it stands in at the head of the page (its number comes between), and what refers
 * to it. Axes are markers, which a browser draws where they are wanted: <use> would copy every node of theirs
 * for every drawing, which took a fifth of the time in which a long record opens. A blank is one node, and is
 * zoomed with its plot.
 */
static const struct kind {
    void (*draw)(const struct report_drawing *drawing, struct pellet_text *out);
    const char *open[2], *close;
    const char *refer[2];
} frame = {draw_frame,
           {"<marker id=\"d", "\" markerUnits=\"userSpaceOnUse\" overflow=\"visible\">"},
           "</marker>\n",
           {"<path d=\"M0 0h1\" marker-start=\"url(#d", ")\"/>"}},
  wavenumbers = {report_draw_wavenumbers,
                 {"<marker id=\"d", "\" markerUnits=\"userSpaceOnUse\" overflow=\"visible\">"},
                 "</marker>\n",
                 {"<path class=\"x\" d=\"M0 0h1\" marker-start=\"url(#d", ")\"/>"}},
  blank = {report_draw_blank, {"<g id=\"d", "\">"}, "</g>\n", {"<use href=\"#d", "\"/>"}};

/* Where a piece stands among those at the head of the page; their count where it does not. */
static size_t find_piece(const struct report_shared *shared, const struct pellet_text *piece)
{
    size_t i = 0;

    while (i < shared->count && strcmp(pellet_text_string(&shared->piece[i]), pellet_text_string(piece)) != 0)
        i++;
    return i;
}

static void add_between(const char *const *around, size_t number, struct pellet_text *out)
{
    pellet_text_addf(out, "%s%zu%s", around[0], number, around[1]);
}

/* Put a piece at the head of the page, if it is a new one and there is room. */
static void share(struct report_shared *shared, const struct kind *kind, const struct report_drawing *drawing,
                  struct pellet_text *out)
{
    struct pellet_text piece = {0};

    kind->draw(drawing, &piece);
    if (piece.length == 0 || shared->count == REPORT_SHARED_MAX ||
        find_piece(shared, &piece) < shared->count) {
        out->failed = out->failed || piece.failed;
        pellet_text_free(&piece);
        return;
    }
    add_between(kind->open, shared->count, out);
    pellet_text_adds(out, piece.data);
    pellet_text_adds(out, kind->close);
    shared->piece[shared->count++] = piece;
}

/* A reference to the piece; the piece itself where there was no room at the head of the page. */
static void refer(const struct report_shared *shared, const struct kind *kind,
                  const struct report_drawing *drawing, struct pellet_text *out)
{
    struct pellet_text piece = {0};

    kind->draw(drawing, &piece);
    const size_t number = find_piece(shared, &piece);
    if (piece.length > 0 && number < shared->count)
        add_between(kind->refer, number, out);
    else
        pellet_text_adds(out, pellet_text_string(&piece));
    out->failed = out->failed || piece.failed;
    pellet_text_free(&piece);
}

void report_add_shared(const struct report_record *record, struct pellet_text *out)
{
    pellet_text_adds(out, "<svg class=\"f shared\" width=\"0\" height=\"0\" aria-hidden=\"true\"><defs>\n");
    for (size_t i = 0; i < record->session.timed_count; i++) {
        const char *const svg = record->session.timed[i]->svg;
        struct report_drawing drawing;
        if (svg == NULL || !report_drawing_read(svg, &drawing))
            continue;
        share(record->shared, &frame, &drawing, out);
        share(record->shared, &wavenumbers, &drawing, out);
        share(record->shared, &blank, &drawing, out);
    }
    pellet_text_adds(out, "</defs></svg>\n");
}

void report_shared_clear(struct report_shared *shared)
{
    for (size_t i = 0; i < shared->count; i++)
        pellet_text_free(&shared->piece[i]);
    shared->count = 0;
}

/* ---------------------------------------------------------------- one drawing */

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

void report_add_picture(const struct report_record *record, const struct pellet_report_item *item,
                        struct pellet_text *out)
{
    struct report_drawing drawing;
    struct pellet_text behind = {0};

    if (item->svg == NULL || !report_drawing_read(item->svg, &drawing))
        return;
    report_drawing_mark(&drawing, item->verdict);
    pellet_text_addf(out, "<figure><svg class=\"f\" viewBox=\"0 0 %d %d\" role=\"img\" aria-label=\"",
                     REPORT_DRAWING_WIDTH, REPORT_DRAWING_FOOT);
    report_html(out, SAYS_PICTURE_ALT "\">", item->verdict->file, item->verdict->summary);
    refer(record->shared, &frame, &drawing, out);
    refer(record->shared, &wavenumbers, &drawing, out);
    refer(record->shared, &blank, &drawing, &behind);
    report_draw_plot(&drawing, pellet_text_string(&behind), out);
    out->failed = out->failed || behind.failed;
    pellet_text_free(&behind);
    report_draw_numbers(&drawing, out);
    pellet_text_adds(out, "</svg>");
    add_marks(&drawing, out);
    pellet_text_adds(out, "</figure>\n");
}
