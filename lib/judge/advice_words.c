// SPDX-License-Identifier: GPL-3.0-or-later
/* The sentences about how strong a pellet is and what the next one is to hold. */
#include "judge/advice_plan.h"

#include <math.h>
#include <stdio.h>

/* Sample on the beam that independent recipes agree on: 21 CFR 436.211 and Dent (science: 0.4 to 1.5 mg/cm2).
 * Strong and weak absorbers need less and more; beyond a factor of four something was weighed wrong. */
#define USUAL_DOSE_LOW  0.4
#define USUAL_DOSE_HIGH 1.5
#define DOSE_DOUBT      4.0

/* The bench word nearest in ratio. */
static const char *bench_word(double factor)
{
    static const struct {
        double factor;
        const char *word;
    } words[] = {
#define WORD(factor, word) {factor, word},
        PELLET_FACTOR_LIST(WORD)
#undef WORD
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

/* Tenths of a milligram below ten, whole ones above: more is lost in the weighing. */
static double weighable(double mg)
{
    return mg < 10.0 ? round(10.0 * mg) / 10.0 : round(mg);
}

static void say_factor(struct advice_steps *steps, enum pellet_do what, double factor)
{
    const struct pellet_words words = {.number = {two_digits(factor), two_digits(1.0 / factor - 1.0), NAN},
                                       .word = bench_word(factor)};
    advice_steps_add_words(steps, what, &words);
}

/* "1 times its own mass" is not said. */
static void say_dilution(struct advice_steps *steps, double share)
{
    if (fabs(1.0 / share - 2.0) < 0.05)
        advice_steps_add(steps, PELLET_DO_DILUTE_EVEN);
    else
        say_factor(steps, PELLET_DO_DILUTE, share);
}

static void say_masses(struct advice_steps *steps, enum pellet_do what, double first, double second,
                       double third)
{
    const struct pellet_words words = {.number = {weighable(first), weighable(second), weighable(third)},
                                       .unit = {PELLET_UNIT_MG, PELLET_UNIT_MG, PELLET_UNIT_MG}};
    advice_steps_add_words(steps, what, &words);
}

void advice_say_strength(const struct pellet_strength *s, struct advice_steps *steps)
{
    char interval[64];
    struct pellet_words words = {.number = {s->at_cm1, s->height, NAN},
                                 .unit = {PELLET_UNIT_WAVENUMBER, PELLET_UNIT_ABSORBANCE}};

    switch (s->from) {
    case PELLET_STRENGTH_FLANKS:
        words.number[2] = s->pellet;
        if (s->pellet > 0) {
            advice_steps_add_words(steps, PELLET_DO_BY_LESSON, &words);
            break;
        }
        snprintf(interval, sizeof interval, "%.2g to %.2g A", s->low, s->high);
        words.word = interval;
        advice_steps_add_words(steps, PELLET_DO_BY_FLANKS, &words);
        break;
    case PELLET_STRENGTH_PATTERN:
        words.number[2] = s->pellet;
        advice_steps_add_words(steps, PELLET_DO_BY_PATTERN, &words);
        break;
    case PELLET_STRENGTH_BOUND:
        words.number[1] = two_digits(s->low);
        advice_steps_add_words(steps, PELLET_DO_BY_BOUND, &words);
        break;
    case PELLET_STRENGTH_SEEN:
    case PELLET_STRENGTH_NONE:
        break;
    }
}

static void doubt_dose(double mg_cm2, struct advice_steps *steps)
{
    char word[32];
    const struct pellet_words words = {.number = {NAN, NAN, NAN}, .word = word};

    if (mg_cm2 < USUAL_DOSE_LOW / DOSE_DOUBT || mg_cm2 > USUAL_DOSE_HIGH * DOSE_DOUBT) {
        snprintf(word, sizeof word, "%.2g mg/cm2", mg_cm2);
        advice_steps_add_words(steps, PELLET_DO_UNUSUAL_DOSE, &words);
    }
}

void advice_say_dose(const struct pellet_dose *dose, struct advice_steps *steps)
{
    switch (dose->way) {
    case PELLET_DOSE_KEEP:
        if (isfinite(dose->press_mg) && dose->powder_factor < 0.99)
            say_masses(steps, PELLET_DO_LESS_POWDER_MG, dose->press_mg, NAN, NAN);
        else if (dose->powder_factor < 0.99)
            say_factor(steps, PELLET_DO_LESS_POWDER, dose->powder_factor);
        break;
    case PELLET_DOSE_PRESS_LESS:
        if (isfinite(dose->press_mg))
            say_masses(steps, PELLET_DO_PRESS_LESS_MG, dose->press_mg, NAN, NAN);
        else
            say_factor(steps, PELLET_DO_PRESS_LESS, dose->powder_factor);
        break;
    case PELLET_DOSE_DILUTE:
        if (isfinite(dose->take_mg))
            say_masses(steps, PELLET_DO_DILUTE_MG, dose->take_mg, dose->add_kbr_mg, dose->press_mg);
        else
            say_dilution(steps, dose->sample_factor);
        break;
    case PELLET_DOSE_FRESH:
        if (isfinite(dose->take_mg)) {
            say_masses(steps, PELLET_DO_FRESH_MG, dose->take_mg, dose->add_kbr_mg, dose->press_mg);
        } else {
            if (fabs(dose->sample_factor - 1.0) < 0.03)
                advice_steps_add(steps, PELLET_DO_FRESH_SAME);
            else
                say_factor(steps, dose->sample_factor < 1.0 ? PELLET_DO_FRESH_LESS : PELLET_DO_FRESH_MORE,
                           dose->sample_factor);
            if (dose->powder_factor < 0.99)
                say_factor(steps, PELLET_DO_LESS_POWDER, dose->powder_factor);
        }
        break;
    }
    if (dose->way != PELLET_DOSE_KEEP)
        doubt_dose(dose->mg_cm2, steps);
}
