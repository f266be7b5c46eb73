// SPDX-License-Identifier: GPL-3.0-or-later
/* What every test includes: cmocka in the order it wants, and a comparison of doubles that it lacks. */
#ifndef PELLET_TESTING_H
#define PELLET_TESTING_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

/* cmocka 1.1.5 compares floats, not doubles; each expected value has its own absolute tolerance. */
#define assert_near(actual, expected, tolerance)                                                             \
    do {                                                                                                     \
        const double assert_near_a = (actual), assert_near_e = (expected), assert_near_t = (tolerance);      \
        if (!(fabs(assert_near_a - assert_near_e) <= assert_near_t)) {                                       \
            fail_msg("%s is %.17g, expected %.17g +- %g", #actual, assert_near_a, assert_near_e,             \
                     assert_near_t);                                                                         \
        }                                                                                                    \
    } while (0)

/* Times are multiplied by this before something counts as hanging: valgrind and sanitizers slow all down. */
static inline unsigned testing_patience(void)
{
    const char *factor = getenv("PELLETD_TEST_PATIENCE");
    const long n = factor ? strtol(factor, NULL, 10) : 1;
    return n >= 1 && n <= 100 ? (unsigned)n : 1;
}

/* A path below ../shared beside the project, or NULL (with a line that says so) where it is missing. */
static inline const char *testing_shared(const char *below, char *path, size_t size)
{
    snprintf(path, size, "%s/../shared/%s", PELLET_TREE, below);
    if (access(path, R_OK) == 0)
        return path;
    printf("skipped: ../shared/%s is not here\n", below);
    return NULL;
}

#endif
