// SPDX-License-Identifier: GPL-3.0-or-later
/* Maxima of a curve and how far each stands out. */
#ifndef PELLET_SIGNAL_PROMINENCE_H
#define PELLET_SIGNAL_PROMINENCE_H

#include "pellet/core.h"

struct signal_maximum {
    size_t at;          /* index; the middle of a level top */
    size_t left, right; /* the nearest points higher than it, or the ends of its run of usable points */
    double prominence;  /* above the higher of the two lowest points on the way there */
};

/*
 * All maxima of y[n], in rising index. A run of usable points ends at NaN; a run's end is never a maximum.
 * Linear in n. Returned: maximum, malloc'ed, the caller frees it; NULL when there are none. Errors: E_MEMORY.
 */
pellet_status signal_maxima(const double *y, size_t n, struct signal_maximum **maximum, size_t *count);

#endif
