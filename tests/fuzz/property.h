// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * What must hold for any bytes a reader is given. A broken property aborts, so that a fuzzer keeps the input.
 */
#ifndef PELLET_FUZZ_PROPERTY_H
#define PELLET_FUZZ_PROPERTY_H

#include "pellet/spectrum.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef pellet_status property_reader(const char *bytes, size_t n, const struct pellet_read_options *options,
                                      struct pellet_spectra *spectra, struct pellet_error *error);

static inline void property_holds(bool holds, const char *what)
{
    if (holds)
        return;
    fprintf(stderr, "broken: %s\n", what);
    abort();
}

static inline void property_of_spectrum(const struct pellet_spectrum *s)
{
    property_holds(s->n >= PELLET_POINTS_MIN, "a spectrum has 50 points");
    for (size_t i = 0; i < s->n; i++) {
        property_holds(isfinite(s->wavenumber[i]) && s->wavenumber[i] > 0,
                       "wavenumbers are finite and above 0");
        property_holds(i == 0 || s->wavenumber[i] > s->wavenumber[i - 1], "wavenumbers rise");
        property_holds(!isinf(s->y[i]), "ordinates are finite or unknown");
    }
    property_holds(isnan(s->resolution) || s->resolution > 0, "a resolution is above 0 or unknown");
    property_holds(!s->title || pellet_utf8_valid(s->title, strlen(s->title)), "a title is UTF-8");
    property_holds(!s->warnings || s->warnings[0], "warnings are not empty");
}

/* Whether an ordinate at an end is written as 0, which the reader may take for an artefact of an export. */
static inline bool property_end_is_zero(const struct pellet_spectrum *s, double highest)
{
    return fabs(s->y[0]) <= 1e-8 * highest || fabs(s->y[s->n - 1]) <= 1e-8 * highest;
}

/* What we write we read: the same grid and, to nine digits of the highest, the same ordinates. */
static inline void property_of_writer(const struct pellet_spectrum *s)
{
    struct pellet_text text = {0};
    struct pellet_spectra back = {0};
    struct pellet_error error = {0};
    double highest = 1e-280, step = (s->wavenumber[s->n - 1] - s->wavenumber[0]) / (double)(s->n - 1);
    const bool transmittance = s->ordinate == PELLET_ORDINATE_TRANSMITTANCE;
    size_t known = 0;
    for (size_t i = 0; i < s->n; i++) {
        known += isnan(s->y[i]) ? 0 : 1;
        highest = isnan(s->y[i]) ? highest : fmax(highest, fabs(s->y[i]));
    }
    if (transmittance && highest > 2) /* numbers that no transmittance has may be read as % */
        return;
    property_holds(pellet_jcamp_write(s, "fuzzer", &text, &error) == PELLET_OK, "a spectrum can be written");
    const pellet_status status = pellet_jcamp_read(text.data, text.length, NULL, &back, &error);
    /* Rounded to nine digits, neighbours may cross the rule for artefacts: then the last points needed can be
     * missing. With two points to spare this is no excuse. */
    if (status == PELLET_E_SHORT && known < PELLET_POINTS_MIN + 2 && property_end_is_zero(s, highest)) {
        pellet_text_free(&text);
        return;
    }
    if (status != PELLET_OK)
        fprintf(stderr, "line %zu: %s\n%.400s\n", error.line, error.message, text.data);
    property_holds(status == PELLET_OK && back.n == 1 && back.item->n == s->n, "what was written is read");
    for (size_t i = 0; i < s->n; i++) {
        property_holds(fabs(back.item->wavenumber[i] - s->wavenumber[i]) <= 2e-3 * step,
                       "the grid comes back");
        const double off = fabs(back.item->y[i] - s->y[i]);
        const bool dropped = isnan(back.item->y[i]); /* unknown before, or an end that is exactly 0 */
        property_holds(dropped || off <= 1e-8 * highest, "the ordinates come back");
    }
    pellet_spectra_clear(&back);
    pellet_text_free(&text);
}

static inline void property_of_reader(property_reader *reader, const uint8_t *bytes, size_t n)
{
    struct pellet_spectra spectra = {0};
    struct pellet_error error = {0};
    /* Small limits, so that time and memory go into the parser and not into points. */
    const struct pellet_read_options options = {
        .ordinate = PELLET_ORDINATE_ABSORBANCE, .points_max = 20000, .line_max = 4096, .column = "b"};
    if (reader((const char *)bytes, n, &options, &spectra, &error) != PELLET_OK) {
        property_holds(error.message[0] != 0 && error.status != PELLET_OK, "an error says what is wrong");
        property_holds(spectra.n == 0 && !spectra.item, "an error leaves the output alone");
        return;
    }
    property_holds(spectra.n >= 1, "success gives a spectrum");
    for (size_t i = 0; i < spectra.n; i++) {
        property_of_spectrum(&spectra.item[i]);
        property_of_writer(&spectra.item[i]);
    }
    pellet_spectra_clear(&spectra);
}

#endif
