// SPDX-License-Identifier: GPL-3.0-or-later
/* From the reasons of a verdict to what is the matter with pellet, blank and measurement. */
#ifndef PELLET_JUDGE_ADVICE_DIAGNOSIS_H
#define PELLET_JUDGE_ADVICE_DIAGNOSIS_H

#include "pellet/judge.h"

/* Each is set by a reason for a remake alone; what is to be measured again stands in the reasons
 * themselves. */
struct pellet_diagnosis {
    bool strong, faint, no_sample;
    bool damp;
    bool coarse;         /* skewed bands, or a baseline that rises toward high wavenumbers */
    double skew_share;   /* of the bands, whichever way, over its limit; NaN where it was not checked */
    bool cloudy;         /* dark, whatever the cause */
    bool thick;          /* cloudy, and by its mass or its own fringes thicker than advice would have it */
    bool dirty;          /* an earlier sample's pattern */
    bool impure;         /* of a blank: a band that pure KBr has not */
    double thickness_mm; /* NaN where neither mass nor fringes tell */
};

/* What a check found, whatever became of it; NULL where it was not made. */
const struct pellet_finding *pellet_finding_of(const struct pellet_verdict *verdict, const char *check);
/* A reason by its check; NULL where it is none. */
const struct pellet_finding *pellet_reason_of(const struct pellet_verdict *verdict, const char *check);

/*
 * measurement may be NULL: then the thickness is not known.
 * Source: the scatter of grains far below and near the wavelength, H. C. van de Hulst, Light Scattering by
 * Small Particles (1957), from memory; high flank steep: C. Prost, Clays Clay Miner. 21, 363 (1973).
 */
pellet_status pellet_diagnose(const struct pellet_measurement *measurement, const struct pellet_rules *rules,
                              const struct pellet_verdict *verdict, struct pellet_diagnosis *diagnosis);

#endif
