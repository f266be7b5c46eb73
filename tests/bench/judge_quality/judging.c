// SPDX-License-Identifier: GPL-3.0-or-later
/* From a case to its verdict: the spectra with their noise, and the inputs that a station would give. */
#include "bench.h"

#include <math.h>
#include <string.h>

/* Everything a case's judgement borrows. */
struct spectra {
    struct pellet_spectrum open, blank, subject, before;
};

static void clear(struct spectra *spectra)
{
    pellet_spectrum_clear(&spectra->open);
    pellet_spectrum_clear(&spectra->blank);
    pellet_spectrum_clear(&spectra->subject);
    pellet_spectrum_clear(&spectra->before);
}

static pellet_status measure(struct pellet_synth *model, const struct bench_case *of, struct spectra *spectra,
                             struct pellet_error *error)
{
    const struct {
        const struct pellet_synth_pellet *pellet;
        const struct pellet_synth_instrument *beam;
        struct pellet_spectrum *spectrum;
    } parts[] = {
        {NULL, &of->open_beam, &spectra->open},
        {&of->blank, &of->blank_beam, &spectra->blank},
        {&of->subject, &of->beam, &spectra->subject},
        {&of->before, &of->blank_beam, &spectra->before},
    };
    pellet_status status = PELLET_OK;
    for (size_t i = 0; i < sizeof parts / sizeof parts[0] && status == PELLET_OK; i++)
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

pellet_status bench_judge(struct pellet_synth *model, const struct pellet_rules *rules,
                          const struct bench_case *of, struct pellet_verdict *verdict,
                          struct pellet_spectrum *ratio, struct pellet_error *error)
{
    const pellet_ns minute = 60 * PELLET_NS_PER_S, start = INT64_C(1772614800) * PELLET_NS_PER_S;
    struct spectra spectra = {0};
    pellet_status status = measure(model, of, &spectra, error);
    if (status == PELLET_OK) {
        const bool sample = of->role == PELLET_SAMPLE;
        const struct pellet_source open = source("open.csv", PELLET_OPEN_BEAM, NULL, start, &spectra.open);
        const struct pellet_source blank =
            source("blank.csv", PELLET_BLANK, NULL, start + 5 * minute, &spectra.blank);
        const struct pellet_earlier before = {
            source("earlier_p1.csv", PELLET_SAMPLE, "earlier", start + 10 * minute, &spectra.before),
            &spectra.blank, blank};
        struct pellet_settings settings = {of->range_low, of->range_high, PELLET_RATIOED_UNKNOWN, ""};
        memset(settings.sha256, '0', PELLET_SHA256_HEX - 1);
        const struct pellet_inputs inputs = {
            .subject = source(sample ? "subject_p1.csv" : "subject.csv", of->role, sample ? "subject" : NULL,
                              start + 20 * minute, &spectra.subject),
            .station = "bench",
            .session = "bench",
            .blank = sample ? &blank : NULL,
            .no_blank_age_min = (double)NAN,
            .open_beam = &open,
            .earlier_count = 1,
            .earlier = &before,
            .settings = &settings,
            .rules = rules,
        };
        status = pellet_judge(&inputs, verdict, ratio, error);
    }
    clear(&spectra);
    return status;
}
