// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The spectrum, and its readers and writers. A reader takes bytes and returns values; it opens nothing.
 */
#ifndef PELLET_SPECTRUM_H
#define PELLET_SPECTRUM_H

#include "pellet/core.h"

/* What the ordinate is, as the file or the station says. Nothing is guessed from the numbers alone. */
enum pellet_ordinate {
    PELLET_ORDINATE_UNKNOWN,       /* the file does not say */
    PELLET_ORDINATE_SINGLE_BEAM,   /* energy at the detector, arbitrary units */
    PELLET_ORDINATE_TRANSMITTANCE, /* a fraction; files in % are converted by the reader */
    PELLET_ORDINATE_ABSORBANCE,    /* decadic */
    PELLET_ORDINATE_OTHER,         /* the file names something else (reflectance, counts, ...) */
    PELLET_ORDINATE_COUNT
};
const char *pellet_ordinate_id(enum pellet_ordinate ordinate); /* "single_beam", "transmittance", ... */

/* The measuring settings a file may state; where both files state one, they must agree (design: pairing). */
enum pellet_setting {
    PELLET_SETTING_RESOLUTION,
    PELLET_SETTING_SCANS,
    PELLET_SETTING_GAIN,
    PELLET_SETTING_APERTURE,
    PELLET_SETTING_APODISATION,
    PELLET_SETTING_DETECTOR,
    PELLET_SETTING_INSTRUMENT,
    PELLET_SETTING_COUNT
};
const char *pellet_setting_id(enum pellet_setting setting); /* "resolution", "scans", ... */

struct pellet_spectrum {
    size_t n;
    double *wavenumber; /* [n] cm-1, strictly rising, finite, > 0 */
    double *y;          /* [n] in `ordinate`; NaN where the file says the ordinate is unknown */
    enum pellet_ordinate ordinate;
    double resolution;  /* cm-1 as stated; NaN where not stated. Never inferred from the spacing. */
    pellet_ns measured; /* from the file's own labels; PELLET_NO_TIME where they are silent */
    char *title;        /* NULL where none */
    char *setting[PELLET_SETTING_COUNT]; /* as stated, trimmed; NULL where not stated */
    char *warnings; /* lines that must reach the verdict, '\n' between them; NULL where none */
};

/* Free what the spectrum owns and return it to the zero value; NULL is allowed. */
void pellet_spectrum_clear(struct pellet_spectrum *spectrum);
/* A deep copy into `to`, which must be cleared or zero. */
pellet_status pellet_spectrum_copy(const struct pellet_spectrum *from, struct pellet_spectrum *to);

/* The blocks of a file in order; most files hold one. */
struct pellet_spectra {
    size_t n;
    struct pellet_spectrum *item;
};
void pellet_spectra_clear(struct pellet_spectra *spectra);

#define PELLET_POINTS_MIN 50

/* What a reader refuses beyond, where nothing else is said. */
#define PELLET_READ_BYTES_MAX  (UINT64_C(64) << 20)
#define PELLET_READ_POINTS_MAX 4000000
#define PELLET_READ_LINE_MAX   ((size_t)1 << 20)

/* How to read where the file is silent, and what to refuse. Limits of 0 mean those above. */
struct pellet_read_options {
    enum pellet_ordinate ordinate; /* the station's word; used only where the file does not say */
    bool ordinate_percent;         /* with ordinate transmittance: the numbers are % */
    const char *timezone;          /* for times without an offset; NULL is UTC */
    const char *column; /* CSV with several ordinate columns: the name of the one wanted; NULL: refuse */
    uint64_t bytes_max; /* of the file */
    size_t points_max;  /* of one spectrum */
    size_t line_max;    /* bytes, after decoding to UTF-8 */
};

/*
 * Read a spectrum file. The form is told by content: a first label `##TITLE=` (after blanks, a BOM or `$$`
 * comments) is JCAMP-DX, everything else is CSV. Text is UTF-8, UTF-16 with a BOM, or else Latin-1.
 *
 * Given:     bytes[n]  the file's content, any bytes at all
 *            options   see above; NULL means all defaults
 * Returned:  spectra   at least one block; the caller clears it; untouched on error
 * Errors:    E_FORMAT, E_NUMBER, E_UNIT, E_RANGE, E_LIMIT, E_SHORT, E_MEMORY with line, cause and remedy in
 *            `error`; line 0 where no single line is at fault
 * Method:    CSV: delimiter (tab, semicolon, comma, blanks) and decimal mark are those under which most lines
 *            are rows of two or more numbers, on a tie the first in that order with the point before the
 *            comma. The table begins with the first two rows in sequence of equally many numbers; what stands
 *            above is heading, text below is passed by with a warning, anything else that is no row is
 *            refused. JCAMP-DX: XYDATA in AFFN, PAC, SQZ, DIF and DUP, and pairs; every infrared block of a
 *            compound file, each with a warning where others were left out or seem to be missing; ordinates
 *            that fail the X- or Y-check or NPOINTS are refused. Both: the abscissa comes in cm-1 and rising;
 *            transmittance as a fraction, also where a file calls percent "transmittance" (a tenth of the
 *            numbers above 2; with a warning); a first or last ordinate of exactly 0 that stands out from its
 *            neighbours is unknown in an absorbance or a single beam (an artefact of exports; with a
 *            warning).
 * Source:    R. S. McDonald, P. A. Wilks, Appl. Spectrosc. 42, 151 (1988)
 */
pellet_status pellet_spectra_read(const char *bytes, size_t n, const struct pellet_read_options *options,
                                  struct pellet_spectra *spectra, struct pellet_error *error);
pellet_status pellet_csv_read(const char *bytes, size_t n, const struct pellet_read_options *options,
                              struct pellet_spectra *spectra, struct pellet_error *error);
pellet_status pellet_jcamp_read(const char *bytes, size_t n, const struct pellet_read_options *options,
                                struct pellet_spectra *spectra, struct pellet_error *error);

/*
 * Write a spectrum as JCAMP-DX 4.24, `XYDATA=(X++(Y..Y))` in AFFN where the abscissa is evenly spaced to
 * 1e-3 of a step, else XYPOINTS. NaN ordinates are written as '?', as the standard allows.
 * Source: R. S. McDonald, P. A. Wilks, Appl. Spectrosc. 42, 151 (1988).
 */
pellet_status pellet_jcamp_write(const struct pellet_spectrum *spectrum, const char *origin,
                                 struct pellet_text *out, struct pellet_error *error);

#endif
