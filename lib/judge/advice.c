// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * From reasons to one instruction. For a remake: what is wrong (advice_diagnosis), how strong it truly is
 * (advice_strength), what the pellet before taught (advice_attempts), what grinding will do (advice_grind),
 * what the next one is to hold (advice_amounts, advice_dose) and how that is said (advice_words). For what is
 * to be measured again: a table of cures. The steps come out in the order of work (advice_steps).
 */
#include "judge/advice.h"

#include "judge/advice_plan.h"
#include "judge/advice_scan.h"

#include <math.h>

/* The true absorbance of the verdict is the total at the top. */
static void note_strength(struct advice_plan *plan)
{
    const struct pellet_strength *s = &plan->strength;
    struct pellet_found *found = &plan->v->found;

    found->strongest_band_cm1 = s->at_cm1;
    found->true_absorbance = s->height + s->baseline;
    found->true_absorbance_low = s->low + s->baseline;
    found->true_absorbance_high = isfinite(s->high) ? s->high + s->baseline : (double)NAN;
    plan->v->advice.lower_bound = pellet_strength_is_bound(s);
}

/* ---------------------------------------------------------------- a pellet to be made again */

/* Over a blank known to be dry the water came with the sample; else the KBr itself is the first suspect. */
static enum pellet_do how_to_dry(const struct advice_plan *plan)
{
    const struct pellet_inputs *in = plan->in;

    if (plan->lesson.was.damp)
        return PELLET_DO_DRY_AGAIN;
    /* To grind less long and to grind finer are not to be had at once. */
    if (in->subject.role == PELLET_SAMPLE && plan->v->advice.regrind)
        return PELLET_DO_DRY_AND_GRIND;
    if (in->subject.role == PELLET_SAMPLE && in->blank != NULL && in->blank->state == PELLET_BLANK_ACCEPTED)
        return PELLET_DO_DRY_SAMPLE;
    return PELLET_DO_DRY_KBR;
}

static enum pellet_do how_to_grind(const struct advice_plan *plan)
{
    if (plan->in->subject.role == PELLET_BLANK)
        return PELLET_DO_GRIND_KBR;
    return plan->lesson.was.coarse ? PELLET_DO_GRIND_AGAIN : PELLET_DO_GRIND;
}

static void say_wrong(struct advice_plan *plan)
{
    const struct pellet_diagnosis *now = &plan->now;
    bool *wrong = plan->steps.wrong;

    wrong[PELLET_WRONG_STRONG] = now->strong;
    wrong[PELLET_WRONG_FAINT] = now->faint && !now->no_sample;
    wrong[PELLET_WRONG_NO_SAMPLE] = now->no_sample;
    wrong[PELLET_WRONG_DAMP] = now->damp;
    wrong[PELLET_WRONG_COARSE] = now->coarse;
    wrong[PELLET_WRONG_CLOUDY] = now->cloudy && !now->thick;
    wrong[PELLET_WRONG_THICK] = now->thick;
    wrong[PELLET_WRONG_CARRY_OVER] = now->dirty;
    wrong[PELLET_WRONG_IMPURE] = now->impure;
    for (size_t i = 0; i < PELLET_WRONG_COUNT; i++) {
        if (wrong[i])
            return;
    }
    /* A rule set may ask for a remake where no cure is known: made anew, it may come out better. */
    wrong[PELLET_WRONG_OTHER] = true;
    advice_steps_add(&plan->steps, PELLET_DO_FRESH_SAME);
}

static void say_handling(struct advice_plan *plan)
{
    const struct pellet_diagnosis *now = &plan->now;
    struct pellet_advice *advice = &plan->v->advice;

    advice->clean = now->dirty || now->impure;
    advice->dry = now->damp;
    /* Light does not tell large grains from powder that did not fuse; and what stayed after grinding was not
     * the grains alone. */
    advice->regrind = now->coarse || (now->cloudy && !now->thick);
    advice->spread = now->cloudy || (now->coarse && plan->lesson.was.coarse);
    if (advice->clean)
        advice_steps_add(&plan->steps, PELLET_DO_CLEAN);
    if (now->impure)
        advice_steps_add(&plan->steps, PELLET_DO_FRESH_KBR);
    if (now->damp) {
        advice_steps_add(&plan->steps, how_to_dry(plan));
        advice_steps_add(&plan->steps, PELLET_DO_BEWARE_HEAT);
    }
    if (advice->regrind && !now->coarse)
        advice_steps_add(&plan->steps, PELLET_DO_CLOUDY_UNKNOWN);
    if (advice->regrind) {
        advice_steps_add(&plan->steps, how_to_grind(plan));
        advice_steps_add(&plan->steps, PELLET_DO_BEWARE_DUST);
    }
    if (advice->spread) {
        advice_steps_add(&plan->steps, PELLET_DO_SPREAD);
        if (plan->lesson.was.cloudy)
            advice_steps_add(&plan->steps, PELLET_DO_SPREAD_AGAIN);
        advice_steps_add(&plan->steps, PELLET_DO_BEWARE_LOAD);
    }
}

static pellet_status advise_remake(struct advice_plan *plan)
{
    if (pellet_diagnose(plan->m, plan->in->rules, plan->v, &plan->now) != PELLET_OK)
        return PELLET_E_MEMORY;
    pellet_lesson_learn(plan->in, &plan->lesson);
    plan->strength.from = PELLET_STRENGTH_NONE;
    say_wrong(plan);
    say_handling(plan);
    if (plan->in->subject.role != PELLET_SAMPLE) {
        advice_steps_add(&plan->steps, PELLET_DO_REMAKE_BLANK);
        return PELLET_OK;
    }
    if (plan->m != NULL) {
        const pellet_status status = pellet_strength_find(plan->m, &plan->strength);
        if (status != PELLET_OK)
            return status;
        pellet_lesson_apply(&plan->lesson, &plan->strength);
        if (plan->strength.from != PELLET_STRENGTH_NONE)
            note_strength(plan);
    }
    pellet_lesson_say(&plan->lesson, &plan->now, &plan->strength, &plan->steps);
    advice_amounts(plan);
    return PELLET_OK;
}

/* ---------------------------------------------------------------- a pellet to be measured again */

/* What more scans did not lower is no noise: where the pellet is known to be thick, its fringes. */
static pellet_status advise_thinner(struct advice_plan *plan, bool *thinner)
{
    *thinner = false;
    if (plan->in->subject.role != PELLET_SAMPLE || plan->m == NULL || !pellet_noise_stays(plan->in, plan->v))
        return PELLET_OK;
    if (pellet_diagnose(plan->m, plan->in->rules, plan->v, &plan->now) != PELLET_OK)
        return PELLET_E_MEMORY;
    *thinner = plan->now.thickness_mm > plan->in->rules->target_thickness_mm.high;
    if (*thinner) {
        plan->steps.wrong[PELLET_WRONG_NOISY] = true;
        const struct pellet_words words = {.number = {plan->now.thickness_mm, NAN, NAN},
                                           .unit = {PELLET_UNIT_MM}};
        advice_steps_add_words(&plan->steps, PELLET_DO_FRINGES, &words);
        plan->strength.from = PELLET_STRENGTH_NONE;
        advice_thinner(plan);
    }
    return PELLET_OK;
}

/* ---------------------------------------------------------------- both */

pellet_status pellet_advise(const struct pellet_inputs *inputs, const struct pellet_measurement *measurement,
                            struct pellet_verdict *verdict)
{
    struct advice_plan plan = {.in = inputs, .m = measurement, .v = verdict};
    struct pellet_text text = {0};
    bool thinner = false; /* then the first reason is told */
    const pellet_status status =
        verdict->outcome == PELLET_REMAKE ? advise_remake(&plan) : advise_thinner(&plan, &thinner);

    if (!thinner && verdict->outcome != PELLET_REMAKE && verdict->outcome != PELLET_PASS &&
        verdict->reason_count > 0 && inputs->subject.role == PELLET_SAMPLE &&
        pellet_reason_keeps_pellet(&verdict->reason[0]))
        advice_steps_add(&plan.steps, PELLET_DO_KEEP);
    for (size_t i = thinner ? 1 : 0; i < verdict->reason_count; i++) {
        if (verdict->reason[i].outcome != PELLET_REMAKE)
            pellet_advise_scan(inputs, &verdict->reason[i], verdict, &plan.steps);
    }
    if (status != PELLET_OK)
        return status;
    advice_steps_render(&plan.steps, &text);
    verdict->instruction =
        text.failed ? NULL : pellet_arena_string(&verdict->arena, pellet_text_string(&text));
    pellet_text_free(&text);
    return verdict->instruction != NULL ? PELLET_OK : PELLET_E_MEMORY;
}
