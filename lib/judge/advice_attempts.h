// SPDX-License-Identifier: GPL-3.0-or-later
/* What the pellet before taught: whether its fault was cured, and what a change of dose did. */
#ifndef PELLET_JUDGE_ADVICE_ATTEMPTS_H
#define PELLET_JUDGE_ADVICE_ATTEMPTS_H

#include "judge/advice_diagnosis.h"
#include "judge/advice_steps.h"
#include "judge/advice_strength.h"

struct pellet_lesson {
    const struct pellet_attempt *before; /* the newest earlier pellet of the sample; NULL: none */
    struct pellet_diagnosis was;         /* what was the matter with it */
    double dose_ratio;                   /* sample in this pellet's beam over that of the one before; NaN */
    bool weighed;                        /* the ratio is from the worksheet, not from what was advised */
    double strength_before;              /* A of its strongest band, NaN where only bounded */
};

void pellet_lesson_learn(const struct pellet_inputs *inputs, struct pellet_lesson *lesson);

/*
 * What the one before predicts for the strength of this one, joined with what this one shows by itself, each
 * with the weight of its certainty. Only where this one is off scale; else nothing changes.
 */
void pellet_lesson_apply(const struct pellet_lesson *lesson, struct pellet_strength *strength);

/* Say what was learnt. */
void pellet_lesson_say(const struct pellet_lesson *lesson, const struct pellet_diagnosis *now,
                       const struct pellet_strength *strength, struct advice_steps *steps);

#endif
