// SPDX-License-Identifier: GPL-3.0-or-later
/* What the next pellet is to hold: from how strong this one is, what will be done to it, and what
 * is known. */
#include "judge/advice_plan.h"

#include "judge/advice_grind.h"

#include <math.h>

/* A change of dose smaller than this is not worth the while when other faults are cured. */
#define KEEP_FROM 0.9
/* Of the mass, where a pellet is cloudy and nothing says how thick it is. */
#define LESS_POWDER 0.8

/* The height, before the grinding, that leaves most room to both limits afterwards; the target where the rule
 * set has no such limits. */
static double height_to_grind(const struct advice_plan *plan, double net)
{
    const struct pellet_finding *weak = pellet_finding_of(plan->v, "weak");
    const struct pellet_finding *strong = pellet_finding_of(plan->v, "saturation");
    const struct pellet_rules *rules = plan->in->rules;

    if (weak == NULL || strong == NULL || !(weak->limit > 0.0) || !(strong->limit > weak->limit))
        return rules->target_absorbance;
    const double mg_cm2 = pellet_dose_mg_cm2(plan->in->row, rules->balance_min_mg);
    const struct pellet_gains gains = pellet_grind_gains(&plan->now, mg_cm2, net);
    const struct pellet_limit window = {.low = weak->limit, .high = strong->limit};
    return fmin(pellet_grind_aim(&gains, window), rules->target_absorbance);
}

/* The lowest height to aim at where it may turn out higher by as much: midway between too faint and the
 * target. */
static double least_height(const struct advice_plan *plan)
{
    const struct pellet_finding *weak = pellet_finding_of(plan->v, "weak");
    const double target = plan->in->rules->target_absorbance;

    return weak != NULL && isfinite(weak->limit) ? fmin(sqrt(weak->limit * target), target) : target;
}

/*
 * By how much the dose is to change; 1 where it is right. A baseline that this very instruction is to cure
 * leaves all the room there is.
 */
static double wanted_factor(const struct advice_plan *plan)
{
    const struct pellet_strength *s = &plan->strength;
    const struct pellet_advice *advice = &plan->v->advice;
    const bool bound = pellet_strength_is_bound(s);
    const bool clears = advice->regrind || advice->spread;
    const double net = pellet_strength_to_dose(s);
    double aim = plan->in->rules->target_absorbance;

    if (advice->regrind)
        aim = height_to_grind(plan, net);
    if (bound)
        aim = fmin(aim, least_height(plan));
    const double factor = pellet_dose_factor(net, clears ? 0.0 : s->baseline, aim, bound);
    /* Too strong only because the baseline is high: what clears it cures both. */
    const bool is_right = factor > KEEP_FROM && factor < 1.0 / KEEP_FROM;
    const bool asked = clears ? !is_right : plan->now.strong || plan->now.faint;
    return asked ? factor : 1.0;
}

/* Less powder fuses clearer at the same load: into the window where the thickness is known, else a fifth
 * less. */
static double wanted_powder(const struct advice_plan *plan)
{
    const struct pellet_limit window = plan->in->rules->target_thickness_mm;

    if (plan->now.thick)
        return 0.5 * (window.low + window.high) / plan->now.thickness_mm;
    /* Once is enough: a pellet that stays cloudy all the same is not so because of its thickness. */
    return plan->now.cloudy && !plan->now.coarse && !plan->lesson.was.cloudy ? LESS_POWDER : 1.0;
}

static void note_dose(struct advice_plan *plan, const struct pellet_dose *dose, double factor)
{
    struct pellet_advice *advice = &plan->v->advice;
    const struct pellet_strength *s = &plan->strength;
    const bool known = !pellet_strength_is_bound(s) && s->low > 0.0 && isfinite(s->high) && factor != 1.0;

    advice->sample_factor = dose->sample_factor;
    advice->sample_factor_low = known ? dose->sample_factor * s->height / s->high : NAN;
    advice->sample_factor_high = known ? dose->sample_factor * s->height / s->low : dose->sample_factor;
    advice->powder_factor = dose->powder_factor;
    advice->take_mg = dose->take_mg;
    advice->add_kbr_mg = dose->add_kbr_mg;
    advice->press_mg = dose->press_mg;
    advice->fresh_mix = dose->way == PELLET_DOSE_FRESH;
    advice->thickness_mm = dose->thickness_mm;
}

/* What must be so whatever the dose is. */
static struct pellet_dose_wish wish_of(const struct advice_plan *plan, double factor, double powder,
                                       bool fresh)
{
    const struct pellet_rules *rules = plan->in->rules;

    return (struct pellet_dose_wish){.factor = factor,
                                     .powder_factor = powder,
                                     .fresh = fresh,
                                     .thickness_mm = plan->now.thickness_mm,
                                     .window_mm = rules->target_thickness_mm,
                                     .balance_min_mg = rules->balance_min_mg,
                                     .row = plan->in->row};
}

void advice_thinner(struct advice_plan *plan)
{
    const struct pellet_limit window = plan->in->rules->target_thickness_mm;
    const struct pellet_dose_wish wish =
        wish_of(plan, 1.0, 0.5 * (window.low + window.high) / plan->now.thickness_mm, true);
    struct pellet_dose dose;

    pellet_dose_solve(&wish, &dose);
    advice_say_dose(&dose, &plan->steps);
    note_dose(plan, &dose, 1.0);
}

void advice_amounts(struct advice_plan *plan)
{
    const struct pellet_diagnosis *now = &plan->now;

    if (now->no_sample || (now->faint && plan->strength.from == PELLET_STRENGTH_NONE))
        advice_steps_add(&plan->steps, PELLET_DO_CHECK_SAMPLE);
    if (now->no_sample || plan->strength.from == PELLET_STRENGTH_NONE)
        return;
    const double factor = wanted_factor(plan), powder = wanted_powder(plan);
    /* Finer grains, other KBr and dry powder are not to be had from the mix that is left. */
    const bool fresh = plan->v->advice.regrind || now->dirty || now->damp;
    const struct pellet_dose_wish wish = wish_of(plan, factor == 1.0 ? powder : factor, powder, fresh);
    struct pellet_dose dose;
    pellet_dose_solve(&wish, &dose);
    if (factor != 1.0)
        advice_say_strength(&plan->strength, &plan->steps);
    advice_say_dose(&dose, &plan->steps);
    note_dose(plan, &dose, factor);
}
