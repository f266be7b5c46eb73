// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Dose by Beer-Lambert, in the project's own steps (design: advice). Sources of the scaling: 21 CFR
 * 436.211(b)(1), where 2, 1 and 0.5 mg in the same KBr and die make absorbances of 1 : 0.5 : 0.25.
 */
#include "judge/advice.h"

#include "judge/wording.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define BASELINE_ROOM_A    1.1 /* target and baseline together stay on scale */
#define LEAST_TARGET_A     0.1
#define FIRST_STEP         (1.0 / 3.0)
#define PRESS_LESS_FROM    0.5
#define DILUTE_FROM        0.1
#define NO_SAMPLE_HEIGHT_A 0.03

double pellet_dose_factor(double net, double baseline, double target, bool lower_bound)
{
    const double aim = fmax(fmin(target, BASELINE_ROOM_A - fmax(baseline, 0.0)), LEAST_TARGET_A);
    const double factor = aim / net;

    return lower_bound ? fmin(factor, FIRST_STEP) : factor;
}

enum pellet_dose_way pellet_dose_choose(double factor)
{
    if (factor >= PRESS_LESS_FROM && factor <= 1.0)
        return PELLET_DOSE_PRESS_LESS;
    if (factor >= DILUTE_FROM && factor < PRESS_LESS_FROM)
        return PELLET_DOSE_DILUTE;
    return PELLET_DOSE_FRESH;
}

/* The bench word nearest in ratio. */
static const char *bench_word(double factor)
{
    static const struct {
        double factor;
        const char *word;
    } words[] = {
        {0.05, "about a twentieth"}, {0.1, "about a tenth"},         {0.2, "about a fifth"},
        {0.25, "about a quarter"},   {0.33, "about a third"},        {0.5, "about half"},
        {0.67, "about two thirds"},  {0.75, "about three quarters"}, {0.9, "about nine tenths"},
        {1.25, "a quarter more of"}, {1.5, "half as much again of"}, {2.0, "about twice"},
        {3.0, "about three times"},  {4.0, "about four times"},      {6.0, "about six times"},
        {10.0, "about ten times"},
    };
    size_t best = 0;

    for (size_t i = 1; i < sizeof words / sizeof words[0]; i++) {
        if (fabs(log(factor / words[i].factor)) < fabs(log(factor / words[best].factor)))
            best = i;
    }
    return words[best].word;
}

/* The instruction as it grows: each sentence once. */
struct steps {
    struct pellet_text text;
    unsigned long done; /* a bit for each sentence of PELLET_DO_LIST */
};
_Static_assert(PELLET_DO_COUNT <= 8 * sizeof(unsigned long), "one bit for each sentence");

static void add_step(struct steps *steps, enum pellet_do what, const struct pellet_words *words)
{
    static const struct pellet_words none = {.number = {NAN, NAN, NAN}};

    if (steps->done & (1ul << what))
        return;
    steps->done |= 1ul << what;
    if (steps->text.length > 0)
        pellet_text_addc(&steps->text, ' ');
    pellet_words_render(pellet_words_do(what), words != NULL ? words : &none, &steps->text);
}

static const struct pellet_finding *reason_of(const struct pellet_verdict *v, const char *id)
{
    for (size_t i = 0; i < v->reason_count; i++) {
        if (v->reason[i].check != NULL && strcmp(v->reason[i].check->id, id) == 0)
            return &v->reason[i];
    }
    return NULL;
}

/* Powder from the worksheet: a mg of it with b mg of KBr, press c mg; enlarged where a could not be weighed.
 */
static void dilute_by_weight(const struct pellet_inputs *in, struct pellet_advice *advice)
{
    const double factor = advice->sample_factor;
    const double press = in->row->pressed_mg;
    const double take = fmax(factor * press, in->rules->balance_min_mg);

    advice->take_mg = take;
    advice->add_kbr_mg = take * (1.0 / factor - 1.0);
    advice->press_mg = press;
}

static bool has_mass(const struct pellet_inputs *in)
{
    return in->row != NULL && in->row->pressed_mg > 0.0;
}

static void say_dose(const struct pellet_inputs *in, struct pellet_advice *advice, double factor,
                     struct steps *steps)
{
    struct pellet_words words = {.number = {factor, NAN, NAN}, .word = bench_word(factor)};
    char times[32];
    char word[80];

    pellet_number_round(factor, 2, times);
    snprintf(word, sizeof word, "%s", bench_word(factor));
    switch (pellet_dose_choose(factor)) {
    case PELLET_DOSE_PRESS_LESS:
        advice->powder_factor = factor;
        advice->sample_factor = 1.0;
        if (has_mass(in)) {
            advice->press_mg = factor * in->row->pressed_mg;
            words = (struct pellet_words){.number = {advice->press_mg, NAN, NAN}, .unit = {PELLET_UNIT_MG}};
            add_step(steps, PELLET_DO_PRESS_LESS_MG, &words);
        } else {
            add_step(steps, PELLET_DO_PRESS_LESS, &words);
        }
        break;
    case PELLET_DOSE_DILUTE:
        advice->sample_factor = factor;
        advice->powder_factor = 1.0;
        if (has_mass(in)) {
            dilute_by_weight(in, advice);
            words = (struct pellet_words){
                .number = {advice->take_mg, advice->add_kbr_mg, advice->press_mg},
                .unit = {PELLET_UNIT_MG, PELLET_UNIT_MG, PELLET_UNIT_MG},
            };
            add_step(steps, PELLET_DO_DILUTE_MG, &words);
        } else {
            words.number[1] = 1.0 / factor - 1.0;
            add_step(steps, PELLET_DO_DILUTE, &words);
        }
        break;
    case PELLET_DOSE_FRESH:
    case PELLET_DOSE_KEEP:
        advice->sample_factor = factor;
        advice->powder_factor = 1.0;
        add_step(steps, factor < 1.0 ? PELLET_DO_FRESH_LESS : PELLET_DO_FRESH_MORE, &words);
        break;
    }
}

/* Too strong or too faint: by how much, and how. */
static void advise_dose(const struct pellet_inputs *in, const struct pellet_measurement *m,
                        struct pellet_verdict *v, struct steps *steps)
{
    const struct pellet_band *band = m != NULL ? pellet_strongest_band(m) : NULL;
    double factor;

    if (band == NULL || band->height < NO_SAMPLE_HEIGHT_A) {
        add_step(steps, PELLET_DO_CHECK_SAMPLE, NULL);
        return;
    }
    v->advice.lower_bound = band->at_least || band->flat_top;
    factor = pellet_dose_factor(band->height, band->top - band->height, in->rules->target_absorbance,
                                v->advice.lower_bound);
    v->found.true_absorbance = band->top;
    v->found.true_absorbance_low = band->top;
    v->found.true_absorbance_high = v->advice.lower_bound ? NAN : band->top;
    say_dose(in, &v->advice, factor, steps);
    v->advice.sample_factor_low = v->advice.lower_bound ? NAN : v->advice.sample_factor;
    v->advice.sample_factor_high = v->advice.sample_factor;
    if (v->advice.lower_bound)
        add_step(steps, PELLET_DO_FIRST_STEP, NULL);
}

static void advise_cloudy(const struct pellet_verdict *v, struct steps *steps)
{
    const bool explained =
        reason_of(v, "tilt") != NULL || reason_of(v, "asymmetry") != NULL || reason_of(v, "moisture") != NULL;

    if (!explained) {
        add_step(steps, PELLET_DO_CLOUDY_UNKNOWN, NULL);
        add_step(steps, PELLET_DO_SPREAD, NULL);
    }
}

/* Over a blank known to be dry the water came with the sample; else the KBr itself is the first suspect. */
static enum pellet_do how_to_dry(const struct pellet_inputs *in)
{
    const bool dry_blank =
        in->subject.role == PELLET_SAMPLE && in->blank != NULL && in->blank->state == PELLET_BLANK_ACCEPTED;
    return dry_blank ? PELLET_DO_DRY_SAMPLE : PELLET_DO_DRY_KBR;
}

static void advise_remake(const struct pellet_inputs *in, const struct pellet_measurement *m,
                          struct pellet_verdict *v, struct steps *steps)
{
    v->advice.dry = reason_of(v, "moisture") != NULL;
    v->advice.regrind = reason_of(v, "tilt") != NULL || reason_of(v, "asymmetry") != NULL;
    if (reason_of(v, "residue") != NULL)
        add_step(steps, PELLET_DO_CLEAN, NULL);
    if (reason_of(v, "purity") != NULL)
        add_step(steps, PELLET_DO_FRESH_KBR, NULL);
    if (v->advice.dry)
        add_step(steps, how_to_dry(in), NULL);
    if (v->advice.regrind)
        add_step(steps, PELLET_DO_GRIND, NULL);
    if (reason_of(v, "saturation") != NULL || reason_of(v, "weak") != NULL)
        advise_dose(in, m, v, steps);
    if (reason_of(v, "opacity") != NULL)
        advise_cloudy(v, steps);
    if (in->subject.role == PELLET_BLANK)
        add_step(steps, PELLET_DO_REMAKE_BLANK, NULL);
}

/* The reason of a rescan or a wait, and what cures it. */
static enum pellet_do cure_of(const struct pellet_finding *reason, bool over)
{
    static const struct {
        const char *check;
        enum pellet_do what;
    } cures[] = {
        {"read", PELLET_DO_READ},
        {"span", PELLET_DO_SCAN_RANGE},
        {"noise", PELLET_DO_SCAN_LONGER},
        {"leak", PELLET_DO_SCAN_SHUT},
        {"vapour", PELLET_DO_SCAN_AIR},
        {"wavenumber", PELLET_DO_SCAN_SCALE},
        {"inverted", PELLET_DO_NEW_BLANK},
        {"moisture", PELLET_DO_NEW_BLANK},
        {"overcompensation", PELLET_DO_NEW_BLANK},
    };

    if (reason->phrase == PELLET_SAYS_BLANK_CONFLICT || reason->phrase == PELLET_SAYS_BLANK_KIND)
        return PELLET_DO_SAME_SETTINGS;
    if (reason->check == NULL)
        return PELLET_DO_MISSING_FACT;
    if (over && reason->outcome == PELLET_RESCAN && strcmp(reason->check->id, "blank") == 0)
        return PELLET_DO_BLANK_THEN_AGAIN;
    if (strcmp(reason->check->id, "blank") == 0)
        return PELLET_DO_BLANK_FIRST;
    for (size_t i = 0; i < sizeof cures / sizeof cures[0]; i++) {
        if (strcmp(reason->check->id, cures[i].check) == 0)
            return cures[i].what;
    }
    return PELLET_DO_MISSING_FACT;
}

/* The same refusal twice on one pellet is not the pellet's. */
static bool seen_before(const struct pellet_inputs *in, const struct pellet_verdict *v)
{
    for (size_t i = 0; i < in->attempt_count; i++) {
        const struct pellet_verdict *then = in->attempt[i].verdict;
        if (then != NULL && in->attempt[i].source.pellet == in->subject.pellet &&
            then->outcome == PELLET_RESCAN && then->reason_count > 0 && then->reason[0].check != NULL &&
            then->reason[0].check == v->reason[0].check)
            return true;
    }
    return false;
}

static void advise_measurement(const struct pellet_inputs *in, struct pellet_verdict *v, struct steps *steps)
{
    for (size_t i = 0; i < v->reason_count; i++) {
        const enum pellet_do cure = cure_of(&v->reason[i], in->wait_over);
        v->advice.new_blank |= cure == PELLET_DO_NEW_BLANK;
        add_step(steps, cure, NULL);
    }
    if (v->outcome == PELLET_RESCAN && v->reason_count > 0 && seen_before(in, v))
        add_step(steps, PELLET_DO_INSTRUMENT, NULL);
}

pellet_status pellet_advise(const struct pellet_inputs *inputs, const struct pellet_measurement *measurement,
                            struct pellet_verdict *verdict)
{
    struct steps steps = {0};

    if (verdict->outcome == PELLET_REMAKE)
        advise_remake(inputs, measurement, verdict, &steps);
    else if (verdict->outcome != PELLET_PASS)
        advise_measurement(inputs, verdict, &steps);
    verdict->instruction =
        steps.text.failed ? NULL : pellet_arena_string(&verdict->arena, pellet_text_string(&steps.text));
    pellet_text_free(&steps.text);
    return verdict->instruction != NULL ? PELLET_OK : PELLET_E_MEMORY;
}
