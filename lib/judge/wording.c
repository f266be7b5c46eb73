// SPDX-License-Identifier: GPL-3.0-or-later
#include "judge/wording.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const char *const phrases[PELLET_SAYS_COUNT] = {
#define PELLET_PHRASE_TEXT(code, template) template,
    PELLET_PHRASE_LIST(PELLET_PHRASE_TEXT)
#undef PELLET_PHRASE_TEXT
};

static const char *const instructions[PELLET_DO_COUNT] = {
#define PELLET_DO_TEXT(code, template) template,
    PELLET_DO_LIST(PELLET_DO_TEXT)
#undef PELLET_DO_TEXT
};

void pellet_words_quantity(double value, enum pellet_unit unit, struct pellet_text *out)
{
    char number[32];

    if (isnan(value))
        return;
    if (unit == PELLET_UNIT_WAVENUMBER && fabs(value) >= 100.0)
        snprintf(number, sizeof number, "%.0f", value);
    else
        pellet_number_round(value, 3, number);
    pellet_text_adds(out, number);
    if (unit != PELLET_UNIT_NONE)
        pellet_text_addf(out, " %s", pellet_unit_name(unit));
}

static void add_value(const struct pellet_finding *f, struct pellet_text *out)
{
    if (f->at_least)
        pellet_text_adds(out, "at least ");
    else if (f->at_most)
        pellet_text_adds(out, "at most ");
    pellet_words_quantity(f->value, f->unit, out);
}

static void add_finding_place(const struct pellet_finding *f, const char *name, size_t n,
                              struct pellet_text *out)
{
    const struct {
        const char *name;
        double value;
        enum pellet_unit unit;
    } places[] = {
        {"limit", f->limit, f->unit},
        {"at", f->at_cm1, PELLET_UNIT_WAVENUMBER},
        {"from", f->from_cm1, PELLET_UNIT_WAVENUMBER},
        {"to", f->to_cm1, PELLET_UNIT_WAVENUMBER},
    };

    if (n == strlen("value") && memcmp(name, "value", n) == 0) {
        add_value(f, out);
        return;
    }
    for (size_t i = 0; i < sizeof places / sizeof places[0]; i++) {
        if (n == strlen(places[i].name) && memcmp(name, places[i].name, n) == 0)
            pellet_words_quantity(places[i].value, places[i].unit, out);
    }
}

static void add_place(const struct pellet_words *words, const char *name, size_t n, struct pellet_text *out)
{
    if (n == 1 && *name >= 'a' && *name <= 'c') {
        const size_t i = (size_t)(*name - 'a');
        pellet_words_quantity(words->number[i], words->unit[i], out);
    } else if (n == strlen("word") && memcmp(name, "word", n) == 0) {
        /* The word may come from a file: it must not bring control characters into a one-line text. */
        if (words->word != NULL)
            pellet_text_add_visible(out, words->word, strlen(words->word));
    } else if (words->finding != NULL) {
        add_finding_place(words->finding, name, n, out);
    }
}

void pellet_words_render(const char *template, const struct pellet_words *words, struct pellet_text *out)
{
    const char *at = template;

    while (*at != '\0') {
        const char *open = strchr(at, '{');
        const char *close = open != NULL ? strchr(open, '}') : NULL;
        if (close == NULL) {
            pellet_text_adds(out, at);
            return;
        }
        pellet_text_add(out, at, (size_t)(open - at));
        add_place(words, open + 1, (size_t)(close - open - 1), out);
        at = close + 1;
    }
}

static char *keep(struct pellet_arena *arena, struct pellet_text *text)
{
    char *string = text->failed ? NULL : pellet_arena_string(arena, pellet_text_string(text));

    pellet_text_free(text);
    return string;
}

char *pellet_words_finding(struct pellet_arena *arena, const struct pellet_finding *f)
{
    const size_t phrase = (size_t)f->phrase < PELLET_SAYS_COUNT ? (size_t)f->phrase : PELLET_SAYS_NOTHING;
    struct pellet_words words = {.finding = f, .word = f->word};
    struct pellet_text text = {0};

    memcpy(words.number, f->number, sizeof words.number);
    memcpy(words.unit, f->number_unit, sizeof words.unit);
    pellet_words_render(phrases[phrase], &words, &text);
    return keep(arena, &text);
}

char *pellet_words_phrase(struct pellet_arena *arena, enum pellet_phrase phrase, const char *word)
{
    const struct pellet_words words = {.number = {NAN, NAN, NAN}, .word = word};
    struct pellet_text text = {0};

    pellet_words_render(phrases[phrase], &words, &text);
    return keep(arena, &text);
}

const char *pellet_words_do(enum pellet_do what)
{
    return instructions[what];
}
