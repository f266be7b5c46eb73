// SPDX-License-Identifier: GPL-3.0-or-later
/* The conditions of the measurement that are counted apart. */
#include "score.h"

#include <math.h>
#include <string.h>

static bool always(const struct bench_case *of)
{
    (void)of;
    return true;
}

static bool spacing_4(const struct bench_case *of)
{
    return of->beam.spacing_cm1 > 3.0;
}

static bool spacing_2(const struct bench_case *of)
{
    return of->beam.spacing_cm1 > 1.5 && !spacing_4(of);
}

static bool spacing_1(const struct bench_case *of)
{
    return of->beam.spacing_cm1 > 0.75 && of->beam.spacing_cm1 <= 1.5;
}

static bool spacing_half(const struct bench_case *of)
{
    return of->beam.spacing_cm1 <= 0.75;
}

static bool to_650(const struct bench_case *of)
{
    return of->beam.low_cm1 > 600.0;
}

static bool to_400(const struct bench_case *of)
{
    return !to_650(of);
}

static bool filled(const struct bench_case *of)
{
    return of->beam.zero_fill > 1;
}

static bool plain(const struct bench_case *of)
{
    return !filled(of);
}

/* RMS noise of A near 2100: the beam's noise over its energy there, times sqrt 2 for two beams. */
static double noise_of(const struct bench_case *of)
{
    return of->blank_beam.noise * M_LOG10E * M_SQRT2 / (0.85 * 0.9);
}

static bool quiet(const struct bench_case *of)
{
    return noise_of(of) < 0.00023;
}

static bool middling(const struct bench_case *of)
{
    return !quiet(of) && noise_of(of) < 0.00054;
}

static bool loud(const struct bench_case *of)
{
    return noise_of(of) >= 0.00054;
}

static bool faulty_noise(const struct bench_case *of)
{
    for (size_t i = 0; i < 2 && of->fault[i]; i++) {
        if (strcmp(of->fault[i], "noise") == 0)
            return true;
    }
    return false;
}

static bool lone_blank(const struct bench_case *of)
{
    return of->role == PELLET_BLANK && !of->has_open_beam && !of->is_later_blank;
}

static bool later_blank(const struct bench_case *of)
{
    return of->is_later_blank;
}

static bool second_attempt(const struct bench_case *of)
{
    return of->is_second_attempt;
}

const struct bench_condition bench_conditions[BENCH_CONDITIONS] = {
    {.name = "all", .holds = always},
    {.name = "spacing 4", .holds = spacing_4},
    {.name = "spacing 2", .holds = spacing_2},
    {.name = "spacing 1", .holds = spacing_1},
    {.name = "spacing 0.5", .holds = spacing_half},
    {.name = "4000-400", .holds = to_400},
    {.name = "4000-650", .holds = to_650},
    {.name = "not zero-filled", .holds = plain},
    {.name = "zero-filled", .holds = filled},
    {.name = "noise 0.0001..", .holds = quiet},
    {.name = "noise 0.00023..", .holds = middling},
    {.name = "noise 0.00054..", .holds = loud},
    {.name = "noise put in", .holds = faulty_noise},
    {.name = "first blank alone", .holds = lone_blank},
    {.name = "later blank", .holds = later_blank},
    {.name = "second attempt", .holds = second_attempt},
};
