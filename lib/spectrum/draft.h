// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * A spectrum as a reader found it, and what makes a struct pellet_spectrum of it: the same rules for every
 * form of file.
 */
#ifndef PELLET_SPECTRUM_DRAFT_H
#define PELLET_SPECTRUM_DRAFT_H

#include "pellet/spectrum.h"
#include "spectrum/date.h"
#include "spectrum/words.h"

struct pellet_draft {
    size_t n, capacity;
    double *x; /* [n] as in the file, any order, in `abscissa` */
    double *y; /* [n] NaN where unknown */
    enum pellet_abscissa abscissa;
    enum pellet_ordinate ordinate; /* UNKNOWN: the file does not say */
    enum pellet_scale scale;       /* FRACTION: the standard of this form of file says so */
    char *fact[PELLET_FACT_COUNT]; /* owned, trimmed, not empty; NULL where not stated */
    enum pellet_date_order date_order;
    size_t table_line;          /* the line where the numbers begin */
    struct pellet_text warning; /* '\n' between them */
};

void pellet_draft_clear(struct pellet_draft *draft);

/* E_MEMORY, or E_LIMIT beyond points_max. */
pellet_status pellet_draft_add(struct pellet_draft *draft, double x, double y, size_t points_max,
                               struct pellet_error *error);

/* Keep a fact, trimmed of blanks and quotes; the first statement of each fact counts. */
pellet_status pellet_draft_fact(struct pellet_draft *draft, enum pellet_fact fact, const char *bytes,
                                size_t n, struct pellet_error *error);

/*
 * Take a line of text for what it states: key and value with a colon, an equals sign, a tab, a semicolon or a
 * comma between. Only facts below `below` are taken; PELLET_FACT_COUNT means all.
 */
pellet_status pellet_draft_fact_line(struct pellet_draft *draft, const char *line, size_t n, int below,
                                     struct pellet_error *error);

void pellet_draft_warn(struct pellet_draft *draft, const char *format, ...) PELLET_PRINTF(2, 3);

/*
 * Turn a draft into a spectrum: wavenumbers in cm-1 and rising, transmittance as a fraction, facts read.
 *
 * Given:     options   never NULL, limits filled in
 * Returned:  spectrum  zero or cleared before; takes over the draft's memory; untouched on error
 * Errors:    E_SHORT, E_FORMAT, E_UNIT, E_RANGE, E_MEMORY
 * Method:    - no label of the abscissa: cm-1, unless no value reaches 100, which no infrared grid in cm-1
 * does
 *            - transmittance without a word on its scale: as the station says, else %, with a warning, where
 *              the 90 % quantile exceeds 2, since no pellet lets twice the light through
 *            - a first or last ordinate of exactly 0 that stands more than ten times farther from its
 * neighbour than any of the next eight points do from theirs is an artefact of the export in an absorbance or
 * a single beam: it becomes unknown, with a warning
 */
pellet_status pellet_draft_finish(struct pellet_draft *draft, const struct pellet_read_options *options,
                                  struct pellet_spectrum *spectrum, struct pellet_error *error);

/* The options with every limit filled in; `options` may be NULL. */
struct pellet_read_options pellet_read_options_filled(const struct pellet_read_options *options);

#endif
