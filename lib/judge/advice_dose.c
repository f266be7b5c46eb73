// SPDX-License-Identifier: GPL-3.0-or-later
#include "judge/advice_dose.h"

#include "pellet/reference.h"

#include <math.h>

#define BASELINE_ROOM_A    1.1 /* target and baseline together stay on scale */
#define LEAST_TARGET_SHARE 0.5
#define FIRST_STEP         (1.0 / 3.0)
#define PRESS_LESS_FROM    0.5
#define DILUTE_FROM        0.1
#define DILUTE_UP_TO       0.9 /* less of a change than that is lost in the weighing */
/* A little more is mixed than is pressed: some stays in the mortar. Common practice, no source. */
#define BATCH_SPARE 1.1
/* Nobody grinds more KBr than this (mg) for one pellet; then a powder that is there is diluted. */
#define BATCH_MOST_MG 1000.0

double pellet_dose_factor(double net, double baseline, double target, bool lower_bound)
{
    const double aim = fmax(fmin(target, BASELINE_ROOM_A - fmax(baseline, 0.0)), LEAST_TARGET_SHARE * target);
    const double factor = aim / net;

    return lower_bound ? fmin(factor, FIRST_STEP) : factor;
}

enum pellet_dose_way pellet_dose_choose(double factor)
{
    if (factor >= PRESS_LESS_FROM && factor <= 1.0)
        return PELLET_DOSE_PRESS_LESS;
    if (factor >= DILUTE_FROM && factor < PRESS_LESS_FROM)
        return PELLET_DOSE_DILUTE;
    return PELLET_DOSE_FRESH;
}

/* ---------------------------------------------------------------- what the worksheet knows */

/* What was mixed, pressed, and is left; NaN where it is not known. */
struct amounts {
    double mixed_mg, pressed_mg, left_mg, fraction, area_cm2;
};

/* What the balance cannot weigh is not taken at its word: half of its least is known to a few
 * tenths at best. */
static bool is_weighed(double sample_mg, double balance_min_mg)
{
    return sample_mg >= 0.5 * balance_min_mg;
}

static struct amounts amounts_of(const struct pellet_worksheet_row *row, double balance_min_mg)
{
    struct amounts known = {NAN, NAN, NAN, NAN, NAN};

    if (row == NULL)
        return known;
    known.mixed_mg = row->sample_mg + row->kbr_mg;
    /* Who weighs a mix for one pellet presses what was mixed. */
    known.pressed_mg = row->pressed_mg > 0.0 ? row->pressed_mg : known.mixed_mg;
    known.fraction = is_weighed(row->sample_mg, balance_min_mg) ? row->sample_mg / known.mixed_mg : NAN;
    known.left_mg = isfinite(row->powder_left_mg) ? row->powder_left_mg : known.mixed_mg - known.pressed_mg;
    known.area_cm2 = row->die_mm > 0.0 ? pellet_die_area_cm2(row->die_mm) : NAN;
    if (!(known.pressed_mg > 0.0))
        known.pressed_mg = NAN;
    return known;
}

double pellet_dose_mg_cm2(const struct pellet_worksheet_row *row, double balance_min_mg)
{
    const struct amounts known = amounts_of(row, balance_min_mg);

    return known.fraction * known.pressed_mg / known.area_cm2;
}

/* ---------------------------------------------------------------- the three ways */

static double keep_within(double value, struct pellet_limit window)
{
    return fmin(fmax(value, window.low), window.high);
}

/* The change of the mass pressed that keeps the next pellet's thickness in its window. */
static double fitting_powder(const struct pellet_dose_wish *wish, double factor)
{
    if (!(wish->thickness_mm > 0.0))
        return factor;
    return keep_within(factor * wish->thickness_mm, wish->window_mm) / wish->thickness_mm;
}

/* Whether simply less of the same powder does it and leaves a pellet of a usual thickness. */
static bool press_less_serves(const struct pellet_dose_wish *wish)
{
    if (wish->fresh || pellet_dose_choose(wish->factor) != PELLET_DOSE_PRESS_LESS)
        return false;
    return fabs(fitting_powder(wish, wish->factor) / wish->factor - 1.0) < 0.01;
}

/* Whether what is left of the powder, diluted, makes the next pellet. */
static bool dilution_serves(const struct pellet_dose_wish *wish, const struct amounts *known,
                            const struct pellet_dose *dose)
{
    const double share = dose->sample_factor, needed = share * dose->press_mg;

    if (wish->fresh || share > DILUTE_UP_TO)
        return false;
    if (isfinite(known->left_mg) && isfinite(needed) && known->left_mg < fmax(needed, wish->balance_min_mg))
        return false;
    if (pellet_dose_choose(share) != PELLET_DOSE_FRESH)
        return true;
    /* Below a tenth a fresh mix is better, unless nobody would grind so much KBr. */
    return wish->balance_min_mg / (share * known->fraction) > BATCH_MOST_MG;
}

static void set_dilution(const struct pellet_dose_wish *wish, struct pellet_dose *dose)
{
    const double wanted = dose->sample_factor * dose->press_mg;

    dose->take_mg = isfinite(wanted) ? fmax(wanted, wish->balance_min_mg) : NAN;
    dose->add_kbr_mg = dose->take_mg * (1.0 / dose->sample_factor - 1.0);
}

static void set_fresh_mix(const struct pellet_dose_wish *wish, const struct amounts *known,
                          struct pellet_dose *dose)
{
    const double fraction = dose->sample_factor * known->fraction;
    /* As much as was mixed before, but for no more than two pellets. */
    const double batch = fmax(fmin(known->mixed_mg, 2.0 * dose->press_mg), BATCH_SPARE * dose->press_mg);
    const double wanted = fraction * batch;

    dose->take_mg = isfinite(wanted) ? fmax(wanted, wish->balance_min_mg) : NAN;
    dose->add_kbr_mg = dose->take_mg * (1.0 / fraction - 1.0);
}

void pellet_dose_solve(const struct pellet_dose_wish *wish, struct pellet_dose *dose)
{
    const struct amounts known = amounts_of(wish->row, wish->balance_min_mg);
    const bool changes = fabs(wish->factor - 1.0) > 1e-9 || wish->fresh;
    double powder = fitting_powder(wish, wish->powder_factor);

    *dose = (struct pellet_dose){.way = PELLET_DOSE_KEEP, .take_mg = NAN, .add_kbr_mg = NAN};
    if (press_less_serves(wish)) {
        dose->way = PELLET_DOSE_PRESS_LESS;
        powder = wish->factor;
    }
    dose->powder_factor = powder;
    dose->sample_factor = wish->factor / powder;
    dose->press_mg = powder * known.pressed_mg;
    dose->thickness_mm = powder * wish->thickness_mm;
    dose->mg_cm2 = wish->factor * known.fraction * known.pressed_mg / known.area_cm2;
    if (dose->way == PELLET_DOSE_PRESS_LESS || !changes)
        return;
    if (dilution_serves(wish, &known, dose)) {
        dose->way = PELLET_DOSE_DILUTE;
        set_dilution(wish, dose);
    } else {
        dose->way = PELLET_DOSE_FRESH;
        set_fresh_mix(wish, &known, dose);
    }
}
