// SPDX-License-Identifier: GPL-3.0-or-later
/* Cases at random: compound, instrument, a good pellet and blank, then the faults. */
#include "bench.h"

#include "pellet/reference.h"

#include <math.h>
#include <string.h>

static double uniform(gsl_rng *rng, double low, double high)
{
    return low + (high - low) * gsl_rng_uniform(rng);
}

static double log_uniform(gsl_rng *rng, double low, double high)
{
    return low * pow(high / low, gsl_rng_uniform(rng));
}

/* ---------------------------------------------------------------- instruments */

/* Spacings of 4, 2, 1 and 0.5 cm-1, zero-filled or not, two ranges. A resolution of twice the native spacing.
 */
static void make_instruments(gsl_rng *rng, struct bench_case *c)
{
    static const double spacings[] = {4.0, 2.0, 1.0, 0.5};
    static const unsigned fills[] = {1, 1, 2, 4};
    struct pellet_synth_instrument *beam = &c->beam;
    pellet_synth_instrument_init(beam);
    beam->spacing_cm1 = spacings[gsl_rng_uniform_int(rng, 4)] * uniform(rng, 0.96, 1.0);
    do
        beam->zero_fill = fills[gsl_rng_uniform_int(rng, 4)];
    while (beam->spacing_cm1 * beam->zero_fill > 4.0);
    beam->resolution_cm1 = fmax(1.0, round(2.0 * beam->spacing_cm1 * beam->zero_fill));
    beam->low_cm1 = gsl_rng_uniform(rng) < 0.5 ? 400.0 : 650.0;
    beam->apodisation = gsl_rng_uniform(rng) < 0.7 ? PELLET_SYNTH_HAPP_GENZEL : PELLET_SYNTH_TRIANGULAR;
    /* RMS noise of A near 2100 cm-1 from 0.0001 to 0.00125: the noise limit itself is a fault of its own. */
    beam->noise = log_uniform(rng, 0.0001, 0.00125) * 0.85 * 0.9 / (M_LOG10E * M_SQRT2);
    beam->vapour_cm2 = log_uniform(rng, 5e16, 3e17);
    beam->carbon_dioxide_cm2 = log_uniform(rng, 1e16, 2e17);
    beam->ripple = uniform(rng, 0.0, 0.01);
    beam->ripple_period_cm1 = uniform(rng, 30.0, 150.0);
    beam->forward = uniform(rng, 0.3, 0.6);
    c->range_low = beam->low_cm1;
    c->range_high = beam->high_cm1;
    c->blank_beam = c->open_beam = *beam;
    beam->gain = uniform(rng, 0.995, 1.005);
    beam->warmth = uniform(rng, -0.002, 0.002);
    beam->vapour_cm2 *= uniform(rng, 0.9, 1.1);
    beam->carbon_dioxide_cm2 *= uniform(rng, 0.7, 1.4);
    c->blank_beam.gain = uniform(rng, 0.995, 1.005);
}

/* ---------------------------------------------------------------- good pellets */

static void make_clear(gsl_rng *rng, struct pellet_synth_pellet *pellet)
{
    pellet_synth_pellet_init(pellet);
    pellet->thickness_mm = uniform(rng, 0.35, 0.75);
    pellet->fringes = uniform(rng, 0.0, 0.12);
    pellet->roughness_um = uniform(rng, 0.0, 0.15);
    pellet->haze = uniform(rng, 0.003, 0.012);
    pellet->haze_um = uniform(rng, 0.2, 0.8);
    pellet->water_ug_cm2 = uniform(rng, 1.0, 9.0);
    pellet->water_shift_cm1 = uniform(rng, 0.0, 50.0);
    pellet->water_width = uniform(rng, 0.9, 1.2);
}

/* Dose for a strongest band of `height` A (unlimited resolution). */
static void set_height(struct bench_case *c, double height)
{
    struct pellet_synth_truth truth;
    c->subject.dose_mg_cm2 = 0.5;
    pellet_synth_truth_find(&c->subject, &c->beam, &truth);
    c->subject.dose_mg_cm2 *= height / truth.strongest_height;
}

static void make_good(gsl_rng *rng, struct bench_case *c)
{
    const size_t n = pellet_synth_compound_count, which = gsl_rng_uniform_int(rng, n);
    const size_t other = (which + 1 + gsl_rng_uniform_int(rng, n - 1)) % n;
    pellet_synth_compound_vary(&pellet_synth_compounds[which], 8.0, 0.2, gsl_rng_get(rng), &c->compound);
    pellet_synth_compound_vary(&pellet_synth_compounds[other], 8.0, 0.2, gsl_rng_get(rng), &c->earlier);
    make_clear(rng, &c->blank);
    make_clear(rng, &c->subject);
    make_clear(rng, &c->before);
    c->before.compound = &c->earlier;
    c->before.dose_mg_cm2 = 0.7;
    if (c->role == PELLET_FILM) {
        c->compound = pellet_synth_polystyrene;
        c->subject = (struct pellet_synth_pellet){.film = true,
                                                  .compound = &c->compound,
                                                  .grain_um = 0.05,
                                                  .thickness_mm = uniform(rng, 0.035, 0.05),
                                                  .fringes = uniform(rng, 0.0, 0.1),
                                                  .haze_um = 0.3,
                                                  .water_width = 1.0};
    }
    if (c->role != PELLET_SAMPLE)
        return;
    c->subject.compound = &c->compound;
    c->subject.grain_um = uniform(rng, 0.2, 0.7);
    set_height(c, uniform(rng, 0.45, 0.85));
}

/* ---------------------------------------------------------------- faults */

/* Far enough from every band of the compound that nothing of it is near. */
static double free_place(gsl_rng *rng, const struct pellet_synth_compound *compound)
{
    double best = 2600.0, widest = 0.0;
    for (int attempt = 0; attempt < 60; attempt++) {
        const double place = uniform(rng, 700.0, 2900.0);
        double nearest = 1e9;
        for (size_t i = 0; i < compound->band_count; i++)
            nearest = fmin(nearest, fabs(place - compound->band[i].at_cm1) / compound->band[i].width_cm1);
        if (place > 2230.0 && place < 2450.0)
            continue;
        if (nearest > widest) {
            widest = nearest;
            best = place;
        }
    }
    return best;
}

/* Bisect a parameter between low and high until `measure` of the case reaches `aim`; measure rises with it.
 */
static void solve(struct bench_case *c, double *parameter, double low, double high, double aim,
                  double (*measure)(const struct bench_case *))
{
    for (int i = 0; i < 24; i++) {
        *parameter = sqrt(low * high);
        if (measure(c) < aim)
            low = *parameter;
        else
            high = *parameter;
    }
}

static double tilt_of(const struct bench_case *c)
{
    struct pellet_synth_truth subject, blank;
    pellet_synth_truth_find(&c->subject, &c->beam, &subject);
    pellet_synth_truth_find(&c->blank, &c->blank_beam, &blank);
    return c->role == PELLET_SAMPLE ? subject.tilt - blank.tilt : subject.tilt;
}

static double opacity_of(const struct bench_case *c)
{
    struct pellet_synth_truth truth;
    pellet_synth_truth_find(&c->subject, &c->beam, &truth);
    return 1.0 / truth.transmittance_2000;
}

static double asymmetry_of(const struct bench_case *c)
{
    struct pellet_synth_truth truth;
    pellet_synth_truth_find(&c->subject, &c->beam, &truth);
    return fabs(truth.asymmetry);
}

static double fringes_of(const struct bench_case *c)
{
    struct pellet_synth_truth truth;
    pellet_synth_truth_find(&c->subject, &c->beam, &truth);
    return truth.fringe_peak_to_peak;
}

typedef void (*put_in)(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c);

static void put_saturation(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    (void)rng;
    set_height(c, 1.5 * severity);
}

static void put_weak(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    (void)rng;
    set_height(c, 0.2 / severity);
}

static void put_moisture(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    const double extra = 30.0 * severity;
    if (c->role == PELLET_SAMPLE && gsl_rng_uniform(rng) < 0.25)
        c->blank.water_ug_cm2 = c->subject.water_ug_cm2 + extra;
    else
        c->subject.water_ug_cm2 = (c->role == PELLET_SAMPLE ? c->blank.water_ug_cm2 : 0.0) + extra;
}

static void put_opacity(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    c->subject.haze_um = uniform(rng, 1.2, 2.5);
    solve(c, &c->subject.haze, 0.001, 3.0, severity / (c->role == PELLET_SAMPLE ? 0.60 : 0.75), opacity_of);
}

static void put_tilt(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    const double aim = severity * (c->role == PELLET_SAMPLE ? 0.20 : 0.10);
    if (c->role == PELLET_SAMPLE && fabs(c->compound.index - 1.535) > 0.04 && gsl_rng_uniform(rng) < 0.6)
        solve(c, &c->subject.grain_um, 0.2, 12.0, aim, tilt_of);
    if (tilt_of(c) > 0.97 * aim)
        return;
    c->subject.haze_um = uniform(rng, 0.15, 0.5);
    solve(c, &c->subject.haze, 0.001, 3.0, aim, tilt_of);
}

static void put_asymmetry(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    c->compound.index = 1.535 + (gsl_rng_uniform(rng) < 0.8 ? 1.0 : -0.4) * uniform(rng, 0.05, 0.10);
    solve(c, &c->subject.grain_um, 0.2, 12.0, 0.35 * severity, asymmetry_of);
    set_height(c, uniform(rng, 0.5, 0.9)); /* coarse grains weaken bands: the person took more */
}

static void put_noise(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    (void)rng;
    const double limit = c->role == PELLET_SAMPLE ? 0.002 : 0.001;
    const double both = limit * severity * 0.85 * 0.9 / M_LOG10E;
    const double other = c->role == PELLET_SAMPLE ? c->blank_beam.noise : c->open_beam.noise;
    c->beam.noise = both > other ? sqrt(both * both - other * other) : 0.3 * both;
}

static void put_leak(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    c->subject.leak = 0.02 * severity * 0.9;
    set_height(c, uniform(rng, 4.0, 8.0));
}

static void put_overcompensation(struct pellet_synth *model, gsl_rng *rng, double severity,
                                 struct bench_case *c)
{
    (void)model;
    c->blank.haze_um = uniform(rng, 0.8, 2.0);
    c->blank.haze = c->subject.haze + log10(1.0 + 0.05 * severity);
}

static void add_impurity(struct pellet_synth_pellet *pellet, double at_cm1, double height, double width_cm1)
{
    pellet->impurity[pellet->impurity_count++] = (struct pellet_synth_impurity){at_cm1, height, width_cm1};
}

static void put_inverted(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    const double width = fmax(uniform(rng, 8.0, 25.0), 2.0 * c->beam.resolution_cm1);
    add_impurity(&c->blank, free_place(rng, &c->compound), 0.02 * severity, width);
}

static void put_purity(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    const struct pellet_impurity *listed =
        &pellet_impurities[gsl_rng_uniform_int(rng, pellet_impurity_count)];
    const double width = fmax(uniform(rng, 8.0, 25.0), 2.0 * c->beam.resolution_cm1);
    add_impurity(&c->subject, listed->at, 0.02 * severity, width);
}

static void put_vapour(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    struct pellet_synth_instrument *moist = gsl_rng_uniform(rng) < 0.7 ? &c->beam
                                            : c->role == PELLET_SAMPLE ? &c->blank_beam
                                                                       : &c->open_beam;
    double height = 0.0;
    moist->vapour_cm2 += 1e18;
    for (int i = 0; i < 4 && bench_vapour_height(model, c, &height) == PELLET_OK && fabs(height) > 1e-5; i++)
        moist->vapour_cm2 *= fmin(4.0, fmax(0.25, 0.02 * severity / fabs(height)));
}

/* The file ends before the station's range does; severity does not matter. */
static void put_span(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    (void)severity;
    if (gsl_rng_uniform(rng) < 0.6)
        c->beam.low_cm1 = c->range_low + uniform(rng, 80.0, 400.0);
    else
        c->beam.high_cm1 = c->range_high - uniform(rng, 80.0, 400.0);
}

static void put_residue(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    (void)rng;
    struct pellet_synth_truth truth;
    c->subject.residue = &c->earlier;
    c->subject.residue_mg_cm2 = 0.02;
    pellet_synth_truth_find(&c->subject, &c->beam, &truth);
    c->subject.residue_mg_cm2 *= 0.02 * severity / truth.residue_height;
}

static void put_fringes(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    (void)rng;
    c->subject.roughness_um = 0.02;
    solve(c, &c->subject.fringes, 0.01, 1.0, 0.02 * severity, fringes_of);
}

/* A scale error whose worst band is `severity` tolerances off: 1601.2 cm-1 has 1.0, 3060 has 1.5. */
static void put_wavenumber(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    c->beam.scale_ppm = (gsl_rng_uniform(rng) < 0.5 ? -1.0 : 1.0) * severity * 1.5 / 3060.0 * 1e6;
    c->open_beam.scale_ppm = c->beam.scale_ppm;
}

enum { FOR_SAMPLE = 1, FOR_BLANK = 2, FOR_FILM = 4 };

/* Faults that set the same amount cannot be put in together. */
enum claim { CLAIMS_NOTHING, CLAIMS_DOSE, CLAIMS_HAZE, CLAIMS_GRAIN };

static const struct {
    const char *id;
    put_in put;
    int roles;
    enum claim claim;
} faults[] = {
    {"saturation", put_saturation, FOR_SAMPLE, CLAIMS_DOSE},
    {"weak", put_weak, FOR_SAMPLE, CLAIMS_DOSE},
    {"moisture", put_moisture, FOR_SAMPLE | FOR_BLANK, CLAIMS_NOTHING},
    {"opacity", put_opacity, FOR_SAMPLE | FOR_BLANK, CLAIMS_HAZE},
    {"tilt", put_tilt, FOR_SAMPLE | FOR_BLANK, CLAIMS_HAZE},
    {"asymmetry", put_asymmetry, FOR_SAMPLE, CLAIMS_HAZE},
    {"noise", put_noise, FOR_SAMPLE | FOR_BLANK, CLAIMS_NOTHING},
    {"leak", put_leak, FOR_SAMPLE, CLAIMS_DOSE},
    {"overcompensation", put_overcompensation, FOR_SAMPLE, CLAIMS_HAZE},
    {"inverted", put_inverted, FOR_SAMPLE, CLAIMS_NOTHING},
    {"purity", put_purity, FOR_BLANK, CLAIMS_NOTHING},
    {"vapour", put_vapour, FOR_SAMPLE | FOR_BLANK, CLAIMS_NOTHING},
    {"span", put_span, FOR_SAMPLE | FOR_BLANK, CLAIMS_NOTHING},
    {"residue", put_residue, FOR_SAMPLE | FOR_BLANK, CLAIMS_NOTHING},
    {"fringes", put_fringes, FOR_SAMPLE, CLAIMS_NOTHING},
    {"wavenumber", put_wavenumber, FOR_FILM, CLAIMS_NOTHING},
};
#define FAULTS (sizeof faults / sizeof faults[0])

const char *bench_fault_name(size_t i)
{
    return i < FAULTS ? faults[i].id : NULL;
}

static int bit_of(enum pellet_role role)
{
    return role == PELLET_SAMPLE ? FOR_SAMPLE : role == PELLET_BLANK ? FOR_BLANK : FOR_FILM;
}

static bool fits(size_t fault, const struct bench_case *c)
{
    return (faults[fault].roles & bit_of(c->role)) != 0;
}

static size_t choose(gsl_rng *rng, const struct bench_options *options, const struct bench_case *c)
{
    for (;;) {
        const size_t fault = gsl_rng_uniform_int(rng, FAULTS);
        if (fits(fault, c) && (!options->only || strcmp(options->only, faults[fault].id) == 0))
            return fault;
    }
}

static void put_faults(struct pellet_synth *model, gsl_rng *rng, const struct bench_options *options,
                       size_t wanted, struct bench_case *c)
{
    size_t first = FAULTS;
    for (size_t i = 0; i < wanted; i++) {
        const size_t fault = choose(rng, options, c);
        const double severity = log_uniform(rng, options->least, options->most);
        if (first < FAULTS && (fault == first || (faults[fault].claim != CLAIMS_NOTHING &&
                                                  faults[fault].claim == faults[first].claim)))
            return;
        first = fault;
        faults[fault].put(model, rng, severity, c);
        c->fault[i] = faults[fault].id;
        c->severity[i] = severity;
    }
}

/* Three samples in four, a blank in five, now and then a film; as far as the wanted fault allows. */
static enum pellet_role choose_role(gsl_rng *rng, const char *only)
{
    for (;;) {
        const double lot = gsl_rng_uniform(rng);
        const enum pellet_role role = lot < 0.2 ? PELLET_BLANK : lot < 0.25 ? PELLET_FILM : PELLET_SAMPLE;
        for (size_t i = 0; i < FAULTS; i++) {
            if ((!only || strcmp(faults[i].id, only) == 0) && (faults[i].roles & bit_of(role)))
                return role;
        }
    }
}

void bench_case_make(struct pellet_synth *model, const struct bench_options *options, size_t index,
                     struct bench_case *made)
{
    *made = (struct bench_case){.seed = options->seed * 1000003UL + index};
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_mt19937);
    gsl_rng_set(rng, made->seed);
    made->role = choose_role(rng, options->only);
    make_instruments(rng, made);
    make_good(rng, made);
    const double lot = gsl_rng_uniform(rng);
    const size_t wanted = options->only ? 1 : lot < 0.25 ? 0 : lot < 0.75 ? 1 : 2;
    put_faults(model, rng, options, wanted, made);
    gsl_rng_free(rng);
}
