// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/drawing.h"

#include "pellet/reference.h"
#include "pellet/wording_pages.h"
#include "report/markup.h"

#include <math.h>
#include <string.h>

#define BUBBLE 8 /* radius of a mark's number */
#define BOTTOM (REPORT_PLOT_Y + REPORT_PLOT_HEIGHT)
/* A range wider than this share of the picture says nothing about a place. */
#define RANGE_SHARE_MAX 0.6

/* ---------------------------------------------------------------- where a finding is */

/* Where to look for what a check found, when it names no place or a range too wide to be one (cm-1). */
static const struct {
    const char *check;
    struct pellet_limit region[2];
} regions[] = {
    {"vapour",
     {{PELLET_VAPOUR_STRETCH_LOW, PELLET_VAPOUR_STRETCH_HIGH},
      {PELLET_VAPOUR_BEND_LOW, PELLET_VAPOUR_BEND_HIGH}}},
    {"carbon_dioxide", {{PELLET_CO2_LOW, PELLET_CO2_HIGH}}},
    /* Of liquid water: the stretch, and the bend near 1645 cm-1 (Hale and Querry 1973). */
    {"moisture", {{3000.0, 3700.0}, {1580.0, 1720.0}}},
};

/* At most two; fewer where there is nothing to show. */
static size_t regions_of(const struct pellet_finding *finding, const struct report_axes *axes,
                         struct pellet_limit region[2])
{
    size_t n = 0;

    for (size_t i = 0; i < sizeof regions / sizeof regions[0]; i++) {
        if (strcmp(regions[i].check, finding->check->id) != 0)
            continue;
        while (n < 2 && regions[i].region[n].high > 0.0) {
            region[n] = regions[i].region[n];
            n++;
        }
        return n;
    }
    if (isnan(finding->from_cm1) || isnan(finding->to_cm1))
        return 0;
    region[0] = (struct pellet_limit){fmin(finding->from_cm1, finding->to_cm1),
                                      fmax(finding->from_cm1, finding->to_cm1)};
    return region[0].high - region[0].low <= RANGE_SHARE_MAX * (axes->left - axes->right);
}

static double place_of(const struct pellet_finding *finding, const struct report_axes *axes)
{
    struct pellet_limit region[2];
    double at = finding->at_cm1;

    if (isnan(at) && regions_of(finding, axes, region) > 0)
        at = 0.5 * (region[0].low + region[0].high);
    return at >= axes->right && at <= axes->left ? report_axes_x(axes, at) : NAN;
}

void report_drawing_mark(struct report_drawing *drawing, const struct pellet_verdict *verdict)
{
    size_t n = 0;

    for (size_t i = 0; i < verdict->check_count && n < REPORT_MARKS_MAX; i++) {
        const struct pellet_finding *finding = &verdict->check[i];
        if (!report_amiss(finding->outcome))
            continue;
        struct report_mark m = {.finding = finding, .x = place_of(finding, &drawing->axes)};
        for (size_t k = 0; k < n; k++) {
            if (fabs(drawing->mark[k].x - m.x) < 2 * BUBBLE + 2)
                m.row = fmax(m.row, drawing->mark[k].row + 1.0);
        }
        drawing->mark[n++] = m;
    }
    drawing->mark_count = n;
}

/* ---------------------------------------------------------------- axes */

void report_draw_absorbances(const struct report_drawing *drawing, struct pellet_text *out)
{
    const struct report_axes *axes = &drawing->axes;
    const int count = (int)lround((axes->high - axes->low) / axes->step);

    pellet_text_adds(out, "<path class=\"fg\" d=\"");
    for (int i = 0; i <= count; i++)
        pellet_text_addf(out, "M%d %.1fh%d", REPORT_PLOT_X,
                         REPORT_PLOT_Y + report_axes_y(axes, axes->low + i * axes->step), REPORT_PLOT_WIDTH);
    pellet_text_adds(out, "\"/><g class=\"fe\">");
    for (int i = 0; i <= count; i++) {
        const double absorbance = axes->low + i * axes->step;
        char number[32];
        /* A tick that should be zero may come out as a rounding error. */
        pellet_number_round(fabs(absorbance) < 1e-9 * axes->step ? 0.0 : absorbance, 6, number);
        pellet_text_addf(out, "<text x=\"%d\" y=\"%.1f\">%s</text>", REPORT_PLOT_X - 6,
                         REPORT_PLOT_Y + report_axes_y(axes, absorbance) + 4.0, number);
    }
    pellet_text_adds(out, "</g>");
}

void report_draw_wavenumbers(const struct report_drawing *drawing, struct pellet_text *out)
{
    const struct report_axes *axes = &drawing->axes;
    const double minor = report_axes_minor(axes);
    const double first = ceil(axes->right / minor);

    pellet_text_addf(out, "<path class=\"fa\" d=\"M%d %dh%d", REPORT_PLOT_X, BOTTOM, REPORT_PLOT_WIDTH);
    for (double i = first; i * minor <= axes->left; i += 1.0)
        pellet_text_addf(out, "M%.1f %dv%d", REPORT_PLOT_X + report_axes_x(axes, i * minor), BOTTOM,
                         fmod(i, 5.0) == 0.0 ? 7 : 3);
    pellet_text_adds(out, "\"/><g class=\"fm\">");
    for (double i = 5.0 * ceil(first / 5.0); i * minor <= axes->left; i += 5.0)
        pellet_text_addf(out, "<text x=\"%.1f\" y=\"%d\">%.0f</text>",
                         REPORT_PLOT_X + report_axes_x(axes, i * minor), BOTTOM + 20, i * minor);
    pellet_text_adds(out, "</g>");
}

void report_draw_captions(const struct report_drawing *drawing, struct pellet_text *out)
{
    pellet_text_addf(out, "<text x=\"%d\" y=\"%d\" class=\"fe\">%s</text>", REPORT_PLOT_X + REPORT_PLOT_WIDTH,
                     BOTTOM + 38, SAYS_AXIS_WAVENUMBER);
    pellet_text_addf(out, "<text x=\"6\" y=\"12\">%s</text>", SAYS_AXIS_ABSORBANCE);
    if (drawing->blank != NULL)
        pellet_text_addf(out, "<text x=\"%d\" y=\"%d\">%s</text>", REPORT_PLOT_X, BOTTOM + 38,
                         SAYS_BLANK_BEHIND);
}

/* ---------------------------------------------------------------- the plot */

static void draw_regions(const struct report_mark *mark, const struct report_axes *axes,
                         struct pellet_text *out)
{
    struct pellet_limit region[2];
    const size_t n = regions_of(mark->finding, axes, region);

    for (size_t i = 0; i < n; i++) {
        const double from = fmin(axes->left, region[i].high), to = fmax(axes->right, region[i].low);
        if (from > to)
            pellet_text_addf(out, "<rect class=\"fr\" x=\"%.1f\" width=\"%.1f\" height=\"%d\"/>",
                             report_axes_x(axes, from),
                             fmax(2.0, report_axes_x(axes, to) - report_axes_x(axes, from)),
                             REPORT_PLOT_HEIGHT);
    }
}

static void draw_curve(const char *name, const char *d, size_t length, struct pellet_text *out)
{
    pellet_text_addf(out, "<path class=\"%s\" transform=\"scale(%g)\" d=\"", name, 1.0 / REPORT_CURVE_SCALE);
    pellet_text_add(out, d, length);
    pellet_text_adds(out, "\"/>");
}

void report_draw_blank(const struct report_drawing *drawing, struct pellet_text *out)
{
    if (drawing->blank != NULL)
        draw_curve("fb", drawing->blank, drawing->blank_length, out);
}

void report_draw_plot(const struct report_drawing *drawing, const char *blank, struct pellet_text *out)
{
    const struct report_axes *axes = &drawing->axes;

    pellet_text_addf(out,
                     "<svg class=\"p\" x=\"%d\" y=\"%d\" width=\"%d\" height=\"%d\" viewBox=\"0 0 %d %d\" "
                     "preserveAspectRatio=\"none\" data-axes=\"%.10g %.10g %.10g %.10g %.10g\">",
                     REPORT_PLOT_X, REPORT_PLOT_Y, REPORT_PLOT_WIDTH, REPORT_PLOT_HEIGHT, REPORT_PLOT_WIDTH,
                     REPORT_PLOT_HEIGHT, axes->left, axes->right, axes->low, axes->high, axes->step);
    for (size_t i = 0; i < drawing->mark_count; i++)
        draw_regions(&drawing->mark[i], axes, out);
    pellet_text_adds(out, blank);
    draw_curve("fc", drawing->curve, drawing->curve_length, out);
    for (size_t i = 0; i < drawing->mark_count; i++) {
        const struct report_mark *m = &drawing->mark[i];
        if (!isnan(m->x) && !isnan(m->finding->at_cm1))
            pellet_text_addf(out, "<path class=\"fl\" d=\"M%.1f 0v%d\"/>", m->x, REPORT_PLOT_HEIGHT);
    }
    pellet_text_adds(out, "</svg>");
}

void report_draw_numbers(const struct report_drawing *drawing, struct pellet_text *out)
{
    for (size_t i = 0; i < drawing->mark_count; i++) {
        const struct report_mark *m = &drawing->mark[i];
        if (!isnan(m->x))
            pellet_text_addf(out,
                             "<g class=\"fk\" transform=\"translate(%.1f %.0f)\"><circle r=\"%d\"/><text "
                             "dy=\".35em\">%zu</text></g>",
                             REPORT_PLOT_X + m->x, REPORT_PLOT_Y + BUBBLE + (2 * BUBBLE + 2) * m->row, BUBBLE,
                             i + 1);
    }
}
