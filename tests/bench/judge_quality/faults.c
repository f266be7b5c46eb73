// SPDX-License-Identifier: GPL-3.0-or-later
/* The table of faults, and which of them are put into a case. */
#include "faults.h"

#include "random.h"

#include <string.h>

enum { FOR_SAMPLE = 1, FOR_BLANK = 2, FOR_FILM = 4 };

/* Faults that set the same amount cannot be put in together. */
enum claim { CLAIMS_NOTHING, CLAIMS_DOSE, CLAIMS_HAZE, CLAIMS_LAYER, CLAIMS_BLANK };

static const struct {
    const char *id;
    bench_put put;
    int roles;
    enum claim claim;
} faults[] = {
    {"blank", put_blank, FOR_SAMPLE, CLAIMS_BLANK},
    {"span", put_span, FOR_SAMPLE | FOR_BLANK, CLAIMS_NOTHING},
    {"noise", put_noise, FOR_SAMPLE | FOR_BLANK, CLAIMS_NOTHING},
    {"leak", put_leak, FOR_SAMPLE | FOR_BLANK, CLAIMS_DOSE},
    {"overcompensation", put_overcompensation, FOR_SAMPLE, CLAIMS_HAZE},
    {"inverted", put_inverted, FOR_SAMPLE, CLAIMS_NOTHING},
    {"vapour", put_vapour, FOR_SAMPLE | FOR_BLANK, CLAIMS_NOTHING},
    {"carbon_dioxide", put_carbon_dioxide, FOR_SAMPLE, CLAIMS_NOTHING},
    {"saturation", put_saturation, FOR_SAMPLE, CLAIMS_DOSE},
    {"weak", put_weak, FOR_SAMPLE, CLAIMS_DOSE},
    {"opacity", put_opacity, FOR_SAMPLE | FOR_BLANK, CLAIMS_HAZE},
    {"moisture", put_moisture, FOR_SAMPLE | FOR_BLANK, CLAIMS_NOTHING},
    {"tilt", put_tilt, FOR_SAMPLE | FOR_BLANK, CLAIMS_HAZE},
    {"asymmetry", put_asymmetry, FOR_SAMPLE, CLAIMS_HAZE},
    {"fringes", put_fringes, FOR_SAMPLE | FOR_BLANK, CLAIMS_LAYER},
    {"thickness", put_thickness, FOR_SAMPLE, CLAIMS_LAYER},
    {"residue", put_residue, FOR_SAMPLE | FOR_BLANK, CLAIMS_NOTHING},
    {"purity", put_purity, FOR_BLANK, CLAIMS_NOTHING},
    {"windows", put_windows, FOR_SAMPLE | FOR_BLANK, CLAIMS_NOTHING},
    {"wavenumber", put_wavenumber, FOR_FILM, CLAIMS_NOTHING},
};
#define FAULTS (sizeof faults / sizeof faults[0])

const char *bench_fault_name(size_t i)
{
    return i < FAULTS ? faults[i].id : NULL;
}

bool bench_fault_fits(size_t fault, enum pellet_role role)
{
    const int bit = role == PELLET_SAMPLE ? FOR_SAMPLE : role == PELLET_BLANK ? FOR_BLANK : FOR_FILM;
    return (faults[fault].roles & bit) != 0;
}

static size_t choose(gsl_rng *rng, const struct bench_options *options, const struct bench_case *c)
{
    for (;;) {
        const size_t fault = gsl_rng_uniform_int(rng, FAULTS);
        if (bench_fault_fits(fault, c->role) &&
            (!options->only || strcmp(options->only, faults[fault].id) == 0))
            return fault;
    }
}

/* Without a blank nothing else can be seen. */
static bool exclude(size_t one, size_t other)
{
    return one == other || faults[one].claim == CLAIMS_BLANK || faults[other].claim == CLAIMS_BLANK ||
           (faults[one].claim != CLAIMS_NOTHING && faults[one].claim == faults[other].claim);
}

void bench_faults_put(struct pellet_synth *model, gsl_rng *rng, const struct bench_options *options,
                      size_t wanted, struct bench_case *c)
{
    size_t first = FAULTS;
    for (size_t i = 0; i < wanted; i++) {
        const size_t fault = choose(rng, options, c);
        const double severity = log_uniform(rng, options->least, options->most);
        if (first < FAULTS && exclude(first, fault))
            return;
        first = fault;
        faults[fault].put(model, rng, severity, c);
        c->fault[i] = faults[fault].id;
        c->severity[i] = severity;
    }
}
