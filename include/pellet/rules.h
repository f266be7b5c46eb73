// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Rule sets: the limits, one entry for each check, read from YAML. What an entry may hold follows from the
 * table of checks (pellet/checks.h), so that the loader, the verdict writer and `pelletd rules` cannot drift
 * apart.
 */
#ifndef PELLET_RULES_H
#define PELLET_RULES_H

#include "pellet/core.h"

/* In the order of severity: the verdict is the greatest that is left. */
enum pellet_outcome {
    PELLET_PASS,
    PELLET_NOTE,   /* changes nothing */
    PELLET_WAIT,   /* keep the pellet; a blank or a fact is needed */
    PELLET_RESCAN, /* keep the pellet; measure it again */
    PELLET_REMAKE, /* make the pellet again */
    PELLET_NOT_CHECKED,
    PELLET_OUTCOME_COUNT
};
const char *pellet_outcome_id(enum pellet_outcome outcome); /* "pass", ..., "not_checked" */
bool pellet_outcome_from_id(const char *id, enum pellet_outcome *outcome);

#define PELLET_PARAMETERS_MAX 8

/* One limit or window as a rule set gives it. A single quantity stands in `low` and again in `high`. */
struct pellet_limit {
    double low, high;
};

/* The entry for one check. parameter[i] belongs to parameter i of the check's row in the table. */
struct pellet_rule {
    bool on;
    bool required; /* not_checked becomes wait */
    enum pellet_outcome outcome;
    struct pellet_limit parameter[PELLET_PARAMETERS_MAX];
    const char *source; /* where the limit is from; never NULL */
};

/* A user-named window: the height of what stands in it, over the chord between its ends. */
struct pellet_window_rule {
    const char *name;
    double low_cm1, high_cm1;
    double highest, lowest; /* A; NaN where there is no such limit */
    enum pellet_outcome outcome;
    const char *source;
};

struct pellet_rules {
    const char *name;
    const char *title;
    char sha256[PELLET_SHA256_HEX]; /* of the YAML text */
    size_t rule_count;              /* = pellet_check_count() */
    struct pellet_rule *rule;       /* in the order of the table of checks */
    size_t window_count;
    struct pellet_window_rule *window;
    double session_gap_h;                    /* 3 */
    double blank_max_age_min;                /* 60 */
    double blank_look_ahead_min;             /* 15 */
    bool blank_accept_any;                   /* false: only accepted blanks serve */
    double open_beam_max_age_h;              /* 24 */
    double target_absorbance;                /* 0.7 A: what advice aims at, at the strongest band */
    struct pellet_limit target_thickness_mm; /* 0.25..0.80 */
    double balance_min_mg;                   /* 2: the least that the balance can weigh */
    double pressure_max_mpa;                 /* 740: on the die; beyond it the load is a caution */
    bool explain;                            /* longer explanations (teaching) */
    struct pellet_arena arena;               /* owns all of the above */
};

/*
 * Read a rule set.
 *
 * Given:     yaml[n]  at most 1 MiB; depth at most 8; no anchors, aliases or tags
 *            name     as it is to be called when the text does not name itself; also the file in `error`
 * Returned:  rules    cleared by pellet_rules_clear; untouched on error
 * Errors:    E_FORMAT, E_NUMBER, E_UNIT, E_RANGE, E_LIMIT with line, column, what was found and what is
 * allowed
 */
pellet_status pellet_rules_read(const char *yaml, size_t n, const char *name, struct pellet_rules *rules,
                                struct pellet_error *error);
/* A shipped rule set by name ("routine", ...); E_MISSING lists the names that there are. */
pellet_status pellet_rules_shipped(const char *name, struct pellet_rules *rules, struct pellet_error *error);
/* Its text, to make another of; NULL where none of that name is shipped. */
const char *pellet_rules_shipped_yaml(const char *name);
/* Name i of the shipped ones, NULL past the end. */
const char *pellet_rules_shipped_name(size_t i);
void pellet_rules_clear(struct pellet_rules *rules);
/* The rule set in full with units, meaning and sources, as `pelletd rules` prints it. */
void pellet_rules_print(const struct pellet_rules *rules, struct pellet_text *out);

#endif
