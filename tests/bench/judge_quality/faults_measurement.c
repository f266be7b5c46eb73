// SPDX-License-Identifier: GPL-3.0-or-later
/* What goes wrong with the measurement: light, air, detector, range, scale, and the blank that goes
 * with it. */
#include "clean.h"
#include "faults.h"
#include "truths.h"

#include "random.h"

/* Too old, or none that was accepted, or one of other settings. */
void put_blank(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    const double lot = gsl_rng_uniform(rng);
    c->pairing = lot < 0.6 ? BENCH_PAIRED : lot < 0.8 ? BENCH_ALL_REFUSED : BENCH_CONFLICT;
    if (c->pairing == BENCH_PAIRED)
        c->blank_age_min = BENCH_MAX_AGE_MIN * severity;
    if (c->pairing == BENCH_CONFLICT)
        c->blank_beam.resolution_cm1 *= 2.0;
}

void put_noise(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    (void)rng;
    const double limit = c->role == PELLET_SAMPLE ? 0.002 : 0.001;
    const double both = limit * severity * 0.85 * 0.9 / M_LOG10E;
    const double other = bench_reference_beam(c)->noise;
    c->beam.noise = both > other ? sqrt(both * both - other * other) : 0.3 * both;
}

/* The beam ends above the file's low end, and what stands there is not light. */
static void put_dark_end(gsl_rng *rng, double severity, struct bench_case *c)
{
    struct pellet_synth_instrument *beams[] = {&c->beam, &c->blank_beam, &c->open_beam};
    const double cutoff = c->beam.low_cm1 + uniform(rng, 45.0, 70.0);
    for (size_t i = 0; i < 3; i++) {
        beams[i]->cutoff_cm1 = cutoff;
        beams[i]->false_zero = 0.02 * severity * 0.9;
    }
    c->range_low = cutoff + 20.0;
}

/* Past the pellet, where opaque bands show it; or below the detector's cut-off. */
void put_leak(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    if (c->role == PELLET_BLANK || gsl_rng_uniform(rng) < 0.35) {
        put_dark_end(rng, severity, c);
        return;
    }
    c->subject.leak = 0.02 * severity;
    bench_set_height(c, uniform(rng, 4.0, 8.0));
}

void put_overcompensation(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    c->blank.haze_um = uniform(rng, 0.8, 2.0);
    c->blank.haze = c->subject.haze + log10(1.0 + 0.05 * severity);
}

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

void put_inverted(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    const double width = fmax(uniform(rng, 8.0, 25.0), 2.0 * c->beam.resolution_cm1);
    c->blank.impurity[c->blank.impurity_count++] =
        (struct pellet_synth_impurity){free_place(rng, &c->compound), 0.02 * severity, width};
}

/* The beam that holds more of the room's air than the other. */
static struct pellet_synth_instrument *moister(gsl_rng *rng, struct bench_case *c)
{
    if (gsl_rng_uniform(rng) < 0.7)
        return &c->beam;
    return bench_reference(c) ? &c->blank_beam : &c->open_beam;
}

void put_vapour(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    struct pellet_synth_instrument *moist = moister(rng, c);
    double height = 0.0;
    moist->vapour_cm2 += 1e18;
    for (int i = 0; i < 4 && bench_vapour_height(model, c, &height) == PELLET_OK && fabs(height) > 1e-5; i++)
        moist->vapour_cm2 *= fmin(4.0, fmax(0.25, 0.02 * severity / fabs(height)));
}

void put_carbon_dioxide(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    struct pellet_synth_instrument *breath = moister(rng, c);
    double height = 0.0;
    breath->carbon_dioxide_cm2 += 1e18;
    for (int i = 0; i < 4 && bench_carbon_dioxide(model, c, &height) == PELLET_OK && fabs(height) > 1e-5; i++)
        breath->carbon_dioxide_cm2 *= fmin(4.0, fmax(0.25, 0.05 * severity / fabs(height)));
}

/* The file ends before the station's range does; severity does not matter. */
void put_span(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    (void)severity;
    if (gsl_rng_uniform(rng) < 0.6)
        c->beam.low_cm1 = c->range_low + uniform(rng, 80.0, 400.0);
    else
        c->beam.high_cm1 = c->range_high - uniform(rng, 80.0, 400.0);
}

/* A scale error whose worst band is `severity` tolerances off: 1601.2 cm-1 has 1.0, 3060 has 1.5. */
void put_wavenumber(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    c->beam.scale_ppm = (gsl_rng_uniform(rng) < 0.5 ? -1.0 : 1.0) * severity * 1.5 / 3060.0 * 1e6;
    c->open_beam.scale_ppm = c->beam.scale_ppm;
}
