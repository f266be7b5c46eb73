// SPDX-License-Identifier: GPL-3.0-or-later
/* The marked spectrum: one stand-alone SVG, small however many points the spectrum has. */
#include "pellet/report.h"

#include "report/markup.h"
#include "report/wording.h"

#include <math.h>
#include <string.h>

/* The drawing's own units. */
#define WIDTH        800
#define PLOT_X       50
#define PLOT_Y       34
#define PLOT_WIDTH   736
#define PLOT_HEIGHT  250
#define LEGEND_LINE  17
#define LEGEND_CHARS 112 /* of a legend line, at 12 units a letter */
#define BUBBLE       8   /* radius of a mark's number */
#define MARKS_MAX    12
/* The curve is drawn on whole numbers, of units across and of half units up: short to write, and no coarser
 * than its line is wide. */
#define CURVE_SCALE 2

static const char style[] =
    "svg{color-scheme:light dark;color:#1b2027;--quiet:#5b636c;--faint:#dcd9cf;"
    "--mark:#8a1f5c;font:12px system-ui,'Segoe UI','DejaVu Sans',sans-serif}"
    "@media(prefers-color-scheme:dark){svg{color:#e9e6dd;--quiet:#a7adb4;--faint:#343a41;"
    "--mark:#f0a3cf}}"
    "@media print{svg{color:#000;--quiet:#444;--faint:#ccc;--mark:#000}}"
    "text{fill:currentColor}.q{fill:var(--quiet)}.g{stroke:var(--faint)}.a{stroke:var(--quiet)}"
    ".c{fill:none;stroke:currentColor;stroke-width:1.2;stroke-linejoin:round;vector-effect:non-scaling-"
    "stroke}"
    ".m{stroke:var(--mark);stroke-dasharray:3 3}.t{fill:var(--mark);fill-opacity:.12}"
    ".n{fill:var(--mark)}.k{fill:#fff;font-weight:600;text-anchor:middle}"
    "@media(prefers-color-scheme:dark){.k{fill:#14171b}}@media print{.k{fill:#fff}}";

struct axes {
    double left, right; /* cm-1: left is the highest */
    double low, high;   /* A: at the bottom and at the top of the plot */
    double step;        /* A between labelled ticks */
    double least, most; /* A: of the curve itself */
};

static double axes_x(const struct axes *axes, double wavenumber)
{
    return PLOT_WIDTH * (axes->left - wavenumber) / (axes->left - axes->right);
}

static double axes_y(const struct axes *axes, double absorbance)
{
    return PLOT_HEIGHT * (axes->high - absorbance) / (axes->high - axes->low);
}

/* The least of 1, 2 and 5 times a power of ten that cuts `span` into at most six. */
static double tick_step(double span)
{
    const double decade = pow(10.0, floor(log10(span / 6.0)));
    const double ratio = span / 6.0 / decade;
    return decade * (ratio <= 1.0 ? 1.0 : ratio <= 2.0 ? 2.0 : ratio <= 5.0 ? 5.0 : 10.0);
}

/* cm-1 between neighbouring marks of the wavenumber axis; each fifth is labelled. */
static double minor_step(double span)
{
    return span > 1500.0 ? 100.0 : span > 300.0 ? 20.0 : tick_step(span) / 5.0;
}

static pellet_status axes_fit(const struct pellet_spectrum *ratio, struct axes *axes)
{
    double least = INFINITY, most = -INFINITY;
    size_t finite = 0;

    for (size_t i = 0; i < ratio->n; i++) {
        if (!isfinite(ratio->y[i]))
            continue;
        least = fmin(least, ratio->y[i]);
        most = fmax(most, ratio->y[i]);
        finite++;
    }
    if (finite < 2)
        return PELLET_E_SHORT;
    /* Zero is always in sight, and a flat spectrum is not blown up to its noise. What dips only a little
     * below zero may cross the axis. */
    const double low = fmin(least, 0.0), high = fmax(most, low + 0.1);
    const double step = tick_step(high - low);
    const double right = ratio->wavenumber[0], left = ratio->wavenumber[ratio->n - 1];
    const double whole = 0.25 * minor_step(left - right);
    *axes = (struct axes){.left = whole * ceil(left / whole),
                          .right = whole * floor(right / whole),
                          .low = step * ceil(low / step - 1.0 + 0.25),
                          .high = step * ceil(high / step),
                          .step = step,
                          .least = least,
                          .most = most};
    return PELLET_OK;
}

/* ---------------------------------------------------------------- the frame */

static void add_absorbance_ticks(const struct axes *axes, struct pellet_text *svg)
{
    const int count = (int)lround((axes->high - axes->low) / axes->step);

    for (int i = 0; i <= count; i++) {
        const double absorbance = axes->low + i * axes->step;
        const double y = PLOT_Y + axes_y(axes, absorbance);
        char number[32];
        /* A tick that should be zero may come out as a rounding error. */
        pellet_number_round(fabs(absorbance) < 1e-9 * axes->step ? 0.0 : absorbance, 6, number);
        pellet_text_addf(svg, "<path class=\"g\" d=\"M%d %.1fh%d\"/>", PLOT_X, y, PLOT_WIDTH);
        pellet_text_addf(svg, "<text class=\"q\" x=\"%d\" y=\"%.1f\" text-anchor=\"end\">%s</text>\n",
                         PLOT_X - 6, y + 4.0, number);
    }
}

static void add_wavenumber_ticks(const struct axes *axes, struct pellet_text *svg)
{
    const double minor = minor_step(axes->left - axes->right);
    const double first = ceil(axes->right / minor);
    const int bottom = PLOT_Y + PLOT_HEIGHT;

    for (double i = first; i * minor <= axes->left; i += 1.0) {
        const double x = PLOT_X + axes_x(axes, i * minor);
        const bool major = fmod(i, 5.0) == 0.0;
        pellet_text_addf(svg, "<path class=\"a\" d=\"M%.1f %dv%d\"/>", x, bottom, major ? 7 : 3);
        if (major)
            pellet_text_addf(svg,
                             "<text class=\"q\" x=\"%.1f\" y=\"%d\" text-anchor=\"middle\">%.0f</text>\n", x,
                             bottom + 20, i * minor);
    }
    pellet_text_addf(svg, "<path class=\"a\" d=\"M%d %dh%d\"/>\n", PLOT_X, bottom, PLOT_WIDTH);
}

static void add_frame(const struct axes *axes, const struct pellet_verdict *verdict, struct pellet_text *svg)
{
    add_absorbance_ticks(axes, svg);
    add_wavenumber_ticks(axes, svg);
    pellet_text_addf(svg, "<text class=\"q\" x=\"%d\" y=\"%d\" text-anchor=\"end\">%s</text>\n",
                     PLOT_X + PLOT_WIDTH, PLOT_Y + PLOT_HEIGHT + 38, SAYS_AXIS_WAVENUMBER);
    pellet_text_addf(svg, "<text class=\"q\" x=\"6\" y=\"14\">%s</text>", SAYS_AXIS_ABSORBANCE);
    pellet_text_addf(svg, "<text x=\"%d\" y=\"14\" text-anchor=\"end\">", PLOT_X + PLOT_WIDTH);
    report_add(svg, verdict->file);
    pellet_text_adds(svg, "</text>\n");
}

/* ---------------------------------------------------------------- the curve */

/* One column of the picture; ordinates in the curve's whole numbers. */
struct column {
    long x, first, lowest, highest, last;
    bool lowest_first, empty;
};

struct pen {
    struct pellet_text *svg;
    long x, y;
    bool down;
};

static void pen_to(struct pen *pen, long x, long y)
{
    if (!pen->down)
        pellet_text_addf(pen->svg, "M%ld %ld", x, y);
    else if (x == pen->x && y != pen->y)
        pellet_text_addf(pen->svg, "v%ld", y - pen->y);
    else if (y == pen->y && x != pen->x)
        pellet_text_addf(pen->svg, "h%ld", x - pen->x);
    else if (x != pen->x)
        pellet_text_addf(pen->svg, "l%ld %ld", x - pen->x, y - pen->y);
    *pen = (struct pen){pen->svg, x, y, true};
}

/* An extreme that is the first or the last ordinate needs no point of its own. */
static void column_draw_extreme(const struct column *column, long y, struct pen *pen)
{
    if (y != column->first && y != column->last)
        pen_to(pen, column->x, y);
}

static void column_draw(struct column *column, struct pen *pen)
{
    if (column->empty)
        return;
    /* Where the curve only falls or rises through the column, its end is enough. */
    const bool one_way = (column->first == column->lowest && column->last == column->highest) ||
                         (column->first == column->highest && column->last == column->lowest);
    if (!pen->down || !one_way)
        pen_to(pen, column->x, column->first);
    column_draw_extreme(column, column->lowest_first ? column->lowest : column->highest, pen);
    column_draw_extreme(column, column->lowest_first ? column->highest : column->lowest, pen);
    pen_to(pen, column->x, column->last);
    column->empty = true;
}

static void column_take(struct column *column, long x, long y)
{
    if (column->empty)
        *column = (struct column){x, y, y, y, y, true, false};
    if (y < column->lowest) {
        column->lowest = y;
        column->lowest_first = false;
    }
    if (y > column->highest) {
        column->highest = y;
        column->lowest_first = true;
    }
    column->last = y;
}

static void add_curve(const struct pellet_spectrum *ratio, const struct axes *axes, struct pellet_text *svg)
{
    struct column column = {.empty = true};
    struct pen pen = {.svg = svg};

    pellet_text_addf(svg, "<path class=\"c\" transform=\"translate(%d %d) scale(1 %g)\" d=\"", PLOT_X, PLOT_Y,
                     1.0 / CURVE_SCALE);
    for (size_t i = ratio->n; i-- > 0;) {
        if (!isfinite(ratio->y[i])) {
            column_draw(&column, &pen);
            pen.down = false;
            continue;
        }
        const long x = lround(axes_x(axes, ratio->wavenumber[i]));
        if (x != column.x)
            column_draw(&column, &pen);
        column_take(&column, x, lround(CURVE_SCALE * axes_y(axes, ratio->y[i])));
    }
    column_draw(&column, &pen);
    pellet_text_adds(svg, "\"/>\n");
}

/* ---------------------------------------------------------------- the marks */

/* A range wider than this share of the picture says nothing about a place. */
#define RANGE_SHARE_MAX 0.6

struct mark {
    const struct pellet_finding *finding;
    double x;   /* of its number; NaN where it has no place in the picture */
    double row; /* 0 at the top; later marks that would cover earlier ones stand lower */
};

static double place_of(const struct pellet_finding *finding, const struct axes *axes)
{
    const double range = fabs(finding->from_cm1 - finding->to_cm1);
    double at = finding->at_cm1;
    if (isnan(at) && range <= RANGE_SHARE_MAX * (axes->left - axes->right))
        at = 0.5 * (finding->from_cm1 + finding->to_cm1);
    return at >= axes->right && at <= axes->left ? axes_x(axes, at) : NAN;
}

static size_t marks_place(const struct pellet_verdict *verdict, const struct axes *axes,
                          struct mark mark[MARKS_MAX])
{
    size_t count = 0;

    for (size_t i = 0; i < verdict->check_count && count < MARKS_MAX; i++) {
        const struct pellet_finding *finding = &verdict->check[i];
        if (!report_amiss(finding->outcome))
            continue;
        struct mark m = {.finding = finding, .x = place_of(finding, axes)};
        for (size_t k = 0; k < count; k++) {
            if (fabs(mark[k].x - m.x) < 2 * BUBBLE + 2)
                m.row = fmax(m.row, mark[k].row + 1.0);
        }
        mark[count++] = m;
    }
    return count;
}

/* The range behind the curve. */
static void add_tint(const struct pellet_finding *finding, const struct axes *axes, struct pellet_text *svg)
{
    const double from = fmin(axes->left, fmax(finding->from_cm1, finding->to_cm1));
    const double to = fmax(axes->right, fmin(finding->from_cm1, finding->to_cm1));

    if (!(from > to && from - to <= RANGE_SHARE_MAX * (axes->left - axes->right)))
        return;
    if (isnan(finding->from_cm1) || isnan(finding->to_cm1))
        return;
    const double x = axes_x(axes, from), width = fmax(2.0, axes_x(axes, to) - x);
    pellet_text_addf(svg, "<rect class=\"t\" x=\"%.1f\" y=\"%d\" width=\"%.1f\" height=\"%d\"/>\n",
                     PLOT_X + x, PLOT_Y, width, PLOT_HEIGHT);
}

static void add_number(const struct mark *mark, size_t number, struct pellet_text *svg)
{
    if (isnan(mark->x))
        return;
    const double x = PLOT_X + mark->x, y = PLOT_Y + (2 * BUBBLE + 2) * mark->row;
    if (!isnan(mark->finding->at_cm1))
        pellet_text_addf(svg, "<path class=\"m\" d=\"M%.1f %.1fV%d\"/>", x, y, PLOT_Y + PLOT_HEIGHT);
    pellet_text_addf(svg, "<circle class=\"n\" cx=\"%.1f\" cy=\"%.1f\" r=\"%d\"/>", x, y, BUBBLE);
    pellet_text_addf(svg, "<text class=\"k\" x=\"%.1f\" y=\"%.1f\">%zu</text>\n", x, y + 4.0, number);
}

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
        pellet_text_addf(svg, "<text x=\"%d\" y=\"%d\">", x, y + LEGEND_LINE * lines++);
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

    pellet_text_addf(&sentence, "%s (%s): %s", finding->check->bench_word,
                     report_outcome_word(finding->outcome), finding->says != NULL ? finding->says : "");
    pellet_text_addf(svg, "<circle class=\"n\" cx=\"%d\" cy=\"%d\" r=\"%d\"/>", PLOT_X - 18, y - 4, BUBBLE);
    pellet_text_addf(svg, "<text class=\"k\" x=\"%d\" y=\"%d\">%zu</text>\n", PLOT_X - 18, y, number);
    const int lines = add_wrapped(pellet_text_string(&sentence), PLOT_X, y, svg);
    svg->failed = svg->failed || sentence.failed;
    pellet_text_free(&sentence);
    return lines;
}

/* ---------------------------------------------------------------- the document */

/* What a screen reader says: the name, the verdict, what is drawn, each mark. */
static void add_description(const struct pellet_verdict *verdict, const struct axes *axes,
                            const struct mark *mark, size_t count, struct pellet_text *svg)
{
    pellet_text_adds(svg, "<title id=\"t\">");
    report_add(svg, verdict->file);
    pellet_text_addf(svg, ": %s</title>\n<desc id=\"d\">", report_outcome_word(verdict->outcome));
    pellet_text_addf(svg, SAYS_PICTURE_RANGE, axes->left, axes->right, axes->least, axes->most);
    if (count == 0)
        pellet_text_addf(svg, " %s", SAYS_PICTURE_CLEAN);
    for (size_t i = 0; i < count; i++) {
        pellet_text_addf(svg, " %zu: ", i + 1);
        report_add(svg, mark[i].finding->check->bench_word);
        pellet_text_adds(svg, ", ");
        report_add(svg, mark[i].finding->says);
        pellet_text_addc(svg, '.');
    }
    pellet_text_adds(svg, "</desc>\n");
}

pellet_status pellet_report_picture(const struct pellet_spectrum *ratio, const struct pellet_spectrum *blank,
                                    const struct pellet_verdict *verdict, struct pellet_text *svg)
{
    (void)blank;
    struct axes axes;
    struct mark mark[MARKS_MAX];
    struct pellet_text legend = {0};
    int y = PLOT_Y + PLOT_HEIGHT + 62;

    if (axes_fit(ratio, &axes) != PELLET_OK)
        return PELLET_E_SHORT;
    const size_t count = marks_place(verdict, &axes, mark);
    /* The legend comes first because the height follows from it. */
    for (size_t i = 0; i < count; i++)
        y += LEGEND_LINE * add_legend(mark[i].finding, i + 1, y, &legend);
    pellet_text_addf(svg,
                     "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 %d %d\" width=\"%d\" "
                     "height=\"%d\" role=\"img\" aria-labelledby=\"t d\">\n",
                     WIDTH, y - 8, WIDTH, y - 8);
    add_description(verdict, &axes, mark, count, svg);
    pellet_text_addf(svg, "<style>%s</style>\n", style);
    for (size_t i = 0; i < count; i++)
        add_tint(mark[i].finding, &axes, svg);
    add_frame(&axes, verdict, svg);
    add_curve(ratio, &axes, svg);
    for (size_t i = 0; i < count; i++)
        add_number(&mark[i], i + 1, svg);
    pellet_text_adds(svg, pellet_text_string(&legend));
    pellet_text_adds(svg, "</svg>\n");
    svg->failed = svg->failed || legend.failed;
    pellet_text_free(&legend);
    return pellet_text_status(svg);
}
