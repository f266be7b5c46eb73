// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef PELLET_CORE_NUMBER_H
#define PELLET_CORE_NUMBER_H

#include <stddef.h>

/* The length of the longest decimal number at the start of `bytes[0..n)`; 0 where none begins there. */
size_t pellet_number_span(const char *bytes, size_t n, char decimal);

#endif
