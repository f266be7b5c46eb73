// SPDX-License-Identifier: GPL-3.0-or-later
#include "judge/advice_attempts.h"

#include "pellet/reference.h"

#include <math.h>

/* How sure (1 sigma of the logarithm) a change of dose is that was weighed, and one that was only advised:
 * 0.2 mg in 2 mg, and a person who may have done otherwise. */
#define WEIGHED_ERROR 0.15
#define ADVISED_ERROR 0.35
/* A change of dose that did not do what was meant is worth a word beyond this factor. */
#define STEP_MISSED 1.6
#define NINE_IN_TEN 1.645

/* Sample in the beam, mg/cm2, as the worksheet has it; NaN where it does not say. */
static double dose_of(const struct pellet_worksheet_row *row)
{
    if (row == NULL || !(row->sample_mg > 0.0) || !(row->kbr_mg > 0.0) || !(row->die_mm > 0.0))
        return NAN;
    const double mixed = row->sample_mg + row->kbr_mg;
    const double pressed = row->pressed_mg > 0.0 ? row->pressed_mg : mixed;
    return row->sample_mg / mixed * pressed / pellet_die_area_cm2(row->die_mm);
}

static const struct pellet_attempt *pellet_before(const struct pellet_inputs *in)
{
    for (size_t i = 0; i < in->attempt_count; i++) {
        const struct pellet_attempt *attempt = &in->attempt[i];
        if (attempt->verdict != NULL && attempt->source.pellet != in->subject.pellet &&
            attempt->verdict->outcome == PELLET_REMAKE)
            return attempt;
    }
    return NULL;
}

void pellet_lesson_learn(const struct pellet_inputs *in, struct pellet_lesson *lesson)
{
    *lesson = (struct pellet_lesson){.before = pellet_before(in), .dose_ratio = NAN, .strength_before = NAN};
    if (lesson->before == NULL)
        return;
    const struct pellet_verdict *then = lesson->before->verdict;
    const double weighed = dose_of(in->row) / dose_of(lesson->before->row);
    (void)pellet_diagnose(NULL, in->rules, then, &lesson->was);
    lesson->weighed = isfinite(weighed);
    lesson->dose_ratio = lesson->weighed ? weighed : then->advice.sample_factor * then->advice.powder_factor;
    /* Finer grains make stronger bands: then the one before predicts nothing. */
    if (isfinite(then->found.true_absorbance_high) && !then->advice.lower_bound && !then->advice.regrind &&
        then->band_count > 0)
        lesson->strength_before = fmax(then->found.true_absorbance, then->band[0].height);
}

void pellet_lesson_apply(const struct pellet_lesson *lesson, struct pellet_strength *s)
{
    const double predicted = lesson->strength_before * lesson->dose_ratio;

    if ((s->from != PELLET_STRENGTH_FLANKS && s->from != PELLET_STRENGTH_BOUND) || !(predicted > s->low))
        return;
    const struct pellet_verdict *then = lesson->before->verdict;
    const double sigma_then =
        log(then->found.true_absorbance_high / then->found.true_absorbance) / NINE_IN_TEN;
    const double sigma_told = hypot(sigma_then, lesson->weighed ? WEIGHED_ERROR : ADVISED_ERROR);
    /* A bound has no upper end; it is taken as known no better than to a factor of two. */
    const double sigma_seen = isfinite(s->high) ? log(s->high / s->low) / (2.0 * NINE_IN_TEN) : M_LN2;
    const double told = 1.0 / (sigma_told * sigma_told), seen = 1.0 / (sigma_seen * sigma_seen);
    const double joined = (told * log(predicted) + seen * log(s->height)) / (told + seen);
    const double sigma = sqrt(1.0 / (told + seen));
    s->height = exp(joined);
    s->low = fmax(s->low, exp(joined - NINE_IN_TEN * sigma));
    s->high = exp(joined + NINE_IN_TEN * sigma);
    s->pellet = lesson->before->source.pellet;
    if (s->high <= 2.0 * s->low)
        s->from = PELLET_STRENGTH_FLANKS;
}

/* ---------------------------------------------------------------- in words */

struct fault {
    bool was, is;
    const char *word;
};

static void say_fault(const struct pellet_lesson *lesson, const struct fault *fault,
                      struct advice_steps *steps)
{
    const struct pellet_words words = {.number = {lesson->before->source.pellet, NAN, NAN},
                                       .word = fault->word};

    if (fault->was)
        advice_steps_add_words(steps, fault->is ? PELLET_DO_LEARNT_AGAIN : PELLET_DO_LEARNT_CURED, &words);
}

/* A change of dose that had another effect than was meant. */
static void say_step(const struct pellet_lesson *lesson, const struct pellet_strength *strength,
                     struct advice_steps *steps)
{
    const double step = strength->height / lesson->strength_before;
    const double off = step / lesson->dose_ratio;
    const struct pellet_words words = {.number = {lesson->before->source.pellet, step, lesson->dose_ratio}};

    if (strength->from == PELLET_STRENGTH_SEEN && !lesson->before->verdict->advice.regrind &&
        (off > STEP_MISSED || off < 1.0 / STEP_MISSED))
        advice_steps_add_words(steps, PELLET_DO_LEARNT_STEP, &words);
}

void pellet_lesson_say(const struct pellet_lesson *lesson, const struct pellet_diagnosis *now,
                       const struct pellet_strength *strength, struct advice_steps *steps)
{
    if (lesson->before == NULL)
        return;
    const struct pellet_diagnosis *was = &lesson->was;
    const struct fault fault[] = {
        {was->damp, now->damp, PELLET_WAS_DAMP},       {was->coarse, now->coarse, PELLET_WAS_COARSE},
        {was->cloudy, now->cloudy, PELLET_WAS_CLOUDY}, {was->dirty, now->dirty, PELLET_WAS_DIRTY},
        {was->strong, now->strong, PELLET_WAS_STRONG}, {was->faint, now->faint, PELLET_WAS_FAINT},
    };

    /* Each sentence is said once: of what came back, and of what was cured, the first counts. */
    for (size_t i = 0; i < sizeof fault / sizeof fault[0]; i++)
        say_fault(lesson, &fault[i], steps);
    if (strength != NULL)
        say_step(lesson, strength, steps);
}
