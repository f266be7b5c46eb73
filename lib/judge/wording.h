// SPDX-License-Identifier: GPL-3.0-or-later
/* Rendering the templates of pellet/wording.h. */
#ifndef PELLET_JUDGE_WORDING_H
#define PELLET_JUDGE_WORDING_H

#include "pellet/judge.h"

/* What the places of a template stand for. */
struct pellet_words {
    const struct pellet_finding *finding; /* {value} {limit} {at} {from} {to}; NULL where there is none */
    double number[3];                     /* {a} {b} {c}; NaN is left empty */
    enum pellet_unit unit[3];
    const char *word; /* {word}; NULL is left empty */
};

/* A number with its unit as people read it: three digits, whole wavenumbers above 100. */
void pellet_words_quantity(double value, enum pellet_unit unit, struct pellet_text *out);

/* Append the rendered template. */
void pellet_words_render(const char *template, const struct pellet_words *words, struct pellet_text *out);

/* The sentence of a finding, or of a phrase or instruction by itself; arena strings, NULL when memory runs
 * out. */
char *pellet_words_finding(struct pellet_arena *arena, const struct pellet_finding *finding);
char *pellet_words_phrase(struct pellet_arena *arena, enum pellet_phrase phrase, const char *word);
const char *pellet_words_do(enum pellet_do what); /* the template */

#endif
