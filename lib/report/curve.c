// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/curve.h"

#include <math.h>

/* ---------------------------------------------------------------- axes */

double report_axes_x(const struct report_axes *axes, double wavenumber)
{
    return REPORT_PLOT_WIDTH * (axes->left - wavenumber) / (axes->left - axes->right);
}

double report_axes_y(const struct report_axes *axes, double ordinate)
{
    return REPORT_PLOT_HEIGHT * (axes->high - ordinate) / (axes->high - axes->low);
}

/* The least of 1, 2 and 5 times a power of ten that cuts `span` into at most six. */
static double tick_step(double span)
{
    const double decade = pow(10.0, floor(log10(span / 6.0)));
    const double ratio = span / 6.0 / decade;
    return decade * (ratio <= 1.0 ? 1.0 : ratio <= 2.0 ? 2.0 : ratio <= 5.0 ? 5.0 : 10.0);
}

static double minor_step(double span)
{
    return span > 1500.0 ? 100.0 : span > 300.0 ? 20.0 : tick_step(span) / 5.0;
}

double report_axes_minor(const struct report_axes *axes)
{
    return minor_step(axes->left - axes->right);
}

void report_extent(const struct pellet_spectrum *spectrum, double *least, double *most)
{
    *least = INFINITY;
    *most = -INFINITY;
    for (size_t i = 0; i < spectrum->n; i++) {
        if (!isfinite(spectrum->y[i]))
            continue;
        *least = fmin(*least, spectrum->y[i]);
        *most = fmax(*most, spectrum->y[i]);
    }
}

pellet_status report_axes_fit(const struct pellet_spectrum *spectrum, struct report_axes *axes)
{
    double least, most;
    size_t finite = 0;

    for (size_t i = 0; i < spectrum->n && finite < 2; i++)
        finite += isfinite(spectrum->y[i]) != 0;
    if (finite < 2)
        return PELLET_E_SHORT;
    report_extent(spectrum, &least, &most);
    /* Zero is always in sight, and a flat spectrum is not blown up to its noise. What dips only a little
     * below zero may cross the axis. */
    const double low = fmin(least, 0.0), high = fmax(most, low + 0.1);
    const double step = tick_step(high - low);
    const double right = spectrum->wavenumber[0], left = spectrum->wavenumber[spectrum->n - 1];
    const double whole = 0.25 * minor_step(left - right);
    *axes = (struct report_axes){.left = whole * ceil(left / whole),
                                 .right = whole * floor(right / whole),
                                 .low = step * ceil(low / step - 1.0 + 0.25),
                                 .high = step * ceil(high / step),
                                 .step = step};
    return PELLET_OK;
}

/* ---------------------------------------------------------------- the pen */

/* Strokes relative to the last point, each written when the next one has another direction. */
struct pen {
    struct pellet_text *d;
    long x, y;   /* where it stands, with the stroke that is not written yet */
    long dx, dy; /* of that stroke */
    bool down;
    bool lining; /* the last command written was l: more pairs follow without a letter */
};

static void pen_write(struct pen *pen)
{
    if (pen->dx == 0 && pen->dy == 0)
        return;
    pellet_text_addf(pen->d, "%s%ld%s%ld", pen->lining ? (pen->dx < 0 ? "" : " ") : "l", pen->dx,
                     pen->dy < 0 ? "" : " ", pen->dy);
    pen->lining = true;
    pen->dx = pen->dy = 0;
}

static void pen_to(struct pen *pen, long x, long y)
{
    const long dx = x - pen->x, dy = y - pen->y;

    if (!pen->down) {
        pellet_text_addf(pen->d, "M%ld %ld", x, y);
        pen->lining = false;
    } else if (dx * pen->dy == dy * pen->dx && dx * pen->dx + dy * pen->dy >= 0) {
        pen->dx += dx;
        pen->dy += dy;
    } else {
        pen_write(pen);
        pen->dx = dx;
        pen->dy = dy;
    }
    pen->x = x;
    pen->y = y;
    pen->down = true;
}

static void pen_lift(struct pen *pen)
{
    pen_write(pen);
    pen->down = false;
}

/* ---------------------------------------------------------------- columns */

/* One column of the picture; ordinates in the curve's whole numbers. */
struct column {
    long x, first, lowest, highest, last;
    bool lowest_first, empty;
};

/* Whether the curve, on its way from `from`, only falls or only rises until it leaves the column. */
static bool column_one_way(const struct column *column, long from)
{
    return (from <= column->first && column->first == column->lowest && column->last == column->highest) ||
           (from >= column->first && column->first == column->highest && column->last == column->lowest);
}

static void column_draw(struct column *column, struct pen *pen)
{
    if (column->empty)
        return;
    if (!pen->down)
        pen_to(pen, column->x, column->first);
    if (column_one_way(column, pen->y)) {
        pen_to(pen, column->x, column->last);
    } else {
        pen_to(pen, column->x, column->lowest_first ? column->lowest : column->highest);
        pen_to(pen, column->x, column->lowest_first ? column->highest : column->lowest);
    }
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

void report_curve(const struct pellet_spectrum *spectrum, const struct report_axes *axes,
                  struct pellet_text *d)
{
    struct column column = {.empty = true};
    struct pen pen = {.d = d};

    for (size_t i = spectrum->n; i-- > 0;) {
        const double nu = spectrum->wavenumber[i];
        if (!isfinite(spectrum->y[i]) || nu > axes->left || nu < axes->right) {
            column_draw(&column, &pen);
            pen_lift(&pen);
            continue;
        }
        const long x = lround(report_axes_x(axes, nu));
        if (x != column.x)
            column_draw(&column, &pen);
        column_take(&column, x, lround(REPORT_CURVE_SCALE * report_axes_y(axes, spectrum->y[i])));
    }
    column_draw(&column, &pen);
    pen_lift(&pen);
}
