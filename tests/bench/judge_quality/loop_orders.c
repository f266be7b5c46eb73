// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Reading the instruction as it is printed. Each sentence of pellet/wording.h is looked for in the text, its
 * numbers are taken from there, rounded as they are printed; the verdict's other keys are not looked at.
 */
#include "loop.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char *const sentences[PELLET_DO_COUNT] = {
#define SENTENCE(code, template) template,
    PELLET_DO_LIST(SENTENCE)
#undef SENTENCE
};

/* The literal text at `at` up to the next place. */
static size_t literal(const char *at)
{
    return strcspn(at, "{");
}

static const char *find(const char *text, const char *part, size_t n)
{
    for (; *text != '\0'; text++) {
        if (strncmp(text, part, n) == 0)
            return text;
    }
    return NULL;
}

/* Whether the sentence stands in the text; the numbers of its places {a} {b} {c} into number[3]. */
static bool is_said(const char *sentence, const char *text, double number[3])
{
    size_t n = literal(sentence);
    const char *at = find(text, sentence, n);

    number[0] = number[1] = number[2] = (double)NAN;
    while (at != NULL) {
        at += n;
        sentence += n;
        if (*sentence == '\0')
            return true;
        if (sentence[2] == '}' && sentence[1] >= 'a' && sentence[1] <= 'c') {
            char *end;
            number[sentence[1] - 'a'] = strtod(at, &end);
            if (end == at) /* another sentence that begins the same */
                return false;
        }
        sentence = strchr(sentence, '}') + 1;
        n = literal(sentence);
        at = n > 0 ? find(at, sentence, n) : at;
    }
    return false;
}

/* What of the handling each sentence asks for. */
static const struct {
    enum pellet_do what;
    size_t flag;
} handling[] = {
#define ASKS(what, flag)                                                                                     \
    {                                                                                                        \
        PELLET_DO_##what, offsetof(struct loop_orders, flag)                                                 \
    }
    ASKS(DRY_KBR, dry),
    ASKS(DRY_SAMPLE, dry),
    ASKS(DRY_AND_GRIND, dry),
    ASKS(DRY_AGAIN, dry),
    ASKS(GRIND, grind),
    ASKS(GRIND_AGAIN, grind),
    ASKS(GRIND_KBR, grind),
    ASKS(SPREAD, spread),
    ASKS(CLEAN, clean),
    ASKS(FRINGES, new_pellet),
    ASKS(NEW_BLANK, new_blank),
    ASKS(BLANK_FIRST, new_blank),
    ASKS(BLANK_THEN_AGAIN, new_blank),
    ASKS(SAME_SETTINGS, new_blank),
    ASKS(SCAN_LONGER, new_blank),
    ASKS(SCAN_BLANK_LONGER, new_blank),
    ASKS(SCAN_ZERO, new_blank),
    ASKS(SCAN_ZERO, zero),
    ASKS(SCAN_SHUT, shut),
    ASKS(SCAN_RANGE, whole_range),
    ASKS(SCAN_AIR, steady_air),
    ASKS(INSTRUMENT, instrument),
    ASKS(FRESH_SAME, fresh_mix),
    ASKS(CHECK_SAMPLE, fresh_mix),
#undef ASKS
};

static void read_weighing(const char *text, struct loop_orders *o)
{
    double n[3];

    if (is_said(sentences[PELLET_DO_PRESS_LESS], text, n) ||
        is_said(sentences[PELLET_DO_LESS_POWDER], text, n))
        o->powder_factor = n[0];
    if (is_said(sentences[PELLET_DO_PRESS_LESS_MG], text, n) ||
        is_said(sentences[PELLET_DO_LESS_POWDER_MG], text, n))
        o->press_mg = n[0];
    if (is_said(sentences[PELLET_DO_DILUTE], text, n))
        o->sample_factor = 1.0 / (1.0 + n[1]);
    if (is_said(sentences[PELLET_DO_DILUTE_EVEN], text, n))
        o->sample_factor = 0.5;
    if (is_said(sentences[PELLET_DO_FRESH_LESS], text, n) ||
        is_said(sentences[PELLET_DO_FRESH_MORE], text, n)) {
        o->fresh_mix = true;
        o->sample_factor = n[0];
    }
    const bool fresh = is_said(sentences[PELLET_DO_FRESH_MG], text, n);
    if (fresh || is_said(sentences[PELLET_DO_DILUTE_MG], text, n)) {
        o->fresh_mix |= fresh;
        o->take_mg = n[0];
        o->add_kbr_mg = n[1];
        o->press_mg = n[2];
    }
}

void loop_read(const char *text, struct loop_orders *o)
{
    double n[3];

    *o = (struct loop_orders){.take_mg = (double)NAN,
                              .add_kbr_mg = (double)NAN,
                              .press_mg = (double)NAN,
                              .sample_factor = 1.0,
                              .powder_factor = 1.0,
                              .scans = 1.0};
    for (size_t i = 0; i < sizeof handling / sizeof handling[0]; i++) {
        if (is_said(sentences[handling[i].what], text, n))
            *(bool *)((char *)o + handling[i].flag) = true;
    }
    if (is_said(sentences[PELLET_DO_SCAN_LONGER], text, n) ||
        is_said(sentences[PELLET_DO_SCAN_BLANK_LONGER], text, n))
        o->scans = n[0];
    read_weighing(text, o);
}
