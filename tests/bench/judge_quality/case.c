// SPDX-License-Identifier: GPL-3.0-or-later
/* Cases at random: compound, instrument, a good pellet and blank. The faults are in faults.c. */
#include "bench.h"

#include "pellet/reference.h"
#include "random.h"

#include <string.h>

/* ---------------------------------------------------------------- instruments */

/* Spacings of 4, 2, 1 and 0.5 cm-1, zero-filled or not, two ranges. A resolution of twice the
 * native spacing. */
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

void bench_set_height(struct bench_case *c, double height)
{
    struct pellet_synth_truth truth;
    c->subject.dose_mg_cm2 = 0.5;
    pellet_synth_truth_find(&c->subject, &c->beam, &truth);
    c->subject.dose_mg_cm2 *= height / truth.strongest_height;
}

/*
 * A station that keeps an open beam nearly always; where it keeps none, half of the blanks are not the
 * session's first. One sample in eight is a second attempt. A worksheet now and then, with what stuck to the
 * mortar.
 */
static void make_surroundings(gsl_rng *rng, struct bench_case *c)
{
    const double keeps = c->role == PELLET_BLANK ? 0.7 : 0.85;
    c->has_open_beam = gsl_rng_uniform(rng) < keeps || c->role == PELLET_FILM;
    c->is_later_blank = c->role == PELLET_BLANK && !c->has_open_beam && gsl_rng_uniform(rng) < 0.5;
    c->is_second_attempt = c->role == PELLET_SAMPLE && gsl_rng_uniform(rng) < 0.125;
    c->pairing = BENCH_PAIRED;
    c->blank_age_min = uniform(rng, 2.0, 36.0);
    c->pressed_mg = (double)NAN;
    if (c->role == PELLET_SAMPLE && gsl_rng_uniform(rng) < 0.4)
        c->pressed_mg =
            c->subject.thickness_mm * uniform(rng, 1.01, 1.05) / pellet_kbr_thickness_mm(1.0, BENCH_DIE_MM);
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
    bench_set_height(c, uniform(rng, 0.45, 0.85));
}

/* ---------------------------------------------------------------- the whole */

/* Three samples in four, a blank in five, now and then a film; as far as the wanted fault allows. */
static enum pellet_role choose_role(gsl_rng *rng, const char *only)
{
    for (;;) {
        const double lot = gsl_rng_uniform(rng);
        const enum pellet_role role = lot < 0.2 ? PELLET_BLANK : lot < 0.25 ? PELLET_FILM : PELLET_SAMPLE;
        for (size_t i = 0; bench_fault_name(i); i++) {
            if ((!only || strcmp(only, "none") == 0 || strcmp(bench_fault_name(i), only) == 0) &&
                bench_fault_fits(i, role))
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
    make_surroundings(rng, made);
    const double lot = gsl_rng_uniform(rng);
    const size_t drawn = lot < 0.25 ? 0 : lot < 0.70 ? 1 : 2;
    const size_t wanted = !options->only ? drawn : strcmp(options->only, "none") == 0 ? 0 : 1;
    bench_faults_put(model, rng, options, wanted, made);
    gsl_rng_free(rng);
}
