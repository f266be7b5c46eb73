// SPDX-License-Identifier: GPL-3.0-or-later
/* Private to judge/: all that the instruction for a pellet to be made again grows from. */
#ifndef PELLET_JUDGE_ADVICE_PLAN_H
#define PELLET_JUDGE_ADVICE_PLAN_H

#include "judge/advice_attempts.h"
#include "judge/advice_diagnosis.h"
#include "judge/advice_dose.h"
#include "judge/advice_steps.h"
#include "judge/advice_strength.h"

struct advice_plan {
    const struct pellet_inputs *in;
    const struct pellet_measurement *m; /* NULL where nothing could be measured */
    struct pellet_verdict *v;
    struct pellet_diagnosis now;
    struct pellet_lesson lesson;
    struct pellet_strength strength;
    struct advice_steps steps;
};

/* What the next pellet is to hold (advice_amounts.c): into the verdict's advice and the steps. Needs all the
 * others, and what of the advice is handling. */
void advice_amounts(struct advice_plan *plan);

/* A pellet of the same sample in the beam, as thick as advice would have it. Needs the thickness. */
void advice_thinner(struct advice_plan *plan);

/* Its sentences (advice_words.c). */
void advice_say_strength(const struct pellet_strength *strength, struct advice_steps *steps);
void advice_say_dose(const struct pellet_dose *dose, struct advice_steps *steps);

#endif
