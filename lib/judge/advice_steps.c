// SPDX-License-Identifier: GPL-3.0-or-later
#include "judge/advice_steps.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const char *const wrongs[PELLET_WRONG_COUNT] = {
#define PELLET_WRONG_TEXT(code, words) words,
    PELLET_WRONG_LIST(PELLET_WRONG_TEXT)
#undef PELLET_WRONG_TEXT
};

void advice_steps_add_words(struct advice_steps *steps, enum pellet_do what, const struct pellet_words *words)
{
    struct advice_step *step = &steps->step[what];

    if (step->on)
        return;
    step->on = true;
    memcpy(step->number, words->number, sizeof step->number);
    memcpy(step->unit, words->unit, sizeof step->unit);
    snprintf(step->word, sizeof step->word, "%s", words->word != NULL ? words->word : "");
}

void advice_steps_add(struct advice_steps *steps, enum pellet_do what)
{
    static const struct pellet_words none = {.number = {NAN, NAN, NAN}};

    advice_steps_add_words(steps, what, &none);
}

/* "Too much sample in the beam; damp; cloudy." Some are clauses, some only words: no "and" joins them. */
static void render_wrong(const struct advice_steps *steps, struct pellet_text *out)
{
    bool first = true;

    for (size_t i = 0; i < PELLET_WRONG_COUNT; i++) {
        const char *words = wrongs[i];
        if (!steps->wrong[i])
            continue;
        if (!first)
            pellet_text_adds(out, "; ");
        else if (*words >= 'a' && *words <= 'z')
            pellet_text_addc(out, (char)(*words++ - 'a' + 'A'));
        pellet_text_adds(out, words);
        first = false;
    }
    if (!first)
        pellet_text_addc(out, '.');
}

void advice_steps_render(const struct advice_steps *steps, struct pellet_text *out)
{
    render_wrong(steps, out);
    for (size_t i = 0; i < PELLET_DO_COUNT; i++) {
        const struct advice_step *step = &steps->step[i];
        struct pellet_words words = {.word = step->word};
        if (!step->on)
            continue;
        memcpy(words.number, step->number, sizeof words.number);
        memcpy(words.unit, step->unit, sizeof words.unit);
        if (out->length > 0)
            pellet_text_addc(out, ' ');
        pellet_words_render(pellet_words_do((enum pellet_do)i), &words, out);
    }
}
