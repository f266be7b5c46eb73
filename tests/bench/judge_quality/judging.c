// SPDX-License-Identifier: GPL-3.0-or-later
/* From a case to its verdict: the spectra with their noise, and the inputs that a station would give. */
#include "bench.h"

#include <math.h>
#include <string.h>

/* Everything a case's judgement borrows. */
struct spectra {
    struct pellet_spectrum open, blank, subject, before, attempt;
};

static void clear(struct spectra *spectra)
{
    pellet_spectrum_clear(&spectra->open);
    pellet_spectrum_clear(&spectra->blank);
    pellet_spectrum_clear(&spectra->subject);
    pellet_spectrum_clear(&spectra->before);
    pellet_spectrum_clear(&spectra->attempt);
}

/* Of the first attempt: the same in every respect but that it was far too strong. */
#define ATTEMPT_DOSE 3.0

static pellet_status measure(struct pellet_synth *model, const struct bench_case *of, struct spectra *spectra,
                             struct pellet_error *error)
{
    struct pellet_synth_pellet attempt = of->subject;
    attempt.dose_mg_cm2 *= ATTEMPT_DOSE;
    const struct {
        const struct pellet_synth_pellet *pellet;
        const struct pellet_synth_instrument *beam;
        struct pellet_spectrum *spectrum;
    } parts[] = {
        {NULL, &of->open_beam, &spectra->open},       {&of->blank, &of->blank_beam, &spectra->blank},
        {&of->subject, &of->beam, &spectra->subject}, {&of->before, &of->blank_beam, &spectra->before},
        {&attempt, &of->beam, &spectra->attempt},
    };
    const size_t wanted = sizeof parts / sizeof parts[0] - (of->is_second_attempt ? 0 : 1);
    pellet_status status = PELLET_OK;
    for (size_t i = 0; i < wanted && status == PELLET_OK; i++)
        status = pellet_synth_measure(model, parts[i].pellet, parts[i].beam, of->seed * 7 + i,
                                      parts[i].spectrum, NULL, error);
    return status;
}

static struct pellet_source source(const char *file, enum pellet_role role, const char *sample,
                                   pellet_ns measured, const struct pellet_spectrum *spectrum)
{
    struct pellet_source made = {
        .file = file,
        .role = role,
        .sample = sample,
        .pellet = sample ? 1 : 0,
        .measured = measured,
        .measured_from = PELLET_TIME_FROM_FILE,
        .spectrum = spectrum,
        .state = role == PELLET_BLANK ? PELLET_BLANK_ACCEPTED : PELLET_BLANK_NONE,
    };
    memset(made.sha256, '0', PELLET_SHA256_HEX - 1);
    return made;
}

/* What a station hands over for the case: its blank, if one serves, its open beam, the sample before. */
struct surroundings {
    struct pellet_source open, blank;
    struct pellet_earlier before;
    struct pellet_attempt attempt;
    struct pellet_settings settings;
    struct pellet_worksheet_row row;
    struct pellet_skipped skipped;
};

static const pellet_ns MINUTE = 60 * PELLET_NS_PER_S, START = INT64_C(1772614800) * PELLET_NS_PER_S;
/* After the start: time enough for a blank that is far too old. */
#define SUBJECT_MINUTE 400

static void surround(const struct bench_case *of, const struct spectra *spectra, struct surroundings *around)
{
    const pellet_ns subject = START + SUBJECT_MINUTE * MINUTE;
    const pellet_ns age = (pellet_ns)(of->blank_age_min * (double)MINUTE);
    *around = (struct surroundings){
        .open = source("open.csv", PELLET_OPEN_BEAM, NULL, START, &spectra->open),
        .blank = source("blank.csv", PELLET_BLANK, NULL, subject - age, &spectra->blank),
        .settings = {of->range_low, of->range_high, PELLET_RATIOED_UNKNOWN, ""},
        .row = {.sample = "subject",
                .pellet = 1,
                .sample_mg = (double)NAN,
                .kbr_mg = (double)NAN,
                .pressed_mg = of->pressed_mg,
                .powder_left_mg = (double)NAN,
                .die_mm = BENCH_DIE_MM,
                .load_t = (double)NAN},
        .skipped = {"blank-0.csv", "refused"},
    };
    around->before = (struct pellet_earlier){
        source("earlier_p1.csv", PELLET_SAMPLE, "earlier", subject - MINUTE, &spectra->before),
        &spectra->blank, around->blank};
    around->attempt = (struct pellet_attempt){
        .source = source("subject_p1.csv", PELLET_SAMPLE, "subject", subject - MINUTE, &spectra->attempt),
        .blank = &spectra->blank,
        .blank_source = around->blank,
    };
    memset(around->settings.sha256, '0', PELLET_SHA256_HEX - 1);
}

static struct pellet_inputs inputs_of(const struct bench_case *of, const struct pellet_rules *rules,
                                      const struct spectra *spectra, const struct surroundings *around)
{
    const bool sample = of->role == PELLET_SAMPLE, too_old = of->blank_age_min > BENCH_MAX_AGE_MIN;
    struct pellet_inputs inputs = {
        .subject =
            source(of->is_second_attempt ? "subject_p2.csv"
                   : sample              ? "subject_p1.csv"
                                         : "subject.csv",
                   of->role, sample ? "subject" : NULL, START + SUBJECT_MINUTE * MINUTE, &spectra->subject),
        .station = "bench",
        .session = "bench",
        .blank = sample && !too_old && of->pairing != BENCH_ALL_REFUSED ? &around->blank : NULL,
        .no_blank = too_old ? PELLET_NO_BLANK_TOO_OLD : PELLET_NO_BLANK_ALL_REFUSED,
        .no_blank_age_min = too_old ? of->blank_age_min : (double)NAN,
        .skipped_count = of->pairing == BENCH_ALL_REFUSED,
        .skipped = &around->skipped,
        .open_beam = of->has_open_beam ? &around->open : NULL,
        .first_blank = of->is_later_blank ? &around->blank : NULL,
        .earlier_count = 1,
        .earlier = &around->before,
        .settings = &around->settings,
        .row = isnan(of->pressed_mg) ? NULL : &around->row,
        .rules = rules,
    };
    inputs.subject.pellet += of->is_second_attempt;
    return inputs;
}

/* The first attempt, judged as it would have been. */
static pellet_status judge_attempt(const struct pellet_inputs *second, const struct surroundings *around,
                                   struct pellet_verdict *verdict, struct pellet_error *error)
{
    struct pellet_inputs first = *second;
    struct pellet_spectrum ratio = {0};
    first.subject = around->attempt.source;
    const pellet_status status = pellet_judge(&first, verdict, &ratio, error);
    pellet_spectrum_clear(&ratio);
    return status;
}

pellet_status bench_judge(struct pellet_synth *model, const struct pellet_rules *rules,
                          const struct bench_case *of, struct pellet_verdict *verdict,
                          struct pellet_spectrum *ratio, struct pellet_error *error)
{
    struct spectra spectra = {0};
    struct surroundings around;
    struct pellet_verdict before = {0};
    pellet_status status = measure(model, of, &spectra, error);
    if (status != PELLET_OK)
        goto out;
    surround(of, &spectra, &around);
    struct pellet_inputs inputs = inputs_of(of, rules, &spectra, &around);
    if (of->is_second_attempt) {
        status = judge_attempt(&inputs, &around, &before, error);
        around.attempt.verdict = &before;
        inputs.attempt_count = 1;
        inputs.attempt = &around.attempt;
    }
    if (status == PELLET_OK)
        status = pellet_judge(&inputs, verdict, ratio, error);
out:
    pellet_verdict_clear(&before);
    clear(&spectra);
    return status;
}
