// SPDX-License-Identifier: GPL-3.0-or-later
/* Measuring and judging what stands on the loop's bench, with the attempts before it. */
#include "loop.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

struct spectra {
    struct pellet_spectrum open, before;
};

static pellet_status measure(struct pellet_synth *model, const struct loop_bench *bench, size_t step,
                             struct spectra *spectra, struct loop_then *made, struct pellet_error *error)
{
    const struct bench_case *now = &bench->now;
    const struct {
        const struct pellet_synth_pellet *pellet;
        const struct pellet_synth_instrument *beam;
        struct pellet_spectrum *spectrum;
    } parts[] = {
        {NULL, &now->open_beam, &spectra->open},
        {&now->before, &now->blank_beam, &spectra->before},
        {&now->blank, &now->blank_beam, &made->blank},
        {&now->subject, &now->beam, &made->spectrum},
    };
    pellet_status status = PELLET_OK;

    for (size_t i = 0; i < sizeof parts / sizeof parts[0] && status == PELLET_OK; i++)
        status = pellet_synth_measure(model, parts[i].pellet, parts[i].beam, now->seed * 97 + 7 * step + i,
                                      parts[i].spectrum, NULL, error);
    return status;
}

static struct pellet_source source(const char *file, enum pellet_role role, const char *sample, int minute,
                                   const struct pellet_spectrum *spectrum)
{
    struct pellet_source made = {
        .file = file,
        .role = role,
        .sample = sample,
        .pellet = sample ? 1 : 0,
        .measured = INT64_C(1772614800) * PELLET_NS_PER_S + minute * 60 * PELLET_NS_PER_S,
        .measured_from = PELLET_TIME_FROM_FILE,
        .spectrum = spectrum,
        .state = role == PELLET_BLANK ? PELLET_BLANK_ACCEPTED : PELLET_BLANK_NONE,
    };
    memset(made.sha256, '0', PELLET_SHA256_HEX - 1);
    return made;
}

static void fill_attempts(const struct loop_bench *bench, const struct loop_past *past,
                          struct pellet_attempt *attempt)
{
    for (size_t i = 0; i < past->n; i++) {
        const struct loop_then *then = &past->then[i];
        attempt[i] = (struct pellet_attempt){
            .source = source("then.csv", PELLET_SAMPLE, "subject", 0, &then->spectrum),
            .blank = &then->blank,
            .verdict = &then->verdict,
            .row = bench->has_sheet ? &then->row : NULL,
        };
        attempt[i].source.pellet = then->pellet;
        attempt[i].source.scan = then->scan;
    }
}

pellet_status loop_judge(struct pellet_synth *model, const struct pellet_rules *rules,
                         const struct loop_bench *bench, size_t step, const struct loop_past *past,
                         struct loop_then *made, struct pellet_error *error)
{
    const bool sample = bench->now.role == PELLET_SAMPLE;
    struct spectra spectra = {0};
    struct pellet_attempt attempt[LOOP_ATTEMPTS_MAX];
    pellet_status status = measure(model, bench, step, &spectra, made, error);

    if (status == PELLET_OK) {
        const struct pellet_source open = source("open.csv", PELLET_OPEN_BEAM, NULL, 0, &spectra.open);
        const struct pellet_source blank = source("blank.csv", PELLET_BLANK, NULL, 5, &made->blank);
        const struct pellet_earlier before = {
            source("earlier_p1.csv", PELLET_SAMPLE, "earlier", 10, &spectra.before), &made->blank, blank};
        struct pellet_settings settings = {bench->now.range_low, bench->now.range_high,
                                           PELLET_RATIOED_UNKNOWN, ""};
        memset(settings.sha256, '0', PELLET_SHA256_HEX - 1);
        fill_attempts(bench, past, attempt);
        const bool too_old = bench->now.blank_age_min > BENCH_MAX_AGE_MIN;
        const bool refused = bench->now.pairing == BENCH_ALL_REFUSED;
        const struct pellet_skipped skipped = {"blank-0.csv", "refused"};
        struct pellet_inputs inputs = {
            .subject = source("subject.csv", bench->now.role, sample ? "subject" : NULL, 20, &made->spectrum),
            .station = "bench",
            .session = "bench",
            .blank = sample && !too_old && !refused ? &blank : NULL,
            .no_blank = too_old ? PELLET_NO_BLANK_TOO_OLD : PELLET_NO_BLANK_ALL_REFUSED,
            .no_blank_age_min = too_old ? bench->now.blank_age_min : (double)NAN,
            .skipped_count = refused,
            .skipped = &skipped,
            /* One of other settings is not handed over. */
            .open_beam = bench->now.has_open_beam && bench->now.open_beam.scans == bench->now.beam.scans
                             ? &open
                             : NULL,
            .earlier_count = 1,
            .earlier = &before,
            .attempt_count = sample ? past->n : 0,
            .attempt = attempt,
            .settings = &settings,
            .row = sample && bench->has_sheet ? &bench->row : NULL,
            .rules = rules,
        };
        inputs.subject.pellet = sample ? bench->pellet : 0;
        inputs.subject.scan = bench->scan;
        made->pellet = bench->pellet;
        made->scan = bench->scan;
        made->row = bench->row;
        status = pellet_judge(&inputs, &made->verdict, NULL, error);
    }
    pellet_spectrum_clear(&spectra.open);
    pellet_spectrum_clear(&spectra.before);
    return status;
}
