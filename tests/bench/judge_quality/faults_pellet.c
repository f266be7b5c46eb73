// SPDX-License-Identifier: GPL-3.0-or-later
/* What goes wrong with the pellet: mortar, balance, press, and what was in them before. */
#include "clean.h"
#include "faults.h"

#include "pellet/reference.h"
#include "random.h"

/* Bisect a parameter between low and high until `measure` of the case reaches `aim`, with which it rises. */
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
    return bench_reference(c) ? subject.tilt - blank.tilt : subject.tilt;
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

void put_saturation(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    (void)rng;
    bench_set_height(c, 1.5 * severity);
}

void put_weak(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    (void)rng;
    bench_set_height(c, 0.2 / severity);
}

void put_moisture(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    const double extra = 30.0 * severity;
    if (c->role == PELLET_SAMPLE && gsl_rng_uniform(rng) < 0.25)
        c->blank.water_ug_cm2 = c->subject.water_ug_cm2 + extra;
    else
        c->subject.water_ug_cm2 = (bench_reference(c) ? c->blank.water_ug_cm2 : 0.0) + extra;
}

void put_opacity(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    c->subject.haze_um = uniform(rng, 1.2, 2.5);
    solve(c, &c->subject.haze, 0.001, 3.0, severity / (c->role == PELLET_SAMPLE ? 0.60 : 0.75), opacity_of);
}

void put_tilt(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
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

void put_asymmetry(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    c->compound.index = 1.535 + (gsl_rng_uniform(rng) < 0.8 ? 1.0 : -0.4) * uniform(rng, 0.05, 0.10);
    solve(c, &c->subject.grain_um, 0.2, 12.0, 0.35 * severity, asymmetry_of);
    bench_set_height(c, uniform(rng, 0.5, 0.9)); /* coarse grains weaken bands: the person took more */
}

void put_residue(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    (void)rng;
    struct pellet_synth_truth truth;
    c->subject.residue = &c->earlier;
    c->subject.residue_mg_cm2 = 0.02;
    pellet_synth_truth_find(&c->subject, &c->beam, &truth);
    c->subject.residue_mg_cm2 *= 0.02 * severity / truth.residue_height;
}

/* Wide enough that the resolution leaves most of it. */
static void add_impurity(gsl_rng *rng, const struct bench_case *c, struct pellet_synth_pellet *pellet,
                         double at_cm1, double height)
{
    const double width_cm1 = fmax(uniform(rng, 8.0, 25.0), 2.0 * c->beam.resolution_cm1);
    pellet->impurity[pellet->impurity_count++] = (struct pellet_synth_impurity){at_cm1, height, width_cm1};
}

void put_purity(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    const struct pellet_impurity *listed =
        &pellet_impurities[gsl_rng_uniform_int(rng, pellet_impurity_count)];
    add_impurity(rng, c, &c->subject, listed->at, 0.02 * severity);
}

/* The four places that `routine` names; the sample's own bands stand there as well, and count. */
void put_windows(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    static const double places[] = {1384.0, 1430.0, 2905.0, 1267.0};
    add_impurity(rng, c, &c->subject, places[gsl_rng_uniform_int(rng, 4)], 0.03 * severity);
}

static double fringes_of(const struct bench_case *c)
{
    struct pellet_synth_truth truth;
    pellet_synth_truth_find(&c->subject, &c->beam, &truth);
    return truth.fringe_peak_to_peak;
}

static void set_thickness(gsl_rng *rng, struct bench_case *c, double thickness_mm)
{
    c->subject.thickness_mm = thickness_mm;
    if (!isnan(c->pressed_mg))
        c->pressed_mg = thickness_mm * uniform(rng, 1.01, 1.05) / pellet_kbr_thickness_mm(1.0, BENCH_DIE_MM);
}

/* Thin enough that the resolution leaves something of the ripple, as far as a pellet can be thin. */
void put_fringes(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    const double path_cm = uniform(rng, 0.1, 0.55) / c->beam.resolution_cm1;
    set_thickness(rng, c, fmin(0.9, fmax(0.12, 10.0 * path_cm / (2.0 * pellet_kbr_group_index(2200.0)))));
    c->subject.roughness_um = 0.02;
    solve(c, &c->subject.fringes, 0.01, 1.0, 0.02 * severity, fringes_of);
}

/* As a cracked wafer or as a tablet; below 0.055 mm nothing holds together. */
void put_thickness(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c)
{
    (void)model;
    const bool thin = gsl_rng_uniform(rng) < 0.5;
    set_thickness(rng, c, thin ? fmax(0.055, 0.1 / severity) : fmin(3.0, 1.2 * severity));
    c->subject.fringes = uniform(rng, 0.02, 0.3);
}
