// SPDX-License-Identifier: GPL-3.0-or-later
/* From how strong a pellet is to what the next one is to hold: factors, and masses where the worksheet gives
 * some. */
#ifndef PELLET_JUDGE_ADVICE_DOSE_H
#define PELLET_JUDGE_ADVICE_DOSE_H

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
 *                         half of the target, or the next pellet would be too faint
 *            lower_bound  net only bounds the truth: a first step of one third, or less if that is wanted
 *                         anyway
 * Returned:  factor  of the dose, > 0
 * Source:    21 CFR 436.211(b)(1): 2, 1 and 0.5 mg in the same KBr and die make absorbances of 1 : 0.5 : 0.25
 */
double pellet_dose_factor(double net, double baseline, double target, bool lower_bound);

/* Factor 0.5..1: press less. 0.1..0.5: dilute the powder that is left. Below 0.1, or above 1: a fresh mix. */
enum pellet_dose_way pellet_dose_choose(double factor);

/* What is wanted of the next pellet, and what is known of this one; NaN where it is not. */
struct pellet_dose_wish {
    double factor;                 /* of the sample in the beam */
    double powder_factor;          /* of the mass pressed, for the pellet's clarity alone; 1: as it was */
    bool fresh;                    /* the powder that is left must not be used again */
    double thickness_mm;           /* of this pellet */
    struct pellet_limit window_mm; /* that the next one's is to keep in */
    double balance_min_mg;
    const struct pellet_worksheet_row *row; /* of this pellet, or NULL */
};

/* The answer. powder_factor x sample_factor is the change of dose; masses are NaN without a worksheet. */
struct pellet_dose {
    enum pellet_dose_way way;
    double sample_factor, powder_factor;
    double take_mg, add_kbr_mg, press_mg; /* take: of the powder, or with FRESH of the sample */
    double thickness_mm;
    double mg_cm2; /* sample in the next pellet's beam; NaN without die and amounts */
};

/* Sample in this pellet's beam; NaN where it was not weighed, or less than a balance of this kind
 * can weigh. */
double pellet_dose_mg_cm2(const struct pellet_worksheet_row *row, double balance_min_mg);

/*
 * Solve P x for what is wanted. Thickness stays in its window where it is known; nothing lighter than the
 * balance can weigh is asked for: the batch grows instead. Where the powder that is left does not suffice, or
 * there must be none of it, it is a fresh mix.
 */
void pellet_dose_solve(const struct pellet_dose_wish *wish, struct pellet_dose *dose);

#endif
