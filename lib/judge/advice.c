// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * From reasons to one instruction. For a remake: what is wrong (advice_diagnosis), how strong it truly is
 * (advice_strength), what the pellet before taught (advice_attempts), what the next one is to hold
 * (advice_dose). For what is to be measured again: a table of cures. The steps come out in the order of work
 * (advice_steps).
 */
#include "judge/advice.h"

#include "judge/advice_attempts.h"
#include "judge/advice_diagnosis.h"
#include "judge/advice_dose.h"
#include "judge/advice_scan.h"
#include "judge/advice_steps.h"
#include "judge/advice_strength.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/*
 * Finer grains make stronger bands (G. Duyckaerts, Analyst 84, 201 (1959), for the effect; from memory), by
 * how much is not known beforehand. In the absorption of spheres by anomalous diffraction (van de Hulst 1957)
 * a strong band gains 2.4 times where the grains are just so coarse that the skew shows, six times at 10 um,
 * and hardly anything where they are fine. So the share of the target that is aimed at before the grinding:
 * what is left in the middle of the range of gains.
 */
#define GRIND_AIM_SKEWED 0.28 /* gains of 2.4 to 6 */
#define GRIND_AIM        0.36 /* gains of 1 to 6 */
#define GRIND_AIM_FINE   0.65 /* the bands' shape is that of fine grains: hardly any */
/* A change of dose smaller than this is not worth the while when other faults are cured. */
#define KEEP_FROM 0.75
/* Of the mass, where a pellet is cloudy and nothing says how thick it is. */
#define LESS_POWDER 0.8
/* Sample on the beam that independent recipes agree on: 21 CFR 436.211 and Dent (science: 0.4 to 1.5 mg/cm2).
 * Strong and weak absorbers need less and more; beyond a factor of four something was weighed wrong. */
#define USUAL_DOSE_LOW  0.4
#define USUAL_DOSE_HIGH 1.5
#define DOSE_DOUBT      4.0

/* All that an instruction grows from. */
struct advising {
    const struct pellet_inputs *in;
    const struct pellet_measurement *m; /* NULL where nothing could be measured */
    struct pellet_verdict *v;
    struct pellet_diagnosis now;
    struct pellet_lesson lesson;
    struct pellet_strength strength;
    struct advice_steps steps;
};

/* ---------------------------------------------------------------- words */

/* The bench word nearest in ratio. */
static const char *bench_word(double factor)
{
    static const struct {
        double factor;
        const char *word;
    } words[] = {
        {0.05, "about a twentieth"}, {0.1, "about a tenth"},         {0.2, "about a fifth"},
        {0.25, "about a quarter"},   {0.33, "about a third"},        {0.5, "about half"},
        {0.67, "about two thirds"},  {0.75, "about three quarters"}, {0.8, "about four fifths"},
        {0.9, "about nine tenths"},  {1.25, "a quarter more of"},    {1.5, "half as much again of"},
        {2.0, "about twice"},        {3.0, "about three times"},     {4.0, "about four times"},
        {6.0, "about six times"},    {10.0, "about ten times"},      {15.0, "about fifteen times"},
    };
    size_t best = 0;

    for (size_t i = 1; i < sizeof words / sizeof words[0]; i++) {
        if (fabs(log(factor / words[i].factor)) < fabs(log(factor / words[best].factor)))
            best = i;
    }
    return words[best].word;
}

/* Two digits are what a hand can weigh out and an eye can keep. */
static double two_digits(double value)
{
    char text[32];
    double rounded = value;

    pellet_number_round(value, 2, text);
    return sscanf(text, "%lf", &rounded) == 1 ? rounded : value;
}

static void say_factor(struct advising *a, enum pellet_do what, double factor)
{
    const struct pellet_words words = {.number = {two_digits(factor), two_digits(1.0 / factor - 1.0), NAN},
                                       .word = bench_word(factor)};
    advice_steps_add_words(&a->steps, what, &words);
}

static void say_masses(struct advising *a, enum pellet_do what, double first, double second, double third)
{
    const struct pellet_words words = {.number = {first, second, third},
                                       .unit = {PELLET_UNIT_MG, PELLET_UNIT_MG, PELLET_UNIT_MG}};
    advice_steps_add_words(&a->steps, what, &words);
}

/* ---------------------------------------------------------------- how strong */

static void say_strength(struct advising *a)
{
    const struct pellet_strength *s = &a->strength;
    char interval[64];
    struct pellet_words words = {.number = {s->at_cm1, s->height, NAN},
                                 .unit = {PELLET_UNIT_WAVENUMBER, PELLET_UNIT_ABSORBANCE}};

    switch (s->from) {
    case PELLET_STRENGTH_FLANKS:
        snprintf(interval, sizeof interval, "%.2g to %.2g A", s->low, s->high);
        words.word = interval;
        advice_steps_add_words(&a->steps, PELLET_DO_BY_FLANKS, &words);
        break;
    case PELLET_STRENGTH_PATTERN:
        words.number[2] = s->pellet;
        advice_steps_add_words(&a->steps, PELLET_DO_BY_PATTERN, &words);
        break;
    case PELLET_STRENGTH_BOUND:
        words.number[1] = s->low;
        advice_steps_add_words(&a->steps, PELLET_DO_BY_BOUND, &words);
        break;
    case PELLET_STRENGTH_SEEN:
    case PELLET_STRENGTH_NONE:
        break;
    }
}

/* The true absorbance of the verdict is the total at the top. */
static void note_strength(struct advising *a)
{
    const struct pellet_strength *s = &a->strength;
    struct pellet_found *found = &a->v->found;

    found->strongest_band_cm1 = s->at_cm1;
    found->true_absorbance = s->height + s->baseline;
    found->true_absorbance_low = s->low + s->baseline;
    found->true_absorbance_high = isfinite(s->high) ? s->high + s->baseline : (double)NAN;
    a->v->advice.lower_bound = pellet_strength_is_bound(s);
}

/* ---------------------------------------------------------------- the dose */

/*
 * By how much the dose is to change; 1 where it is right. A baseline that this very instruction is to cure
 * leaves all the room there is.
 */
static double wanted_factor(const struct advising *a)
{
    const struct pellet_strength *s = &a->strength;
    const double target = a->in->rules->target_absorbance;
    const bool clears = a->v->advice.regrind || a->v->advice.spread;
    const double share = !a->v->advice.regrind ? 1.0
                         : a->now.skewed       ? GRIND_AIM_SKEWED
                         : a->now.fine         ? GRIND_AIM_FINE
                                               : GRIND_AIM;
    const double factor = pellet_dose_factor(pellet_strength_to_dose(s), clears ? 0.0 : s->baseline,
                                             share * target, pellet_strength_is_bound(s));

    /* Too strong only because the baseline is high: what clears it cures both. */
    const bool is_right = factor > KEEP_FROM && factor < 1.0 / KEEP_FROM;
    const bool asked = clears ? !is_right : a->now.strong || a->now.faint;
    return s->from != PELLET_STRENGTH_NONE && asked ? factor : 1.0;
}

/* Less powder fuses clearer at the same load: into the window where the thickness is known, else a fifth
 * less. */
static double wanted_powder(const struct advising *a)
{
    const struct pellet_limit window = a->in->rules->target_thickness_mm;

    if (a->now.thick)
        return 0.5 * (window.low + window.high) / a->now.thickness_mm;
    /* Once is enough: a pellet that stays cloudy all the same is not so because of its thickness. */
    return a->now.cloudy && !a->now.coarse && !a->lesson.was.cloudy ? LESS_POWDER : 1.0;
}

static void say_dose(struct advising *a, const struct pellet_dose *dose)
{
    switch (dose->way) {
    case PELLET_DOSE_KEEP:
        if (isfinite(dose->press_mg) && dose->powder_factor < 0.99)
            say_masses(a, PELLET_DO_LESS_POWDER_MG, dose->press_mg, NAN, NAN);
        else if (dose->powder_factor < 0.99)
            say_factor(a, PELLET_DO_LESS_POWDER, dose->powder_factor);
        break;
    case PELLET_DOSE_PRESS_LESS:
        if (isfinite(dose->press_mg))
            say_masses(a, PELLET_DO_PRESS_LESS_MG, dose->press_mg, NAN, NAN);
        else
            say_factor(a, PELLET_DO_PRESS_LESS, dose->powder_factor);
        break;
    case PELLET_DOSE_DILUTE:
        if (isfinite(dose->take_mg))
            say_masses(a, PELLET_DO_DILUTE_MG, dose->take_mg, dose->add_kbr_mg, dose->press_mg);
        else
            say_factor(a, PELLET_DO_DILUTE, dose->sample_factor);
        break;
    case PELLET_DOSE_FRESH:
        if (isfinite(dose->take_mg)) {
            say_masses(a, PELLET_DO_FRESH_MG, dose->take_mg, dose->add_kbr_mg, dose->press_mg);
        } else {
            if (fabs(dose->sample_factor - 1.0) < 0.03)
                advice_steps_add(&a->steps, PELLET_DO_FRESH_SAME);
            else
                say_factor(a, dose->sample_factor < 1.0 ? PELLET_DO_FRESH_LESS : PELLET_DO_FRESH_MORE,
                           dose->sample_factor);
            if (dose->powder_factor < 0.99)
                say_factor(a, PELLET_DO_LESS_POWDER, dose->powder_factor);
        }
        break;
    }
}

static void doubt_dose(struct advising *a, double mg_cm2)
{
    char word[32];
    const struct pellet_words words = {.number = {NAN, NAN, NAN}, .word = word};

    if (mg_cm2 < USUAL_DOSE_LOW / DOSE_DOUBT || mg_cm2 > USUAL_DOSE_HIGH * DOSE_DOUBT) {
        snprintf(word, sizeof word, "%.2g mg/cm2", mg_cm2);
        advice_steps_add_words(&a->steps, PELLET_DO_UNUSUAL_DOSE, &words);
    }
}

static void note_dose(struct advising *a, const struct pellet_dose *dose, double factor)
{
    struct pellet_advice *advice = &a->v->advice;
    const struct pellet_strength *s = &a->strength;
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

static pellet_status advise_dose(struct advising *a)
{
    const struct pellet_diagnosis *now = &a->now;

    if (now->no_sample || a->strength.from == PELLET_STRENGTH_NONE) {
        if (now->no_sample || now->faint)
            advice_steps_add(&a->steps, PELLET_DO_CHECK_SAMPLE);
        if (a->strength.from == PELLET_STRENGTH_NONE || now->no_sample)
            return PELLET_OK;
    }
    const double factor = wanted_factor(a);
    const struct pellet_dose_wish wish = {
        .factor = factor * (factor == 1.0 ? wanted_powder(a) : 1.0),
        .powder_factor = wanted_powder(a),
        /* Finer grains, other KBr and dry powder are not to be had from the mix that is left. */
        .fresh = a->v->advice.regrind || now->dirty || now->damp,
        .thickness_mm = now->thickness_mm,
        .window_mm = a->in->rules->target_thickness_mm,
        .balance_min_mg = a->in->rules->balance_min_mg,
        .row = a->in->row,
    };
    struct pellet_dose dose;
    pellet_dose_solve(&wish, &dose);
    if (factor != 1.0)
        say_strength(a);
    say_dose(a, &dose);
    if (dose.way != PELLET_DOSE_KEEP)
        doubt_dose(a, dose.mg_cm2);
    note_dose(a, &dose, factor);
    return PELLET_OK;
}

/* ---------------------------------------------------------------- a pellet to be made again */

/* Over a blank known to be dry the water came with the sample; else the KBr itself is the first suspect. */
static enum pellet_do how_to_dry(const struct advising *a)
{
    const struct pellet_inputs *in = a->in;

    if (a->lesson.was.damp)
        return PELLET_DO_DRY_AGAIN;
    if (in->subject.role == PELLET_SAMPLE && in->blank != NULL && in->blank->state == PELLET_BLANK_ACCEPTED)
        return PELLET_DO_DRY_SAMPLE;
    return PELLET_DO_DRY_KBR;
}

static enum pellet_do how_to_grind(const struct advising *a)
{
    if (a->in->subject.role == PELLET_BLANK)
        return PELLET_DO_GRIND_KBR;
    return a->lesson.was.coarse ? PELLET_DO_GRIND_AGAIN : PELLET_DO_GRIND;
}

static void say_wrong(struct advising *a)
{
    const struct pellet_diagnosis *now = &a->now;
    bool *wrong = a->steps.wrong;

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
    advice_steps_add(&a->steps, PELLET_DO_FRESH_SAME);
}

static void say_handling(struct advising *a)
{
    const struct pellet_diagnosis *now = &a->now;
    struct pellet_advice *advice = &a->v->advice;

    advice->clean = now->dirty || now->impure;
    advice->dry = now->damp;
    /* Light does not tell large grains from powder that did not fuse; and what stayed after grinding was not
     * the grains alone. */
    advice->regrind = now->coarse || (now->cloudy && !now->thick);
    advice->spread = now->cloudy || (now->coarse && a->lesson.was.coarse);
    if (advice->clean)
        advice_steps_add(&a->steps, PELLET_DO_CLEAN);
    if (now->impure)
        advice_steps_add(&a->steps, PELLET_DO_FRESH_KBR);
    if (now->damp) {
        advice_steps_add(&a->steps, how_to_dry(a));
        advice_steps_add(&a->steps, PELLET_DO_BEWARE_HEAT);
    }
    if (advice->regrind && !now->coarse)
        advice_steps_add(&a->steps, PELLET_DO_CLOUDY_UNKNOWN);
    if (advice->regrind) {
        advice_steps_add(&a->steps, how_to_grind(a));
        advice_steps_add(&a->steps, PELLET_DO_BEWARE_DUST);
    }
    if (advice->spread) {
        advice_steps_add(&a->steps, PELLET_DO_SPREAD);
        if (a->lesson.was.cloudy)
            advice_steps_add(&a->steps, PELLET_DO_SPREAD_AGAIN);
        advice_steps_add(&a->steps, PELLET_DO_BEWARE_LOAD);
    }
}

static pellet_status advise_remake(struct advising *a)
{
    if (pellet_diagnose(a->m, a->in->rules, a->v, &a->now) != PELLET_OK)
        return PELLET_E_MEMORY;
    pellet_lesson_learn(a->in, &a->lesson);
    a->strength.from = PELLET_STRENGTH_NONE;
    say_wrong(a);
    say_handling(a);
    if (a->in->subject.role != PELLET_SAMPLE) {
        advice_steps_add(&a->steps, PELLET_DO_REMAKE_BLANK);
        return PELLET_OK;
    }
    if (a->m != NULL) {
        const pellet_status status = pellet_strength_find(a->m, &a->strength);
        if (status != PELLET_OK)
            return status;
        pellet_lesson_apply(&a->lesson, &a->strength);
        if (a->strength.from != PELLET_STRENGTH_NONE)
            note_strength(a);
    }
    pellet_lesson_say(&a->lesson, &a->now, &a->strength, &a->steps);
    return advise_dose(a);
}

/* ---------------------------------------------------------------- both */

pellet_status pellet_advise(const struct pellet_inputs *inputs, const struct pellet_measurement *measurement,
                            struct pellet_verdict *verdict)
{
    struct advising a = {.in = inputs, .m = measurement, .v = verdict};
    struct pellet_text text = {0};
    pellet_status status = PELLET_OK;

    if (verdict->outcome == PELLET_REMAKE)
        status = advise_remake(&a);
    else if (verdict->outcome != PELLET_PASS && verdict->reason_count > 0 &&
             inputs->subject.role == PELLET_SAMPLE && pellet_reason_keeps_pellet(&verdict->reason[0]))
        advice_steps_add(&a.steps, PELLET_DO_KEEP);
    for (size_t i = 0; i < verdict->reason_count; i++) {
        if (verdict->reason[i].outcome != PELLET_REMAKE)
            pellet_advise_scan(inputs, &verdict->reason[i], verdict, &a.steps);
    }
    if (status != PELLET_OK)
        return status;
    advice_steps_render(&a.steps, &text);
    verdict->instruction =
        text.failed ? NULL : pellet_arena_string(&verdict->arena, pellet_text_string(&text));
    pellet_text_free(&text);
    return verdict->instruction != NULL ? PELLET_OK : PELLET_E_MEMORY;
}
