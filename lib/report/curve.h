// SPDX-License-Identifier: GPL-3.0-or-later
/* The axes of a drawn spectrum, and its curve as the data of an SVG path. */
#ifndef REPORT_CURVE_H
#define REPORT_CURVE_H

#include "pellet/spectrum.h"

/*
 * The plot is this many units wide and high. The curve is drawn on whole numbers of half units: short to
 * write, and no coarser than its line is wide.
 */
#define REPORT_PLOT_WIDTH  736
#define REPORT_PLOT_HEIGHT 250
#define REPORT_CURVE_SCALE 2

struct report_axes {
    double left, right; /* cm-1: left is the highest */
    double low, high;   /* A: at the bottom and at the top of the plot */
    double step;        /* A between labelled ticks */
};

/* Axes on round numbers that hold the spectrum and zero. E_SHORT where fewer than two ordinates are
 * finite. */
pellet_status report_axes_fit(const struct pellet_spectrum *spectrum, struct report_axes *axes);
double report_axes_x(const struct report_axes *axes, double wavenumber);
double report_axes_y(const struct report_axes *axes, double ordinate);
/* cm-1 between neighbouring ticks of the wavenumber axis; each fifth is labelled. */
double report_axes_minor(const struct report_axes *axes);
/* The least and the greatest finite ordinate; infinities where there is none. */
void report_extent(const struct pellet_spectrum *spectrum, double *least, double *most);

/*
 * The curve from left to right, what lies outside of the axes left out; NaN are gaps.
 *
 * Method:  of each column half a unit wide the lowest and the highest ordinate are kept, in their order, so
 *          that no narrow line is lost and the size does not grow with the number of points; where the curve
 *          only falls or rises through the column its end is enough. Of these points, those that a straight
 *          stroke between others passes within one unit are left out: the cone of slopes from the last
 *          corner is narrowed until a point lies outside (E. H. Bristol, Swinging door trending, ISA 1990;
 *          from memory)
 */
void report_curve(const struct pellet_spectrum *spectrum, const struct report_axes *axes,
                  struct pellet_text *d);

#endif
