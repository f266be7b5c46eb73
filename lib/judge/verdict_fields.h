// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The layout of a verdict file as a table. Writing as YAML, writing as JSON, comparing and reading back all
 * walk this table, so that they cannot drift apart: a new key is one new row.
 */
#ifndef PELLET_JUDGE_VERDICT_FIELDS_H
#define PELLET_JUDGE_VERDICT_FIELDS_H

#include "core/yaml.h"
#include "pellet/judge.h"

struct verdict_field;

/* What a value is once it is text. */
enum verdict_form {
    VERDICT_ABSENT,    /* there is none */
    VERDICT_PLAIN,     /* a number, true or false: the same in YAML and JSON */
    VERDICT_NO_NUMBER, /* .nan, .inf: JSON has only null for it */
    VERDICT_WORD,      /* an identifier, a hash or a time: without quotes in YAML where that is safe */
    VERDICT_TEXT       /* free text of any bytes: always in quotes */
};

/* What a reading carries along. */
struct verdict_reading {
    struct pellet_arena *arena;
    struct pellet_error *error;
};

/* The identifiers of an enumeration, from 0. */
struct verdict_ids {
    const char *(*id)(int);
    int count;
    int none; /* the value that stands for "there is none", -1 where none does */
};

/*
 * One kind of value. `format` adds the value's text and says what it is. `parse` takes it back; a NULL node
 * means that the file does not have it, and leaves the value that stands for "not there".
 */
struct verdict_type {
    enum verdict_form (*format)(const struct verdict_field *field, const void *object,
                                struct pellet_text *out);
    pellet_status (*parse)(const struct verdict_field *field, void *object, const struct pellet_yaml *node,
                           const struct verdict_reading *reading);
    const struct verdict_ids *ids; /* of an enumeration, else NULL */
};

enum verdict_shape {
    VERDICT_VALUE,
    VERDICT_MAP,  /* fields of a struct that lies at `at` */
    VERDICT_ROWS, /* a list of maps: the pointer to the structs lies at `at`, their number at `count_at` */
    VERDICT_TEXTS /* a list of texts, likewise */
};

enum { VERDICT_OPTIONAL = 1 /* left out where there is none */, VERDICT_NEEDED = 2 /* refused without it */ };

struct verdict_field {
    const char *key; /* NULL ends a table */
    enum verdict_shape shape;
    unsigned flags;
    size_t at;
    size_t count_at;
    size_t row_size;
    const struct verdict_type *type;   /* of a VALUE */
    const struct verdict_field *inner; /* of a MAP or of ROWS */
};

/* The rows of a verdict, in the order of the file; the digest and the end are not among them. */
extern const struct verdict_field pellet_verdict_fields[];

/* The first key that a brief reading leaves out. */
#define VERDICT_AFTER_BRIEF "warnings"

/* The types; verdict_types.c, verdict_ids.c and, for those that expect a finding as their object,
 * verdict_finding.c. */
extern const struct verdict_type pellet_verdict_text, pellet_verdict_word, pellet_verdict_sha256;
extern const struct verdict_type pellet_verdict_number, pellet_verdict_whole, pellet_verdict_count;
extern const struct verdict_type pellet_verdict_ns, pellet_verdict_time, pellet_verdict_bool;
extern const struct verdict_type pellet_verdict_outcome, pellet_verdict_role, pellet_verdict_state;
extern const struct verdict_type pellet_verdict_basis, pellet_verdict_time_from;
extern const struct verdict_type pellet_finding_check, pellet_finding_quantity, pellet_finding_unit;
extern const struct verdict_type pellet_finding_bound;

/*
 * A walk over a verdict calls these in the order of the file. `key` is NULL for an item of a list. `text[n]`
 * is terminated and may hold any byte but NUL.
 */
struct verdict_sink {
    void (*begin)(void *self, const char *key, enum verdict_shape shape, size_t count);
    void (*end)(void *self);
    void (*scalar)(void *self, const char *key, enum verdict_form form, const char *text, size_t n);
    void *self;
};

/* Walk a whole verdict. Text that is not UTF-8 comes with \xNN for each stray byte, and then once more under
 * KEY_raw, in base64. */
pellet_status pellet_verdict_walk(const struct pellet_verdict *verdict, const struct verdict_sink *sink);

#endif
