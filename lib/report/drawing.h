// SPDX-License-Identifier: GPL-3.0-or-later
/* A drawn spectrum, piece by piece: the picture by itself and the one in the record are made of the same. */
#ifndef REPORT_DRAWING_H
#define REPORT_DRAWING_H

#include "pellet/judge.h"
#include "report/curve.h"

/* Where the plot stands in the drawing, in the drawing's own units. */
#define REPORT_DRAWING_WIDTH 800
#define REPORT_PLOT_X        50
#define REPORT_PLOT_Y        24
#define REPORT_DRAWING_FOOT  (REPORT_PLOT_Y + REPORT_PLOT_HEIGHT + 42) /* below the captions of the axes */

#define REPORT_MARKS_MAX 12

/* A finding and where its number stands. */
struct report_mark {
    const struct pellet_finding *finding;
    double x;   /* NaN where it has no single place in the picture */
    double row; /* 0 at the top; later marks that would cover earlier ones stand lower */
};

struct report_drawing {
    struct report_axes axes;
    const char *curve; /* data of SVG paths, not terminated */
    size_t curve_length;
    const char *blank; /* NULL where there is none */
    size_t blank_length;
    size_t mark_count;
    struct report_mark mark[REPORT_MARKS_MAX];
};

/* The findings of a verdict that want attention, placed on the drawing's axes. */
void report_drawing_mark(struct report_drawing *drawing, const struct pellet_verdict *verdict);

/* Lines and numbers of the absorbance axis. */
void report_draw_absorbances(const struct report_drawing *drawing, struct pellet_text *out);
/* Ticks and numbers below the plot: the same for all spectra with the same range. */
void report_draw_wavenumbers(const struct report_drawing *drawing, struct pellet_text *out);
/* What the axes and the curve behind are. */
void report_draw_captions(const struct report_drawing *drawing, struct pellet_text *out);
/* The path of the blank, for the plot. */
void report_draw_blank(const struct report_drawing *drawing, struct pellet_text *out);
/* The plot, an <svg> of its own so that it can be zoomed; `blank` is put behind the curve as it is. */
void report_draw_plot(const struct report_drawing *drawing, const char *blank, struct pellet_text *out);
/* The numbers of the marks. */
void report_draw_numbers(const struct report_drawing *drawing, struct pellet_text *out);

/*
 * Take axes and curves out of a picture that report_draw_plot has written. Whoever can write to the folder
 * can write a picture, so nothing else of it is used, and curves only if they are digits and strokes.
 * Returns false where it is not such a picture; `drawing` is untouched then. It points into `svg`.
 */
bool report_drawing_read(const char *svg, struct report_drawing *drawing);

#endif
