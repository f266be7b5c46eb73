// SPDX-License-Identifier: GPL-3.0-or-later
/* Seeded random verdicts, with everything that a hostile folder can put into one. */
#ifndef PELLET_TESTS_RANDOM_VERDICT_H
#define PELLET_TESTS_RANDOM_VERDICT_H

#include "pellet/judge.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

/* xorshift64*: the same numbers on every machine. */
static inline uint64_t random_next(uint64_t *seed)
{
    *seed ^= *seed >> 12;
    *seed ^= *seed << 25;
    *seed ^= *seed >> 27;
    return *seed * UINT64_C(0x2545F4914F6CDD1D);
}

static inline size_t random_below(uint64_t *seed, size_t n)
{
    return (size_t)(random_next(seed) >> 33) % n;
}

static inline bool random_flip(uint64_t *seed)
{
    return random_below(seed, 2) == 1;
}

static inline double random_double(uint64_t *seed)
{
    static const double special[] = {0, -0.0, 1, -1, 1e-300, 1e300, 4000, 0.1, 5e-324, 1e15, 123456.5};
    switch (random_below(seed, 6)) {
    case 0:
        return NAN;
    case 1:
        return special[random_below(seed, sizeof special / sizeof *special)];
    case 2:
        return random_flip(seed) ? INFINITY : -INFINITY;
    default:
        return ((double)random_below(seed, 2000001) - 1e6) * pow(10, (double)random_below(seed, 12) - 8);
    }
}

/* A text of up to 300 bytes: markup, YAML's and JSON's own signs, control characters, stray bytes. */
static inline const char *random_text(uint64_t *seed, struct pellet_arena *arena)
{
    static const char *const part[] = {
        "caffeine",
        " ",
        ": ",
        "# ",
        "- ",
        "\"",
        "\\",
        "'",
        "{",
        "}",
        "[",
        "]",
        ",",
        "&a",
        "*a",
        "!!int ",
        "%",
        "\n",
        "\r",
        "\t",
        "\x1b[2J",
        "\x7f",
        "\x01",
        "<script>",
        "=1+1",
        "\xc3\xa4",
        "\xe2\x82\xac",
        "\xf0\x9f\x98\x80",
        "\xff",
        "\xc3",
        "\xe2\x80\xa8",
        "\xc2\x85",
        "\xef\xbb\xbf",
        "\xef\xbf\xbe",
        "\xed\xa0\x80",
        "\xe2\x80\xae",
        "...",
        "---",
        "null",
        "~",
        "true",
        "1.5",
        ".nan",
        "0x1f",
        "2026-03-04",
        "\\x41",
        "\n...\n",
        "\ncheck: ",
        "${HOME}",
        "%s%n",
    };
    struct pellet_text text = {0};
    for (size_t n = random_below(seed, 12); n > 0; n--)
        pellet_text_adds(&text, part[random_below(seed, sizeof part / sizeof *part)]);
    const char *copy = pellet_arena_copy(arena, pellet_text_string(&text), text.length);
    pellet_text_free(&text);
    return copy;
}

/* A file name of 1 to 255 bytes of any value but NUL and slash. */
static inline const char *random_name(uint64_t *seed, struct pellet_arena *arena)
{
    const size_t n = random_flip(seed) ? 255 : 1 + random_below(seed, 255);
    char *name = pellet_arena_alloc(arena, n + 1);
    const bool readable = random_flip(seed);
    for (size_t i = 0; i < n; i++) {
        do
            name[i] = (char)(readable ? 0x20 + random_below(seed, 0x5f) : 1 + random_below(seed, 255));
        while (name[i] == '/');
    }
    return name;
}

static inline const char *random_or_null(uint64_t *seed, struct pellet_arena *arena)
{
    return random_below(seed, 4) == 0 ? NULL : random_text(seed, arena);
}

static inline void random_sha256(uint64_t *seed, char out[PELLET_SHA256_HEX])
{
    const uint64_t number = random_next(seed);
    if (random_below(seed, 8) == 0)
        out[0] = '\0';
    else
        pellet_sha256_hex(&number, sizeof number, out);
}

static inline pellet_ns random_time(uint64_t *seed)
{
    if (random_below(seed, 6) == 0)
        return PELLET_NO_TIME;
    return (pellet_ns)(random_next(seed) >> 2) - (pellet_ns)(random_next(seed) >> 3);
}

static inline void random_finding(uint64_t *seed, struct pellet_arena *arena, struct pellet_finding *finding)
{
    static const struct pellet_check unknown = {.id = "no such check", .quantity = "some thing"};
    static const char *const basis[] = {NULL, "blank", "open_beam", "on", "a b"};
    const struct pellet_check *check =
        random_below(seed, 8) == 0 ? &unknown : pellet_check_at(random_below(seed, pellet_check_count()));
    pellet_finding_init(check, finding);
    finding->outcome = (enum pellet_outcome)random_below(seed, PELLET_OUTCOME_COUNT);
    finding->value = random_double(seed);
    finding->limit = random_double(seed);
    finding->unit = (enum pellet_unit)random_below(seed, PELLET_UNIT_COUNT);
    finding->at_least = random_below(seed, 4) == 0;
    finding->at_most = !finding->at_least && random_below(seed, 4) == 0;
    finding->at_cm1 = random_double(seed);
    finding->from_cm1 = random_double(seed);
    finding->to_cm1 = random_double(seed);
    finding->basis = basis[random_below(seed, sizeof basis / sizeof *basis)];
    finding->says = random_or_null(seed, arena);
    finding->instruction = random_or_null(seed, arena);
}

static inline struct pellet_finding *random_findings(uint64_t *seed, struct pellet_arena *arena,
                                                     size_t *count)
{
    *count = random_below(seed, 21);
    struct pellet_finding *findings = pellet_arena_alloc(arena, (*count + 1) * sizeof *findings);
    for (size_t i = 0; i < *count; i++)
        random_finding(seed, arena, &findings[i]);
    return findings;
}

static inline const char **random_texts(uint64_t *seed, struct pellet_arena *arena, size_t *count)
{
    *count = random_below(seed, 4);
    const char **texts = pellet_arena_alloc(arena, (*count + 1) * sizeof *texts);
    for (size_t i = 0; i < *count; i++)
        texts[i] = random_text(seed, arena);
    return texts;
}

static inline void random_identity(uint64_t *seed, struct pellet_verdict *v)
{
    static const enum pellet_outcome outcomes[] = {PELLET_PASS, PELLET_WAIT, PELLET_RESCAN, PELLET_REMAKE};
    v->format = PELLET_VERDICT_FORMAT;
    v->outcome = outcomes[random_below(seed, 4)];
    v->summary = random_text(seed, &v->arena);
    v->instruction = random_text(seed, &v->arena);
    v->bytes = random_next(seed) >> 1;
    v->mtime_ns = (pellet_ns)random_next(seed);
    random_sha256(seed, v->sha256);
    v->role = (enum pellet_role)random_below(seed, PELLET_ROLE_COUNT);
    v->state = (enum pellet_blank_state)random_below(seed, PELLET_BLANK_STATE_COUNT);
    v->basis = (enum pellet_basis)random_below(seed, PELLET_BASIS_COUNT);
    v->measured = random_time(seed);
    v->measured_from = random_flip(seed) ? PELLET_TIME_FROM_FILE : PELLET_TIME_FROM_MTIME;
    v->file = random_name(seed, &v->arena);
    v->sample = random_or_null(seed, &v->arena);
    v->pellet = (int)random_below(seed, 5);
    v->scan = (int)random_below(seed, 3);
    v->station = random_or_null(seed, &v->arena);
    v->session = random_or_null(seed, &v->arena);
    v->by = random_text(seed, &v->arena);
    v->judged = random_time(seed);
    v->rules_name = random_text(seed, &v->arena);
    random_sha256(seed, v->rules_sha256);
    random_sha256(seed, v->settings_sha256);
    random_sha256(seed, v->worksheet_sha256);
    v->wait_over = random_flip(seed);
    v->becomes_reference = random_flip(seed);
}

static inline void random_relations(uint64_t *seed, struct pellet_verdict *v)
{
    static const char *const as[] = {"blank", "open_beam", "first_blank", "earlier", "attempt", "reported"};
    v->against_count = random_below(seed, 5);
    v->against = pellet_arena_alloc(&v->arena, (v->against_count + 1) * sizeof *v->against);
    for (size_t i = 0; i < v->against_count; i++) {
        struct pellet_against *against = &v->against[i];
        against->as = as[random_below(seed, 6)];
        against->file = random_name(seed, &v->arena);
        random_sha256(seed, against->sha256);
        against->measured = random_time(seed);
        against->age_min = random_double(seed);
        against->state = (enum pellet_blank_state)random_below(seed, PELLET_BLANK_STATE_COUNT);
    }
    v->skipped_count = random_below(seed, 3);
    v->skipped = pellet_arena_alloc(&v->arena, (v->skipped_count + 1) * sizeof *v->skipped);
    for (size_t i = 0; i < v->skipped_count; i++)
        v->skipped[i] =
            (struct pellet_skipped){random_name(seed, &v->arena), random_flip(seed) ? "refused" : "too old"};
    v->previous_count = random_below(seed, 3);
    v->previous = pellet_arena_alloc(&v->arena, (v->previous_count + 1) * sizeof *v->previous);
    for (size_t i = 0; i < v->previous_count; i++) {
        v->previous[i].verdict = PELLET_WAIT;
        v->previous[i].summary = random_text(seed, &v->arena);
        random_sha256(seed, v->previous[i].sha256);
        v->previous[i].judged = random_time(seed);
    }
}

static inline void random_numbers(uint64_t *seed, struct pellet_verdict *v)
{
    struct pellet_advice *a = &v->advice;
    struct pellet_found *f = &v->found;
    double *const number[] = {&a->sample_factor,
                              &a->sample_factor_low,
                              &a->sample_factor_high,
                              &a->powder_factor,
                              &a->take_mg,
                              &a->add_kbr_mg,
                              &a->press_mg,
                              &f->water_excess_ug_cm2,
                              &f->thickness_mm,
                              &f->scatter_exponent,
                              &f->strongest_band_cm1,
                              &f->true_absorbance,
                              &f->true_absorbance_low,
                              &f->true_absorbance_high,
                              &f->noise,
                              &f->transmittance_2000,
                              &f->pressure_mpa};
    for (size_t i = 0; i < sizeof number / sizeof *number; i++)
        *number[i] = random_double(seed);
    a->dry = random_flip(seed);
    a->regrind = random_flip(seed);
    a->new_blank = random_flip(seed);
    a->clean = random_flip(seed);
    a->spread = random_flip(seed);
    a->lower_bound = random_flip(seed);
    a->fresh_mix = random_flip(seed);
    a->scan_factor = random_double(seed);
    a->thickness_mm = random_double(seed);
    f->water_basis = random_flip(seed) ? NULL : "blank";
    v->band_count = random_below(seed, PELLET_VERDICT_BANDS_MAX + 1);
    v->band = pellet_arena_alloc(&v->arena, (v->band_count + 1) * sizeof *v->band);
    for (size_t i = 0; i < v->band_count; i++)
        v->band[i] =
            (struct pellet_rendered_band){random_double(seed), random_double(seed), random_double(seed)};
}

/* The caller clears it. */
static inline struct pellet_verdict random_verdict(uint64_t *seed)
{
    struct pellet_verdict v = {0};
    random_identity(seed, &v);
    random_relations(seed, &v);
    v.reason = random_findings(seed, &v.arena, &v.reason_count);
    v.warning = random_texts(seed, &v.arena, &v.warning_count);
    v.check = random_findings(seed, &v.arena, &v.check_count);
    random_numbers(seed, &v);
    v.output = random_texts(seed, &v.arena, &v.output_count);
    return v;
}

#endif
