// SPDX-License-Identifier: GPL-3.0-or-later
/* What to do to the next pellet: numbers, and one instruction in the order of work. */
#ifndef PELLET_JUDGE_ADVICE_H
#define PELLET_JUDGE_ADVICE_H

#include "pellet/judge.h"

/* How the dose is to change. */
enum pellet_dose_way { PELLET_DOSE_KEEP, PELLET_DOSE_PRESS_LESS, PELLET_DOSE_DILUTE, PELLET_DOSE_FRESH };

/*
 * The dose that brings the strongest band to the target, by Beer and Lambert: net A is proportional to P x /
 * area, P the mass pressed, x the fraction of sample in it. More KBr at the same mass of sample changes the
 * thickness, not A.
 *
 * Given:     net          A of the strongest band above the baseline, > 0
 *            baseline     A below it
 *            target       A aimed at where the baseline allows: min(target, 1.1 - baseline), but never below
 * 0.1 lower_bound  net only bounds the truth: a first step of one third, or less if that is wanted anyway
 * Returned:  factor  of the dose, > 0
 */
double pellet_dose_factor(double net, double baseline, double target, bool lower_bound);

/* Factor 0.5..1: press less. 0.1..0.5: dilute the powder that is left. Below 0.1, or above 1: a fresh mix. */
enum pellet_dose_way pellet_dose_choose(double factor);

/*
 * Fill advice and instruction (and the found true absorbance) of a verdict whose outcome, reasons and checks
 * stand. measurement is NULL where nothing could be measured. Errors: E_MEMORY.
 */
pellet_status pellet_advise(const struct pellet_inputs *inputs, const struct pellet_measurement *measurement,
                            struct pellet_verdict *verdict);

#endif
