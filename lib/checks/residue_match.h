// SPDX-License-Identifier: GPL-3.0-or-later
/* Looking for one earlier sample's pattern in a measurement. */
#ifndef PELLET_CHECKS_RESIDUE_MATCH_H
#define PELLET_CHECKS_RESIDUE_MATCH_H

#include "checks/checks.h"
#include "pellet/judge.h"

#define CHECKS_RESIDUE_BANDS_LEAST 3

/* What the comparison with one earlier sample came to. */
struct checks_residue_match {
    const char *name; /* borrowed from the earlier sample */
    size_t bands;     /* compared; below CHECKS_RESIDUE_BANDS_LEAST nothing can be said */
    double height;    /* A at the earlier sample's strongest band; 0 where no fit is believed */
    double r;         /* correlation of the two second derivatives; 0 where no fit is believed */
    double low_cm1, high_cm1;
};

/*
 * *serves is false where the earlier sample cannot serve: of the same name, not readable, off scale. Fails
 * for want of memory only.
 */
pellet_status checks_residue_compare(const struct pellet_measurement *measurement,
                                     const struct pellet_earlier *earlier, struct checks_residue_match *match,
                                     bool *serves);

#endif
