// SPDX-License-Identifier: GPL-3.0-or-later
/* What the table of faults is made of. */
#ifndef BENCH_FAULTS_H
#define BENCH_FAULTS_H

#include "bench.h"

/* Set the amounts so that the quantity comes near `severity` limits. */
typedef void (*bench_put)(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c);

/* Of the pellet: faults_pellet.c. */
void put_saturation(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c);
void put_weak(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c);
void put_moisture(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c);
void put_opacity(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c);
void put_tilt(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c);
void put_asymmetry(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c);
void put_residue(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c);
void put_purity(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c);
void put_windows(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c);
void put_fringes(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c);
void put_thickness(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c);

/* Of the measurement and its blank: faults_measurement.c. */
void put_blank(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c);
void put_noise(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c);
void put_leak(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c);
void put_overcompensation(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c);
void put_inverted(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c);
void put_vapour(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c);
void put_carbon_dioxide(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c);
void put_span(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c);
void put_wavenumber(struct pellet_synth *model, gsl_rng *rng, double severity, struct bench_case *c);

#endif
