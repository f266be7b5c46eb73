// SPDX-License-Identifier: GPL-3.0-or-later
/* How much of the water-vapour pattern is in a measurement; shared by the checks that must not be misled. */
#ifndef PELLET_CHECKS_VAPOUR_H
#define PELLET_CHECKS_VAPOUR_H

#include "pellet/checks.h"

struct pellet_vapour {
    double peak_to_peak; /* A, signed */
    double sigma;        /* of it */
    double r;            /* correlation with the pattern, in the region where it is greatest */
    double resolution;   /* cm-1 that the pattern was made for */
};

/*
 * The method stands in vapour.c. Errors: E_RANGE where neither region can be used, E_MEMORY; vapour
 * untouched.
 */
pellet_status pellet_vapour_fit(const struct pellet_measurement *measurement, struct pellet_vapour *vapour);

#endif
