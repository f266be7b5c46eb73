// SPDX-License-Identifier: GPL-3.0-or-later
/* JCAMP-DX 4.24 as any reader takes it: AFFN, lines of at most 80 characters, ASCII only. */
#include "pellet/spectrum.h"

#include <math.h>
#include <string.h>
#include <time.h>

#define EVEN_TOLERANCE 1e-3        /* of a step */
#define WHOLE_MAX      999999999.0 /* nine digits: below the noise of any instrument, and within 32 bits */
#define FACTOR_LEAST   1e-290      /* keeps the division below from overflowing */
#define LINE_LENGTH    80
#define ORDINATE_WIDTH 11 /* a blank, a sign and nine digits */

struct layout {
    double step;
    bool even;
    double y_factor; /* a power of ten */
};

static pellet_status check(const struct pellet_spectrum *spectrum, struct pellet_error *error)
{
    if (spectrum->n < 2)
        return pellet_fail(error, PELLET_E_SHORT, "a spectrum of %zu points cannot be written", spectrum->n);
    for (size_t i = 0; i < spectrum->n; i++) {
        const double x = spectrum->wavenumber[i];
        if (!isfinite(x) || (i > 0 && !(x > spectrum->wavenumber[i - 1])))
            return pellet_fail(error, PELLET_E_RANGE, "wavenumber %g of point %zu does not rise", x, i + 1);
        if (isinf(spectrum->y[i]))
            return pellet_fail(error, PELLET_E_RANGE, "ordinate of point %zu is infinite", i + 1);
    }
    return PELLET_OK;
}

static struct layout find_layout(const struct pellet_spectrum *spectrum)
{
    const size_t n = spectrum->n;
    const double first = spectrum->wavenumber[0];
    struct layout layout = {.even = true, .y_factor = 1};
    double highest = 0;
    layout.step = (spectrum->wavenumber[n - 1] - first) / (double)(n - 1);
    for (size_t i = 0; i < n; i++) {
        const double off = spectrum->wavenumber[i] - (first + (double)i * layout.step);
        layout.even = layout.even && fabs(off) <= EVEN_TOLERANCE * layout.step;
        if (!isnan(spectrum->y[i]))
            highest = fmax(highest, fabs(spectrum->y[i]));
    }
    if (highest > 0)
        layout.y_factor = fmax(pow(10, ceil(log10(highest / WHOLE_MAX))), FACTOR_LEAST);
    return layout;
}

/* ---------------------------------------------------------------- labels */

/* A text in a label: printable ASCII, and no "$$", which would begin a comment. */
static void add_text(struct pellet_text *out, const char *label, const char *value)
{
    pellet_text_addf(out, "##%s= ", label);
    for (const char *at = value ? value : ""; *at; at++) {
        const unsigned char c = (unsigned char)*at;
        if ((c & 0xC0) == 0x80) /* inside of a character that '?' stands for already */
            continue;
        pellet_text_addc(out, c < ' ' || c == 0x7F ? ' ' : c < 0x7F ? (char)c : '?');
        if (c == '$' && at[1] == '$')
            pellet_text_addc(out, ' ');
    }
    pellet_text_addc(out, '\n');
}

static void add_number(struct pellet_text *out, const char *label, double value)
{
    char number[32];
    pellet_number_format(value, number);
    pellet_text_addf(out, "##%s= %s\n", label, number);
}

/* LONGDATE is of version 5 and tells the offset; readers of 4.24 pass it by. */
static void add_time(struct pellet_text *out, pellet_ns measured)
{
    if (measured == PELLET_NO_TIME)
        return;
    struct tm utc;
    pellet_ns seconds_ns = measured / PELLET_NS_PER_S - (measured % PELLET_NS_PER_S < 0);
    const time_t seconds = (time_t)seconds_ns;
    char text[64];
    if (!gmtime_r(&seconds, &utc))
        return;
    strftime(text, sizeof text, "##LONGDATE= %Y/%m/%d %H:%M:%S +0000\n", &utc);
    pellet_text_adds(out, text);
}

static const char *y_units(enum pellet_ordinate ordinate)
{
    static const char *const units[PELLET_ORDINATE_COUNT] = {
        [PELLET_ORDINATE_UNKNOWN] = "ARBITRARY UNITS",
        [PELLET_ORDINATE_SINGLE_BEAM] = "ARBITRARY UNITS",
        [PELLET_ORDINATE_TRANSMITTANCE] = "TRANSMITTANCE",
        [PELLET_ORDINATE_ABSORBANCE] = "ABSORBANCE",
        [PELLET_ORDINATE_OTHER] = "UNKNOWN",
    };
    return units[ordinate];
}

static void add_labels(struct pellet_text *out, const struct pellet_spectrum *spectrum, const char *origin)
{
    add_text(out, "TITLE", spectrum->title);
    pellet_text_adds(out, "##JCAMP-DX= 4.24\n##DATA TYPE= INFRARED SPECTRUM\n");
    add_text(out, "ORIGIN", origin);
    pellet_text_adds(out, "##OWNER= \n");
    add_time(out, spectrum->measured);
    if (spectrum->setting[PELLET_SETTING_INSTRUMENT])
        add_text(out, "SPECTROMETER/DATA SYSTEM", spectrum->setting[PELLET_SETTING_INSTRUMENT]);
    if (spectrum->ordinate == PELLET_ORDINATE_SINGLE_BEAM)
        pellet_text_adds(out, "##DATA PROCESSING= single beam\n");
    if (spectrum->resolution > 0)
        add_number(out, "RESOLUTION", spectrum->resolution);
    add_text(out, "XUNITS", "1/CM");
    add_text(out, "YUNITS", y_units(spectrum->ordinate));
}

static void add_axis(struct pellet_text *out, const struct pellet_spectrum *spectrum,
                     const struct layout *layout)
{
    add_number(out, "XFACTOR", 1);
    add_number(out, "YFACTOR", layout->y_factor);
    add_number(out, "FIRSTX", spectrum->wavenumber[0]);
    add_number(out, "LASTX", spectrum->wavenumber[spectrum->n - 1]);
    if (layout->even)
        add_number(out, "DELTAX", layout->step);
    pellet_text_addf(out, "##NPOINTS= %zu\n", spectrum->n);
    if (!isnan(spectrum->y[0]))
        add_number(out, "FIRSTY", round(spectrum->y[0] / layout->y_factor) * layout->y_factor);
}

/* ---------------------------------------------------------------- tables */

static void add_ordinate(struct pellet_text *out, double y, const struct layout *layout)
{
    if (isnan(y))
        pellet_text_addc(out, '?');
    else
        pellet_text_addf(out, "%.0f", round(y / layout->y_factor) + 0.0); /* + 0.0: no minus sign before 0 */
}

static void add_even(struct pellet_text *out, const struct pellet_spectrum *spectrum,
                     const struct layout *layout)
{
    pellet_text_adds(out, "##XYDATA= (X++(Y..Y))\n");
    for (size_t i = 0; i < spectrum->n && !out->failed;) {
        const size_t line = out->length;
        pellet_text_addf(out, "%.10g", spectrum->wavenumber[i]);
        do {
            pellet_text_addc(out, ' ');
            add_ordinate(out, spectrum->y[i++], layout);
        } while (i < spectrum->n && out->length - line + ORDINATE_WIDTH <= LINE_LENGTH);
        pellet_text_addc(out, '\n');
    }
}

static void add_pairs(struct pellet_text *out, const struct pellet_spectrum *spectrum,
                      const struct layout *layout)
{
    char x[32];
    pellet_text_adds(out, "##XYPOINTS= (XY..XY)\n");
    for (size_t i = 0; i < spectrum->n; i++) {
        pellet_number_format(spectrum->wavenumber[i], x);
        pellet_text_addf(out, "%s, ", x);
        add_ordinate(out, spectrum->y[i], layout);
        pellet_text_addc(out, '\n');
    }
}

pellet_status pellet_jcamp_write(const struct pellet_spectrum *spectrum, const char *origin,
                                 struct pellet_text *out, struct pellet_error *error)
{
    pellet_status status = check(spectrum, error);
    if (status != PELLET_OK)
        return status;
    struct pellet_text text = {0};
    const struct layout layout = find_layout(spectrum);
    add_labels(&text, spectrum, origin);
    add_axis(&text, spectrum, &layout);
    if (layout.even)
        add_even(&text, spectrum, &layout);
    else
        add_pairs(&text, spectrum, &layout);
    pellet_text_adds(&text, "##END=\n");
    pellet_text_add(out, pellet_text_string(&text), text.length);
    status = text.failed || out->failed ? pellet_fail(error, PELLET_E_MEMORY, "no memory to write a spectrum")
                                        : PELLET_OK;
    pellet_text_free(&text);
    return status;
}
