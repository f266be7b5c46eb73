// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The heart: one plain function from inputs to a verdict. It knows no folder, no clock, no globals; the same
 * inputs give the same verdict, whoever calls it. And the verdict's form on disk.
 */
#ifndef PELLET_JUDGE_H
#define PELLET_JUDGE_H

#include "pellet/checks.h"
#include "pellet/rules.h"
#include "pellet/spectrum.h"

/* ---------------------------------------------------------------- inputs: all borrowed from the caller */

enum pellet_time_from { PELLET_TIME_FROM_FILE, PELLET_TIME_FROM_MTIME };
const char *pellet_time_from_id(enum pellet_time_from from); /* "file", "mtime" */

/* What became of a blank. */
enum pellet_blank_state {
    PELLET_BLANK_NONE, /* not a blank, or not judged yet */
    PELLET_BLANK_ACCEPTED,
    PELLET_BLANK_PROVISIONAL, /* accepted, but nothing absolute is known: no open beam */
    PELLET_BLANK_REFUSED,
    PELLET_BLANK_STATE_COUNT
};
const char *pellet_blank_state_id(enum pellet_blank_state state);

/* One file that a verdict rests on, or the file that is judged. */
struct pellet_source {
    const char *file; /* relative to the station folder; any bytes but NUL */
    uint64_t bytes;
    pellet_ns mtime_ns;
    char sha256[PELLET_SHA256_HEX];
    enum pellet_role role;
    pellet_ns measured;
    enum pellet_time_from measured_from;
    const char *sample; /* NULL for blanks and the like */
    int pellet;         /* attempt, from 1; 0 where the name does not say */
    int scan;           /* measurement of the same pellet, from 1; 0 where the name does not say */
    const struct pellet_spectrum *spectrum; /* NULL where it could not be read */
    enum pellet_blank_state state;          /* of a blank */
};

/* Another sample's spectrum, for carry-over: ratio it over `blank` unless it came ratioed. */
struct pellet_earlier {
    struct pellet_source source;
    const struct pellet_spectrum *blank; /* NULL where the spectrum is already ratioed */
    /* Whose spectrum `blank` is, for `against`; its file NULL: not named. */
    struct pellet_source blank_source;
};

/* An earlier attempt at the same sample, or an earlier scan of the same pellet. */
struct pellet_attempt {
    struct pellet_source source;
    const struct pellet_spectrum *blank; /* as above */
    struct pellet_source blank_source;   /* as above */
    const struct pellet_verdict *verdict;
    const struct pellet_worksheet_row *row; /* NULL where the worksheet does not say */
};

struct pellet_skipped {
    const char *file;
    const char *why; /* "refused", "too old", "settings" */
};

/* A row of worksheet.csv; NaN and NULL where it is silent. */
struct pellet_worksheet_row {
    const char *sample;
    int pellet; /* 0: any */
    const char *operator_name;
    double sample_mg, kbr_mg, pressed_mg, powder_left_mg, die_mm, load_t;
    const char *kbr_lot;
    const char *decision, *decided_by, *decision_reason;
    size_t line;
};

enum pellet_ratioed_against { PELLET_RATIOED_UNKNOWN, PELLET_RATIOED_BLANK, PELLET_RATIOED_OPEN_BEAM };

/* The station's settings that a verdict depends on. */
struct pellet_settings {
    double range_low, range_high; /* cm-1 */
    enum pellet_ratioed_against ratioed_against;
    char sha256[PELLET_SHA256_HEX]; /* of all settings that can change a verdict, in a canonical text */
};

/* Why there is no blank, where there is none. */
enum pellet_no_blank { PELLET_NO_BLANK_YET, PELLET_NO_BLANK_TOO_OLD, PELLET_NO_BLANK_ALL_REFUSED };

struct pellet_inputs {
    struct pellet_source subject;
    const struct pellet_error *read_error; /* set when subject.spectrum is NULL */
    const char *station;
    const char *session;
    const struct pellet_source
        *blank;                    /* the paired one; for an already ratioed file the latest, as reported */
    enum pellet_no_blank no_blank; /* read when blank is NULL */
    double no_blank_age_min;       /* with TOO_OLD: its age; else NaN */
    size_t skipped_count;
    const struct pellet_skipped *skipped;
    const struct pellet_source *open_beam;   /* NULL where there is none that fits */
    const struct pellet_source *first_blank; /* for a blank without an open beam: the session's reference */
    size_t earlier_count;                    /* newest first, at most 3 */
    const struct pellet_earlier *earlier;
    size_t attempt_count; /* newest first */
    const struct pellet_attempt *attempt;
    size_t warning_count;
    const char *const *warning; /* of the clock and the like: go into the verdict as they are */
    const struct pellet_settings *settings;
    const struct pellet_worksheet_row *row; /* NULL where there is none */
    const struct pellet_rules *rules;
    bool wait_over; /* nothing more can come: what would be `wait` for a blank is `rescan` */
};

/* ---------------------------------------------------------------- the verdict */

struct pellet_against {
    const char *as; /* "blank", "open_beam", "first_blank", "earlier", "attempt", "reported" */
    const char *file;
    char sha256[PELLET_SHA256_HEX];
    pellet_ns measured;
    double age_min; /* before the subject; negative when later */
    enum pellet_blank_state state;
};

struct pellet_previous {
    enum pellet_outcome verdict;
    const char *summary;
    char sha256[PELLET_SHA256_HEX]; /* of the content that was judged */
    pellet_ns judged;
};

/* What to do to the next pellet, as numbers. sample_factor multiplies the sample mass in the beam (a fresh or
 * a diluted mix), powder_factor the mass of mix pressed; their product is the change of dose. NaN where
 * nothing is advised. */
struct pellet_advice {
    double sample_factor, sample_factor_low, sample_factor_high;
    double powder_factor;
    bool dry, regrind, new_blank;
    bool lower_bound; /* the true strength is only bounded: a first step */
    /* With a worksheet, else NaN: take so much of the powder, or with fresh_mix of the sample itself. */
    double take_mg, add_kbr_mg, press_mg;
    bool fresh_mix;      /* from sample and KBr, not from the powder that is left */
    double thickness_mm; /* of the next pellet, where that of this one is known */
    bool clean;          /* mortar and die */
    bool spread;         /* level in the die, centred in the holder */
    double scan_factor;  /* multiplies the number of scans, of the blank as well */
};

struct pellet_found {
    double water_excess_ug_cm2;
    const char *water_basis;
    double thickness_mm;
    double scatter_exponent;
    double strongest_band_cm1;
    double true_absorbance, true_absorbance_low, true_absorbance_high;
    double noise;
    double transmittance_2000; /* fraction, against water_basis */
    double pressure_mpa;       /* on the die's face, from the worksheet's load and die */
};

struct pellet_rendered_band {
    double at_cm1, height, width_cm1;
};

#define PELLET_VERDICT_FORMAT    1
#define PELLET_VERDICT_BANDS_MAX 40

/*
 * A verdict, as judged or as read back from its file. All strings belong to its arena. NaN, NULL and
 * PELLET_NO_TIME stand for what is not there.
 */
struct pellet_verdict {
    int format;
    enum pellet_outcome outcome; /* pass, wait, rescan or remake */
    const char *summary;
    const char *instruction; /* "do": the one coherent instruction; "" for a pass */
    uint64_t bytes;
    pellet_ns mtime_ns;
    char sha256[PELLET_SHA256_HEX];
    enum pellet_role role;
    enum pellet_blank_state state; /* of a blank */
    enum pellet_basis basis;
    pellet_ns measured;
    enum pellet_time_from measured_from;
    const char *file;
    const char *sample; /* NULL for blanks */
    int pellet, scan;
    const char *station;
    const char *session;
    const char *by;   /* "pelletd 0.1.0" */
    pellet_ns judged; /* set by the caller of pellet_judge, who has the clock */
    const char *rules_name;
    char rules_sha256[PELLET_SHA256_HEX];
    char settings_sha256[PELLET_SHA256_HEX];
    char worksheet_sha256[PELLET_SHA256_HEX]; /* of its rows; "" where there is none */
    bool wait_over;
    bool becomes_reference; /* a blank better than the provisional one: later blanks are compared with it */
    size_t against_count;
    struct pellet_against *against;
    size_t skipped_count;
    struct pellet_skipped *skipped;
    size_t reason_count;
    struct pellet_finding *reason; /* what led to the verdict, worst first */
    size_t warning_count;
    const char **warning;
    size_t check_count;
    struct pellet_finding *check; /* every check of the rule set that applies to the role, in its order */
    struct pellet_advice advice;
    struct pellet_found found;
    size_t band_count;
    struct pellet_rendered_band *band;
    size_t output_count;
    const char **output; /* derived files, relative to the output folder; set by the caller */
    size_t previous_count;
    struct pellet_previous *previous; /* set by the caller */
    struct pellet_arena arena;
};

/*
 * Judge one file.
 *
 * Returned:  verdict  the caller clears it with pellet_verdict_clear; untouched on error. judged, output and
 *                     previous are left empty
 *            ratio    may be NULL; else the ratioed absorbance (for the derived JCAMP-DX file and the
 *                     picture), or a zero spectrum where there is none; the caller clears it
 * Errors:    E_MEMORY. A bad spectrum is not an error: it is a verdict.
 */
pellet_status pellet_judge(const struct pellet_inputs *inputs, struct pellet_verdict *verdict,
                           struct pellet_spectrum *ratio, struct pellet_error *error);
void pellet_verdict_clear(struct pellet_verdict *verdict);

/*
 * What a verdict's worksheet_sha256 holds: the hash of the pellet's row and of those of the attempts that it
 * names, in their order (NULL: none), as far as a row can change a verdict; "" where all are NULL. E_MEMORY.
 */
pellet_status pellet_worksheet_hash(const struct pellet_worksheet_row *row,
                                    const struct pellet_worksheet_row *const attempt[], size_t attempt_count,
                                    char out[PELLET_SHA256_HEX]);

/* Whether a wait with this verdict may end when a new blank is accepted. */
bool pellet_verdict_waits_for_blank(const struct pellet_verdict *verdict);

/* As YAML with the digest line and "..." at the end, exactly as the file holds it. */
pellet_status pellet_verdict_write(const struct pellet_verdict *verdict, struct pellet_text *out);
/* As one JSON object, without a line end, with the same keys; what is not a number is null. */
pellet_status pellet_verdict_json(const struct pellet_verdict *verdict, struct pellet_text *out);
/*
 * Read a verdict file back. Checks that it parses, ends in "..." and that the digest fits: else E_FORMAT with
 * line and cause. A newer `format` is E_LIMIT: leave it alone. Unknown keys are passed over. A finding of an
 * unknown check has a row of its own, owned by the verdict, that only names it. The phrases and numbers
 * behind a finding's text, and the ranges it rests on, are not in the file and come back empty.
 */
pellet_status pellet_verdict_read(const char *yaml, size_t n, struct pellet_verdict *verdict,
                                  struct pellet_error *error);
/*
 * The same with only the keys above `warnings`, and `outputs`, which are all that start-up needs: the other
 * lists below come back empty and the numbers NaN. Several times as fast on a folder with a long past.
 */
pellet_status pellet_verdict_read_brief(const char *yaml, size_t n, struct pellet_verdict *verdict,
                                        struct pellet_error *error);
/*
 * The keys that differ between two verdicts of the same file, a line each: "saturation.value: 2.41,
 * now 2.38". `judged`, `previous`, the program version and `input.mtime_ns` (a copied archive has another)
 * stand outside. Returns the number of differences; where memory runs out that is 1 and out->failed is set.
 */
size_t pellet_verdict_compare(const struct pellet_verdict *then, const struct pellet_verdict *now,
                              struct pellet_text *out);

/* The name of the verdict file of `file`: "caffeine_p1.csv.verdict.yaml"; names over 240 bytes are cut and
 * hashed. */
void pellet_verdict_name(const char *file, struct pellet_text *out);
/* The same with another suffix, for the other files made for a spectrum: "caffeine_p1.csv.svg". */
void pellet_derived_name(const char *file, const char *suffix, struct pellet_text *out);

#endif
