// SPDX-License-Identifier: GPL-3.0-or-later
/* Axes and curves taken back out of a picture, trusting it no further than what is looked at. */
#include "report/drawing.h"

#include <math.h>
#include <string.h>

/* Longer than any curve of ours: two strokes of each column, twelve bytes each. */
#define CURVE_BYTES_MAX ((size_t)24 * REPORT_CURVE_SCALE * REPORT_PLOT_WIDTH)

/* The next number of a list with single blanks between them. */
static bool take_number(const char **at, double *value)
{
    const size_t n = strcspn(*at, " \"");
    const bool good = pellet_number_parse(*at, n, '.', value) == PELLET_OK;

    *at += n;
    *at += **at == ' ';
    return good;
}

static bool read_axes(const char *plot, struct report_axes *axes)
{
    static const char key[] = " data-axes=\"";
    const char *at = strstr(plot, key);

    if (at == NULL)
        return false;
    at += strlen(key);
    return take_number(&at, &axes->left) && take_number(&at, &axes->right) && take_number(&at, &axes->low) &&
           take_number(&at, &axes->high) && take_number(&at, &axes->step) && *at == '"' &&
           axes->right >= 1.0 && axes->left > axes->right && axes->left < 1e5 && axes->high > axes->low &&
           fabs(axes->low) < 1e3 && fabs(axes->high) < 1e3 && axes->step * 20.0 > axes->high - axes->low;
}

/* The data of the path of a class; false where there is none or it holds anything but strokes. */
static bool read_curve(const char *plot, const char *path, const char **d, size_t *length)
{
    static const char key[] = " d=\"";
    const char *at = strstr(plot, path);
    const char *const end = at != NULL ? strchr(at, '>') : NULL;

    at = end != NULL ? strstr(at, key) : NULL;
    if (at == NULL || at > end)
        return false;
    *d = at + strlen(key);
    *length = strspn(*d, "Ml 0123456789-");
    return (*d)[*length] == '"' && *length > 0 && *length <= CURVE_BYTES_MAX;
}

bool report_drawing_read(const char *svg, struct report_drawing *drawing)
{
    struct report_drawing found = {0};
    const char *const plot = strstr(svg, "<svg class=\"p\" ");

    if (plot == NULL || !read_axes(plot, &found.axes) ||
        !read_curve(plot, "<path class=\"fc\" ", &found.curve, &found.curve_length))
        return false;
    if (!read_curve(plot, "<path class=\"fb\" ", &found.blank, &found.blank_length))
        found.blank = NULL;
    *drawing = found;
    return true;
}
