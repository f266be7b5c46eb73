// SPDX-License-Identifier: GPL-3.0-or-later
/* An earlier sample's spectrum as a pattern to look for. */
#ifndef PELLET_CHECKS_EARLIER_H
#define PELLET_CHECKS_EARLIER_H

#include "checks/checks.h"
#include "pellet/judge.h"

/* A spectrum as absorbance on its own grid, with its bands; owns its memory. */
struct checks_earlier {
    size_t n;
    double *wavenumber, *absorbance;
    size_t band_count;
    struct pellet_band *band; /* strongest first */
};

/*
 * Take the absorbance, ratioed over the blank where the spectrum is a single beam, and find its bands.
 * Errors: E_USAGE where there is neither a ratio nor a blank to make one, E_MEMORY, E_SHORT, E_FIT.
 */
pellet_status checks_earlier_open(const struct pellet_earlier *earlier, struct checks_earlier *curve);
void checks_earlier_close(struct checks_earlier *earlier); /* the zero value is allowed */

/* The strongest band that may serve as a scale; NULL where it is too faint or anything is off scale. */
const struct pellet_band *checks_earlier_scale(const struct pellet_measurement *measurement,
                                               const struct checks_earlier *earlier);

/* Whether room air makes bands at this place in anybody's spectrum. */
bool checks_is_everywhere(const struct pellet_band *band);

#endif
