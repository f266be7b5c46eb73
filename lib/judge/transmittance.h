// SPDX-License-Identifier: GPL-3.0-or-later
/* Private to judge/: from the spectra of the inputs to transmittance, its noise and what it is against. */
#ifndef PELLET_JUDGE_TRANSMITTANCE_H
#define PELLET_JUDGE_TRANSMITTANCE_H

#include "pellet/checks.h"

/* n values, all `value`; NULL without memory. */
double *pellet_new_array(size_t n, double value);

/*
 * Fills single_beam, reference, transmittance, absolute, basis, conflict and sigma of a measurement that has
 * its grid, and marks the points that cannot be used. transmittance stays NULL where there is nothing to
 * divide by. Errors: E_MEMORY.
 */
pellet_status pellet_transmittance_take(struct pellet_measurement *measurement);

#endif
