// SPDX-License-Identifier: GPL-3.0-or-later
/* The instruction as it is put together: what is wrong, and steps that come out in the order of work. */
#ifndef PELLET_JUDGE_ADVICE_STEPS_H
#define PELLET_JUDGE_ADVICE_STEPS_H

#include "judge/wording.h"

/* A step of PELLET_DO_LIST with what its places stand for. */
struct advice_step {
    bool on;
    double number[3];
    enum pellet_unit unit[3];
    char word[120];
};

/* Each sentence at most once. All zero is empty. */
struct advice_steps {
    bool wrong[PELLET_WRONG_COUNT];
    struct advice_step step[PELLET_DO_COUNT];
};

void advice_steps_add(struct advice_steps *steps, enum pellet_do what);
/* The first call for a sentence counts. `word` may be NULL. */
void advice_steps_add_words(struct advice_steps *steps, enum pellet_do what,
                            const struct pellet_words *words);

/* One sentence for what is wrong, then the steps; nothing where there is neither. */
void advice_steps_render(const struct advice_steps *steps, struct pellet_text *out);

#endif
