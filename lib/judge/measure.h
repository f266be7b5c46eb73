// SPDX-License-Identifier: GPL-3.0-or-later
/* From inputs to a measurement: ratio, masks, noise, baseline, bands, water. */
#ifndef PELLET_JUDGE_MEASURE_H
#define PELLET_JUDGE_MEASURE_H

#include "pellet/judge.h"

/*
 * Everything that the checks share.
 *
 * Given:     inputs       with a readable subject; borrowed as long as the measurement lives
 * Returned:  measurement  cleared by pellet_measurement_clear; untouched on error
 * Errors:    E_MEMORY
 */
pellet_status pellet_measure(const struct pellet_inputs *inputs, struct pellet_measurement *measurement,
                             struct pellet_error *error);
void pellet_measurement_clear(struct pellet_measurement *measurement);

/* The ratioed absorbance as a spectrum of its own, for the derived file. E_SHORT where there is no ratio. */
pellet_status pellet_measurement_ratio(const struct pellet_measurement *measurement,
                                       struct pellet_spectrum *ratio, struct pellet_error *error);

#endif
