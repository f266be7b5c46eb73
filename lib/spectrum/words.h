// SPDX-License-Identifier: GPL-3.0-or-later
/* The words that files use for the abscissa, the ordinate and the facts about a measurement: one place. */
#ifndef PELLET_SPECTRUM_WORDS_H
#define PELLET_SPECTRUM_WORDS_H

#include "pellet/spectrum.h"

/* What the abscissa is, as labelled. */
enum pellet_abscissa {
    PELLET_ABSCISSA_UNKNOWN, /* no label, or none that says */
    PELLET_ABSCISSA_WAVENUMBER,
    PELLET_ABSCISSA_MICROMETRE,
    PELLET_ABSCISSA_NANOMETRE,
    PELLET_ABSCISSA_WAVELENGTH, /* a wavelength without its unit */
    PELLET_ABSCISSA_OTHER       /* something that is no infrared abscissa (time, m/z, Raman shift, ...) */
};

enum pellet_abscissa pellet_abscissa_word(const char *label, size_t n);

/* How far a label says whether a transmittance is in %. */
enum pellet_scale { PELLET_SCALE_UNKNOWN, PELLET_SCALE_FRACTION, PELLET_SCALE_PERCENT };

/* The ordinate that a label names; UNKNOWN where no word of ours is in it. */
enum pellet_ordinate pellet_ordinate_word(const char *label, size_t n, enum pellet_scale *scale);

/* The facts about a measurement that a file may state; the settings in the order of enum pellet_setting. */
enum pellet_fact {
    PELLET_FACT_RESOLUTION = PELLET_SETTING_RESOLUTION,
    PELLET_FACT_SCANS = PELLET_SETTING_SCANS,
    PELLET_FACT_GAIN = PELLET_SETTING_GAIN,
    PELLET_FACT_APERTURE = PELLET_SETTING_APERTURE,
    PELLET_FACT_APODISATION = PELLET_SETTING_APODISATION,
    PELLET_FACT_DETECTOR = PELLET_SETTING_DETECTOR,
    PELLET_FACT_INSTRUMENT = PELLET_SETTING_INSTRUMENT,
    PELLET_FACT_TITLE = PELLET_SETTING_COUNT,
    PELLET_FACT_LONGDATE, /* date and time in one */
    PELLET_FACT_DATE,
    PELLET_FACT_TIME,
    PELLET_FACT_XUNITS,
    PELLET_FACT_YUNITS,
    PELLET_FACT_COUNT
};

/* The fact that a key of a metadata line or a JCAMP-DX label names; PELLET_FACT_COUNT for any other. */
enum pellet_fact pellet_fact_word(const char *key, size_t n);

/*
 * A label as the tables compare it: capitals without accents, digits and '%', what stands in brackets left
 * out, cut to `size` - 1.
 */
void pellet_word_normalise(const char *label, size_t n, char *out, size_t size);

#endif
