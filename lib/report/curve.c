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

/* How far a point that is left out may lie from the stroke that passes it: one unit, less than the line is
 * wide. */
#define SLACK (1.0 * REPORT_CURVE_SCALE)

/* Strokes from point to point; those that a straight one passes near enough are left out. */
struct pen {
    struct pellet_text *d;
    long from_x, from_y; /* where the written strokes end */
    long x, y;           /* where the next stroke would end by now */
    double low, high;    /* slopes of the strokes that pass all points since `from` near enough */
    bool down;
    bool striking; /* x and y are ahead of from_x and from_y */
    bool lining;   /* the last command written was l: more pairs follow without a letter */
};

static void pen_write(struct pen *pen)
{
    const long dx = pen->x - pen->from_x, dy = pen->y - pen->from_y;

    if (!pen->striking)
        return;
    pellet_text_addf(pen->d, "%s%ld%s%ld", pen->lining ? " " : "l", dx, dy < 0 ? "" : " ", dy);
    pen->lining = true;
    pen->striking = false;
    pen->from_x = pen->x;
    pen->from_y = pen->y;
}

/* Narrow the slopes by one more point; false where no stroke to it passes all of those before near enough. */
static bool pen_aim(struct pen *pen, long x, long y)
{
    const double dx = (double)(x - pen->from_x), dy = (double)(y - pen->from_y);

    if (pen->striking && (dx <= 0.0 || pen->x == pen->from_x || dy < pen->low * dx || dy > pen->high * dx))
        return false;
    if (dx > 0.0) {
        pen->low = fmax(pen->striking ? pen->low : -INFINITY, (dy - SLACK) / dx);
        pen->high = fmin(pen->striking ? pen->high : INFINITY, (dy + SLACK) / dx);
    }
    return true;
}

static void pen_to(struct pen *pen, long x, long y)
{
    if (!pen->down) {
        pellet_text_addf(pen->d, "M%ld %ld", x, y);
        *pen = (struct pen){.d = pen->d, .from_x = x, .from_y = y, .x = x, .y = y, .down = true};
        return;
    }
    if (x == pen->x && y == pen->y)
        return;
    if (!pen_aim(pen, x, y)) {
        pen_write(pen);
        pen_aim(pen, x, y);
    }
    pen->x = x;
    pen->y = y;
    pen->striking = true;
}

static void pen_lift(struct pen *pen)
{
    pen_write(pen);
    pen->down = false;
}

/* ---------------------------------------------------------------- columns */

/* One column of the picture, in the curve's whole numbers. */
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
        const long x = lround(REPORT_CURVE_SCALE * report_axes_x(axes, nu));
        if (x != column.x)
            column_draw(&column, &pen);
        column_take(&column, x, lround(REPORT_CURVE_SCALE * report_axes_y(axes, spectrum->y[i])));
    }
    column_draw(&column, &pen);
    pen_lift(&pen);
}
