// SPDX-License-Identifier: GPL-3.0-or-later
/* Seeded random numbers, the same on every machine. Source: G. Marsaglia, J. Stat. Softw. 8 (14), 2003. */
#ifndef PELLET_TESTS_CORE_RANDOM_H
#define PELLET_TESTS_CORE_RANDOM_H

#include <stddef.h>
#include <stdint.h>

static inline uint64_t random_next(uint64_t *state)
{
    *state ^= *state << 13;
    *state ^= *state >> 7;
    *state ^= *state << 17;
    return *state;
}

/* 0 <= number < n */
static inline size_t random_below(uint64_t *state, size_t n)
{
    return (size_t)((random_next(state) >> 11) % n);
}

#endif
