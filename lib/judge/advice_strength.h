// SPDX-License-Identifier: GPL-3.0-or-later
/* How strong the sample's strongest band truly is, whatever the light at its top. */
#ifndef PELLET_JUDGE_ADVICE_STRENGTH_H
#define PELLET_JUDGE_ADVICE_STRENGTH_H

#include "pellet/judge.h"

/* Where the figure is from, the surest first. */
enum pellet_strength_from {
    PELLET_STRENGTH_NONE,    /* no band of the sample */
    PELLET_STRENGTH_SEEN,    /* the band is on scale */
    PELLET_STRENGTH_PATTERN, /* its weaker bands, whose ratio an earlier attempt shows */
    PELLET_STRENGTH_FLANKS,  /* its flanks */
    PELLET_STRENGTH_BOUND    /* what light is left bounds it; the flanks say no more, or too little */
};

struct pellet_strength {
    enum pellet_strength_from from;
    double at_cm1;
    double height;    /* A above the baseline: the best figure there is */
    double low, high; /* nine truths in ten; high is infinite where only a bound is known */
    double baseline;  /* A below the band */
    int pellet;       /* the attempt that shows it or that the figure was joined with; 0: none */
};

/*
 * Errors: E_MEMORY. Without a band `from` is NONE and the numbers are NaN.
 */
pellet_status pellet_strength_find(const struct pellet_measurement *measurement,
                                   struct pellet_strength *strength);

/* Whether only a lower bound is known. */
static inline bool pellet_strength_is_bound(const struct pellet_strength *strength)
{
    return strength->from == PELLET_STRENGTH_BOUND;
}

/* The height to dose for. Of a bound it is the low end, so that the next pellet is sure to hold enough
 * sample; the best figure within an interval that wide would be a guess. */
static inline double pellet_strength_to_dose(const struct pellet_strength *strength)
{
    return pellet_strength_is_bound(strength) ? strength->low : strength->height;
}

#endif
