// SPDX-License-Identifier: GPL-3.0-or-later
/* The marked spectrum: one stand-alone SVG, small however many points the spectrum has. */
#include "pellet/report.h"
#include "pellet/wording_pages.h"

#include "report/assets.h"
#include "report/drawing.h"
#include "report/markup.h"

#include <math.h>
#include <string.h>

#define LEGEND_LINE  17
#define LEGEND_CHARS 112 /* of a legend line, at 12 units a letter */
#define LEGEND_DOT   8

/* The blank's greatest energy reaches this share of the plot's height. */
#define BLANK_SHARE 0.9

/* A sentence broken at blanks into lines of at most LEGEND_CHARS bytes; the number of lines it took. */
static int add_wrapped(const char *sentence, int x, int y, struct pellet_text *svg)
{
    int lines = 0;

    while (*sentence != '\0') {
        size_t n = strlen(sentence);
        if (n > LEGEND_CHARS) {
            for (n = LEGEND_CHARS; n > 0 && sentence[n] != ' '; n--)
                ;
            if (n == 0)
                n = strcspn(sentence, " ");
        }
        pellet_text_addf(svg, "<text class=\"fw\" x=\"%d\" y=\"%d\">", x, y + LEGEND_LINE * lines++);
        pellet_text_add_html(svg, sentence, n);
        pellet_text_adds(svg, "</text>\n");
        sentence += n;
        sentence += strspn(sentence, " ");
    }
    return lines;
}

/* What a mark means, in a line or more under the picture. Returns how many lines. */
static int add_legend(const struct pellet_finding *finding, size_t number, int y, struct pellet_text *svg)
{
    struct pellet_text sentence = {0};

    pellet_text_addf(&sentence, "%s (%s): %s", report_bench_word(finding->check),
                     report_outcome_word(finding->outcome), finding->says != NULL ? finding->says : "");
    pellet_text_addf(svg,
                     "<g class=\"fk\" transform=\"translate(%d %d)\"><circle r=\"%d\"/><text "
                     "dy=\".35em\">%zu</text></g>\n",
                     REPORT_PLOT_X - 18, y - 4, LEGEND_DOT, number);
    const int lines = add_wrapped(pellet_text_string(&sentence), REPORT_PLOT_X, y, svg);
    svg->failed = svg->failed || sentence.failed;
    pellet_text_free(&sentence);
    return lines;
}

/* What a screen reader says: the name, the verdict, what is drawn, each mark. */
static void add_description(const struct pellet_spectrum *ratio, const struct pellet_verdict *verdict,
                            const struct report_drawing *drawing, struct pellet_text *svg)
{
    double least, most;

    report_extent(ratio, &least, &most);
    report_html(svg, "<title id=\"t\">{}: {}</title>\n<desc id=\"d\">", verdict->file,
                report_outcome_word(verdict->outcome));
    pellet_text_addf(svg, SAYS_PICTURE_RANGE, drawing->axes.left, drawing->axes.right, least, most);
    if (drawing->mark_count == 0)
        pellet_text_addf(svg, " %s", SAYS_PICTURE_CLEAN);
    for (size_t i = 0; i < drawing->mark_count; i++) {
        const struct pellet_finding *finding = drawing->mark[i].finding;
        report_html(svg, " {}: {}, {}.", report_count(i + 1).text, report_bench_word(finding->check),
                    finding->says);
    }
    pellet_text_adds(svg, "</desc>\n");
}

/* The blank on the wavenumbers of the ratio and on a scale of its own, from no light at the bottom. */
static void draw_blank(const struct pellet_spectrum *blank, const struct report_axes *axes,
                       struct pellet_text *d)
{
    struct report_axes own = *axes;
    double least;

    report_extent(blank, &least, &own.high);
    own.low = 0.0;
    own.high /= BLANK_SHARE;
    if (isfinite(own.high) && own.high > 0.0)
        report_curve(blank, &own, d);
}

static void add_document(const struct pellet_spectrum *ratio, const struct pellet_verdict *verdict,
                         const struct report_drawing *drawing, struct pellet_text *svg)
{
    struct pellet_text legend = {0}, blank = {0};
    int y = REPORT_DRAWING_FOOT + 20;

    /* The legend comes first because the height follows from it. */
    for (size_t i = 0; i < drawing->mark_count; i++)
        y += LEGEND_LINE * add_legend(drawing->mark[i].finding, i + 1, y, &legend);
    pellet_text_addf(svg,
                     "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"f\" viewBox=\"0 0 %d %d\" "
                     "width=\"%d\" height=\"%d\" role=\"img\" aria-labelledby=\"t d\">\n",
                     REPORT_DRAWING_WIDTH, y - 8, REPORT_DRAWING_WIDTH, y - 8);
    add_description(ratio, verdict, drawing, svg);
    pellet_text_addf(svg, "<style>%s%s</style>\n", report_picture_css, report_drawing_css);
    report_draw_absorbances(drawing, svg);
    report_draw_wavenumbers(drawing, svg);
    report_draw_captions(drawing, svg);
    pellet_text_addf(svg, "\n<text class=\"fw fe\" x=\"%d\" y=\"12\">", REPORT_PLOT_X + REPORT_PLOT_WIDTH);
    report_html(svg, "{}: {}</text>\n", verdict->file, report_outcome_word(verdict->outcome));
    report_draw_blank(drawing, &blank);
    report_draw_plot(drawing, pellet_text_string(&blank), svg);
    report_draw_numbers(drawing, svg);
    pellet_text_addf(svg, "\n%s</svg>\n", pellet_text_string(&legend));
    svg->failed = svg->failed || legend.failed || blank.failed;
    pellet_text_free(&legend);
    pellet_text_free(&blank);
}

pellet_status pellet_report_picture(const struct pellet_spectrum *ratio, const struct pellet_spectrum *blank,
                                    const struct pellet_verdict *verdict, struct pellet_text *svg)
{
    struct report_drawing drawing = {0};
    struct pellet_text curve = {0}, behind = {0};

    if (report_axes_fit(ratio, &drawing.axes) != PELLET_OK)
        return PELLET_E_SHORT;
    report_curve(ratio, &drawing.axes, &curve);
    if (blank != NULL)
        draw_blank(blank, &drawing.axes, &behind);
    drawing.curve = pellet_text_string(&curve);
    drawing.curve_length = curve.length;
    drawing.blank = behind.length > 0 ? behind.data : NULL;
    drawing.blank_length = behind.length;
    report_drawing_mark(&drawing, verdict);
    add_document(ratio, verdict, &drawing, svg);
    svg->failed = svg->failed || curve.failed || behind.failed;
    pellet_text_free(&curve);
    pellet_text_free(&behind);
    return pellet_text_status(svg);
}
