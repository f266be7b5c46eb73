// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Publishing a verdict with all that is derived from it, in the order that keeps every reader safe: outdated
 * derived files go first, new ones are written, the verdict comes last.
 */
#ifndef PELLETD_OUTPUTS_H
#define PELLETD_OUTPUTS_H

#include "place.h"

/* Earlier contents whose summaries a verdict keeps. */
#define PREVIOUS_MAX 20

/* What derived files are made from. */
struct outputs_spectra {
    const struct pellet_spectrum *ratio; /* the ratioed absorbance, n = 0 where there is none */
    const struct pellet_spectrum *blank; /* the single beam it was divided by; NULL where there is none */
};

/*
 * Publish.
 *
 * Given:     name     of the spectrum
 *            id       what was judged; the spectrum must still be that
 *            spectra  for the derived files
 *            verdict  as judged; `judged`, `previous` and `output` are filled here
 * Errors:    E_CHANGED  the spectrum is no longer what was judged: nothing was written
 *            E_MISSING  the station folder is no longer where it was: nothing was written
 *            E_LIMIT    the verdict there is of a newer format: nothing was written
 *            E_SPACE, E_DENIED, E_IO, ...: not all was written, and the verdict was not
 */
pellet_status outputs_publish(const struct place *place, const char *name, const struct pellet_file_id *id,
                              const struct outputs_spectra *spectra, struct pellet_verdict *verdict,
                              struct pellet_error *error);

/* The names of the files that are derived for a verdict, into its `output`. E_MEMORY. */
pellet_status outputs_list(const char *name, const struct pellet_spectrum *ratio,
                           struct pellet_verdict *verdict, struct pellet_error *error);

/* Only the derived files, once more; fills `output`. */
pellet_status outputs_restore(const struct place *place, const char *name,
                              const struct outputs_spectra *spectra, struct pellet_verdict *verdict,
                              struct pellet_error *error);

/* Whether all derived files that a verdict lists are there. */
bool outputs_complete(const struct place *place, const struct pellet_verdict *verdict);

#endif
