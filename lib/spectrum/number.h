// SPDX-License-Identifier: GPL-3.0-or-later
/* Decimal numbers at the speed a million-point file needs, and just as exact as strtod. */
#ifndef PELLET_SPECTRUM_NUMBER_H
#define PELLET_SPECTRUM_NUMBER_H

#include <stdbool.h>
#include <stddef.h>

/* What may follow the digits. In packed JCAMP-DX tables the letters D and E are digits of their own. */
enum pellet_exponent {
    PELLET_EXPONENT_NONE,
    PELLET_EXPONENT_SIGNED, /* only where a sign follows the letter: 1.5e-03, 1.5E+03 */
    PELLET_EXPONENT_ANY     /* 1.5e3 too */
};

/*
 * Read the number that bytes[0..n) begins with.
 *
 * Given:     decimal   '.' or ','
 * Returned:  the count of bytes it takes up, 0 where no finite number begins; *value untouched then
 * Method:    where the digits fit into 53 bits and the power of ten into 10^22, both are exact doubles and
 *            one rounded multiplication or division gives the correctly rounded result; pellet_number_parse
 *            does the rest
 * Source:    W. D. Clinger, How to read floating point numbers accurately, Proc. PLDI (1990)
 */
size_t pellet_number_scan(const char *bytes, size_t n, char decimal, enum pellet_exponent exponent,
                          double *value);

/* The same where the number must fill all of bytes[0..n). */
bool pellet_number_whole(const char *bytes, size_t n, char decimal, double *value);

#endif
