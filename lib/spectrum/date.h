// SPDX-License-Identifier: GPL-3.0-or-later
/* Dates and times as instruments write them. */
#ifndef PELLET_SPECTRUM_DATE_H
#define PELLET_SPECTRUM_DATE_H

#include "pellet/core.h"

enum pellet_date_order {
    PELLET_DATE_YEAR_FIRST, /* JCAMP-DX: YY/MM/DD; two-digit years may stand first */
    PELLET_DATE_FREE        /* elsewhere: three two-digit numbers say nothing certain */
};

enum pellet_date_found {
    PELLET_DATE_NONE,      /* no date that could be read */
    PELLET_DATE_AMBIGUOUS, /* 03/04/2026: March or April? */
    PELLET_DATE_FOUND
};

/*
 * Read a date, and the time of day from the same text or else from `time` (may be NULL).
 *
 * Understood: 2026-03-04, 2026/3/4, 4.3.2026, 4 Mar 2026, Mar 4, 2026 (English month names), 13/2/1997 and
 * 2/13/1997 where only one order is possible, and in JCAMP-DX 97/02/13; 14:47, 14:47:05.5, 2:47:05 PM;
 * offsets Z, +01:00, -0500. Two-digit years are 1970 to 2069. A day without a time of day is no measured
 * time, since blanks are paired by the minute.
 *
 * Returned:  civil  untouched unless PELLET_DATE_FOUND
 */
enum pellet_date_found pellet_date_read(const char *date, const char *time, enum pellet_date_order order,
                                        struct pellet_civil *civil);

#endif
