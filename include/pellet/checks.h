// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The checks: the table that lists them, what each is given (a measurement) and what each returns (a
 * finding). A new check is one new file in lib/checks, one row in the table, one entry in the rule sets, one
 * test.
 */
#ifndef PELLET_CHECKS_H
#define PELLET_CHECKS_H

#include "pellet/rules.h"
#include "pellet/signal.h"
#include "pellet/spectrum.h"
#include "pellet/wording.h"

struct pellet_inputs;

enum pellet_role { PELLET_SAMPLE, PELLET_BLANK, PELLET_OPEN_BEAM, PELLET_FILM, PELLET_ROLE_COUNT };
const char *pellet_role_id(enum pellet_role role); /* "sample", "blank", "open_beam", "film" */
#define PELLET_FOR(role) (1u << (unsigned)(role))

/* What the transmittance of a measurement is against. */
enum pellet_basis {
    PELLET_AGAINST_NOTHING,     /* only a single beam: no transmittance */
    PELLET_AGAINST_BLANK,       /* ratio over a blank pellet, or ratioed elsewhere against one */
    PELLET_AGAINST_OPEN_BEAM,   /* ratio over the empty holder, or ratioed elsewhere against it */
    PELLET_AGAINST_FIRST_BLANK, /* a later blank over the session's provisional first one: differences only */
    PELLET_AGAINST_UNKNOWN,     /* ratioed elsewhere, the station does not say against what */
    PELLET_BASIS_COUNT
};
const char *pellet_basis_id(enum pellet_basis basis); /* "single_beam", "blank", "open_beam", ... */

/* Marks on a point of a measurement. */
enum {
    PELLET_POINT_UNUSABLE =
        1, /* the reference has no light here (below 10 sigma), or the ordinate is unknown */
    PELLET_POINT_LOWER_BOUND = 2, /* T below 3 sigma: the absorbance is a lower bound */
    PELLET_POINT_VAPOUR = 4,      /* inside the water-vapour regions 1900-1400 and 3900-3550 */
    PELLET_POINT_CO2 = 8,         /* 2380-2300 */
    PELLET_POINT_BAND = 16        /* inside a band's feet */
};

/*
 * All that is derived once from the inputs and shared, read-only, by the checks. Arrays have n points on the
 * subject's own grid, wavenumber rising. Owned by the judge.
 */
struct pellet_measurement {
    const struct pellet_inputs *inputs;
    enum pellet_role role;
    enum pellet_basis basis;
    bool single_beams;  /* both beams are here, so energy and masks are known */
    char conflict[160]; /* why subject and reference must not be divided ("resolution 4 and 8"); "" else */
    size_t n;
    double *wavenumber;
    double *single_beam;         /* the subject's own; NULL when it came ratioed */
    double *reference;           /* the denominator on this grid; NULL when it came ratioed */
    double *transmittance;       /* NaN where unusable; NULL when basis is AGAINST_NOTHING */
    double *absorbance;          /* -log10 T; at a lower bound, of the 3 sigma light; NaN where unusable */
    double *sigma;               /* standard deviation of one point of T; NaN where not known */
    double *baseline;            /* A */
    double *residual_water;      /* A of the fitted liquid water, signed, on this grid (0 where none) */
    unsigned char *mark;         /* PELLET_POINT_* */
    double *absolute;            /* T against the open beam; NULL where no open beam is known */
    double spacing;              /* mean, cm-1 */
    double resolution;           /* as stated; NaN where not */
    double noise;                /* 1 sigma of A at native points in the clearest window; NaN where none */
    struct pellet_water water;   /* the fit of liquid water; water.fitted false where none could be made */
    struct pellet_ripple ripple; /* the strongest periodic ripple; amplitude 0 where none */
    size_t band_count;
    struct pellet_band *band; /* strongest first; kind says sample, water, vapour, CO2 or impurity */
};

/* The strongest band of the sample, or NULL. */
const struct pellet_band *pellet_strongest_band(const struct pellet_measurement *measurement);

/* What a refusing trust check can name as untrustworthy: two ends and gaps, or two vapour regions. */
#define PELLET_DISTRUST_MAX 4

/* What a check found. Plain numbers and a phrase; the texts are rendered afterwards and owned by
 * the verdict. */
struct pellet_finding {
    const struct pellet_check *check;
    enum pellet_outcome outcome;
    double value, limit; /* NaN where there is none; in `unit` */
    enum pellet_unit unit;
    bool at_least;                /* value is a lower bound ("≥") */
    bool at_most;                 /* value is an upper bound ("≤") */
    double at_cm1;                /* NaN where no single place */
    double from_cm1, to_cm1;      /* NaN where no range */
    double rests_low, rests_high; /* the range this finding rests on: trust first compares it */
    size_t distrust_count;        /* of a trust check that refuses: what it makes untrustworthy */
    struct pellet_limit distrust[PELLET_DISTRUST_MAX]; /* cm-1; 0..infinity is the whole spectrum */
    const char *basis;                                 /* a static word ("blank", "open_beam", ...) or NULL */
    enum pellet_phrase phrase;
    double number[3]; /* {a} {b} {c} */
    enum pellet_unit number_unit[3];
    char word[160];          /* {word} */
    const char *says;        /* rendered; owned by the verdict */
    const char *instruction; /* rendered; owned by the verdict; NULL where none */
};

enum pellet_parameter_kind { PELLET_PARAMETER_QUANTITY, PELLET_PARAMETER_RANGE };

/* One thing that a rule set may set for a check. A row with key NULL ends the list. */
struct pellet_parameter {
    const char *key; /* "limit", "blank_limit", "window", ... */
    enum pellet_unit unit;
    enum pellet_parameter_kind kind;
    struct pellet_limit standard; /* where the rule set is silent */
    double lowest, highest;       /* what is allowed */
    const char *meaning;
};

/* Whether a check judges the measurement (trust first) or the pellet. */
enum pellet_stage { PELLET_STAGE_TRUST, PELLET_STAGE_PELLET };

struct pellet_check {
    const char *id;         /* "saturation" */
    const char *bench_word; /* "too strong" */
    const char *quantity;   /* "absorbance": what `value` is */
    enum pellet_unit unit;
    enum pellet_outcome outcome; /* beyond the limit, where the rule set is silent */
    unsigned roles;              /* PELLET_FOR(...) of the roles it applies to */
    enum pellet_stage stage;
    const char *meaning;
    const char *source; /* of the method */
    struct pellet_parameter parameter[PELLET_PARAMETERS_MAX];
    /* The finding comes initialised: NOT_CHECKED, numbers NaN, unit of the row, rests on the whole
     * spectrum. */
    void (*run)(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                struct pellet_finding *finding);
};

size_t pellet_check_count(void);
const struct pellet_check *pellet_check_at(size_t i);
const struct pellet_check *pellet_check_find(const char *id); /* NULL where there is none */
/* The index of a check in the table, for pellet_rules.rule[]. */
size_t pellet_check_index(const struct pellet_check *check);
/* The same as one rule entry, with all standards. */
void pellet_rule_standard(const struct pellet_check *check, struct pellet_rule *rule);
void pellet_finding_init(const struct pellet_check *check, struct pellet_finding *finding);

/*
 * Set value (rounded to what the verdict will hold: 4 significant digits, so that limits compare the value as
 * written), limit and outcome: rule->outcome with `phrase` when beyond, PASS with WITHIN otherwise.
 */
void pellet_finding_above(struct pellet_finding *finding, const struct pellet_rule *rule, double value,
                          double limit, enum pellet_phrase phrase); /* beyond: value > limit */
void pellet_finding_below(struct pellet_finding *finding, const struct pellet_rule *rule, double value,
                          double limit, enum pellet_phrase phrase); /* beyond: value < limit */
void pellet_finding_not_checked(struct pellet_finding *finding, enum pellet_phrase phrase);

#endif
