// SPDX-License-Identifier: GPL-3.0-or-later
/* The truth of a case: each quantity as design.md section 5 defines it, and whether it can be decided. */
#include "truths.h"

#include "pellet/reference.h"

#include <math.h>
#include <string.h>

#define INSIDE (1.0 / BENCH_CLEAR)

double bench_strain(const struct bench_quantity *quantity)
{
    return quantity->lower ? quantity->limit / quantity->value : quantity->value / quantity->limit;
}

const struct bench_quantity *bench_quantity_of(const struct bench_truth *truth, const char *id)
{
    for (size_t i = 0; i < truth->n; i++) {
        if (strcmp(truth->quantity[i].id, id) == 0)
            return &truth->quantity[i];
    }
    return NULL;
}

static void add(struct bench_truth *truth, const char *id, double value, double limit, bool lower,
                double inside)
{
    struct bench_quantity quantity = {id, value, limit, inside, lower, BENCH_GREY};
    const double strain = bench_strain(&quantity);
    if (strain >= BENCH_CLEAR)
        quantity.state = BENCH_OVER;
    else if (strain <= inside)
        quantity.state = BENCH_UNDER;
    truth->quantity[truth->n++] = quantity;
}

/* The quantity added last is a clear fault only if its definition lets it be decided here. */
static void decided_if(struct bench_truth *truth, bool decidable)
{
    struct bench_quantity *quantity = &truth->quantity[truth->n - 1];
    if (quantity->state == BENCH_OVER && !decidable)
        quantity->state = BENCH_UNDECIDABLE;
}

/* The clean spectra that the truth of one case is read from. */
struct views {
    struct bench_clean clean, dry, without_leak;
};

static void views_clear(struct views *views)
{
    bench_clean_clear(&views->clean);
    bench_clean_clear(&views->dry);
    bench_clean_clear(&views->without_leak);
}

static pellet_status views_make(struct pellet_synth *model, const struct bench_case *of, struct views *views)
{
    struct pellet_synth_pellet dry_subject = of->subject, dry_blank = of->blank, tight = of->subject;
    dry_subject.water_ug_cm2 = dry_blank.water_ug_cm2 = 0.0;
    tight.leak = 0.0;
    pellet_status status =
        bench_clean_make(model, of, &of->subject, bench_reference(of), false, &views->clean);
    if (status == PELLET_OK)
        status = bench_clean_make(model, of, &dry_subject, bench_reference(of) ? &dry_blank : NULL, false,
                                  &views->dry);
    if (status == PELLET_OK && of->subject.leak > 0.0)
        status = bench_clean_make(model, of, &tight, bench_reference(of), false, &views->without_leak);
    return status;
}

/* What the pellet's two beams and faces show without noise: the model's own account. */
struct accounts {
    struct pellet_synth_truth subject, blank;
    double noise, water_ug_cm2;
    struct bench_fringes fringes;
    bool lone; /* a blank without an open beam: only a single beam */
};

/* ---------------------------------------------------------------- trust first */

static pellet_status add_leak(struct pellet_synth *model, const struct bench_case *of,
                              const struct views *views, struct bench_truth *truth)
{
    const double blank_light = pow(10.0, -of->blank.haze) * 0.915;
    double dark = 0.0;
    pellet_status status = PELLET_OK;
    if (of->beam.false_zero > 0.0)
        status = bench_dark_level(model, of, &dark);
    const double past = of->subject.leak / (of->has_open_beam ? 1.0 : blank_light);
    add(truth, "leak", fmax(dark, past), 0.02, false, INSIDE);
    decided_if(truth, dark > 0.0 || bench_plateaus(of, &views->without_leak, past) >= 2);
    return status;
}

/* The blank's impurities show upside down, unless the sample's own bands are within three widths. */
static pellet_status add_inverted(struct pellet_synth *model, const struct bench_case *of,
                                  const struct views *views, struct bench_truth *truth)
{
    double depth;
    bool clear = true;
    const pellet_status status = bench_impurity_height(model, of, true, &views->clean, &depth);
    for (size_t k = 0; k < of->blank.impurity_count; k++) {
        for (size_t i = 0; i < of->compound.band_count; i++) {
            const struct pellet_synth_band *band = &of->compound.band[i];
            clear &= fabs(band->at_cm1 - of->blank.impurity[k].at_cm1) > 3.0 * band->width_cm1;
        }
    }
    add(truth, "inverted", depth, 0.02, false, INSIDE);
    decided_if(truth, clear);
    return status;
}

static pellet_status add_trust(struct pellet_synth *model, const struct bench_case *of,
                               const struct views *views, const struct accounts *accounts,
                               struct bench_truth *truth)
{
    const bool sample = of->role == PELLET_SAMPLE;
    const bool cut = of->beam.low_cm1 > of->range_low + 55.0 || of->beam.high_cm1 < of->range_high - 55.0;
    double vapour = 0.0;
    pellet_status status = bench_vapour_height(model, of, &vapour);
    add(truth, "span", cut ? 2.0 : 0.0, 1.0, false, INSIDE);
    add(truth, "noise", accounts->noise, sample ? 0.002 : 0.001, false, sample ? INSIDE : 0.8);
    add(truth, "vapour", fabs(vapour), 0.02, false, INSIDE);
    decided_if(truth, !accounts->lone);
    if (status == PELLET_OK)
        status = add_leak(model, of, views, truth);
    if (status == PELLET_OK && sample)
        status = add_inverted(model, of, views, truth);
    /* The definition takes out the water that the fit tells. Of a damp blank behind the sample's own bands it
     * tells none: whether it should stay in is not known, where that matters. */
    const double dry = bench_highest_transmittance(&views->dry) - 1.0;
    const double wet = bench_highest_transmittance(&views->clean) - 1.0;
    const bool told = !(accounts->water_ug_cm2 < 0.0 && bench_water_is_hidden(of, accounts->water_ug_cm2));
    if (sample)
        add(truth, "overcompensation", told || wet <= 0.05 * INSIDE ? dry : (double)NAN, 0.05, false, INSIDE);
    return status;
}

/* ---------------------------------------------------------------- the pellet */

static pellet_status add_sample(struct pellet_synth *model, const struct bench_case *of,
                                const struct views *views, const struct accounts *accounts,
                                struct bench_truth *truth)
{
    const struct bench_reading strongest = bench_strongest_band(of, &of->compound, &views->clean);
    const struct bench_skew skew = bench_skew_find(of, &views->clean);
    double breath = 0.0;
    const pellet_status status = bench_carbon_dioxide(model, of, &breath);
    const double tilt = accounts->subject.tilt - accounts->blank.tilt;
    truth->strongest_cm1 = strongest.at_cm1;
    add(truth, "blank", of->blank_age_min, BENCH_MAX_AGE_MIN, false, INSIDE);
    add(truth, "saturation", strongest.top, 1.5, false, INSIDE);
    add(truth, "weak", strongest.height, 0.2, true, INSIDE);
    add(truth, "carbon_dioxide", fabs(breath), 0.05, false, INSIDE);
    add(truth, "tilt", tilt, 0.20, false, INSIDE);
    /* Without a band that stands alone the first order in the grains' size still tells the harmless ones. */
    add(truth, "asymmetry", skew.bands > 0 ? skew.median : accounts->subject.asymmetry, 0.35, false, INSIDE);
    decided_if(truth, skew.agreeing >= 3 || (skew.bands > 0 && skew.agreeing == skew.bands && tilt > 0.20));
    add(truth, "thickness", of->subject.thickness_mm, 1.2, false, INSIDE);
    if (of->subject.thickness_mm < 0.35) {
        truth->n--;
        add(truth, "thickness", of->subject.thickness_mm, 0.1, true, INSIDE);
    }
    decided_if(truth, accounts->fringes.clear || !isnan(of->pressed_mg));
    return status;
}

static pellet_status add_foreign(struct pellet_synth *model, const struct pellet_rules *rules,
                                 const struct bench_case *of, const struct views *views,
                                 const struct accounts *accounts, struct bench_truth *truth)
{
    struct bench_residue residue;
    double impurity = 0.0;
    pellet_status status = bench_residue_find(model, of, &views->clean, accounts->noise, &residue);
    if (status == PELLET_OK)
        status = bench_impurity_height(model, of, false, &views->clean, &impurity);
    add(truth, "residue", residue.height, 0.02, false, INSIDE);
    decided_if(truth, residue.bands >= 3);
    const struct bench_window window = bench_window_find(of, rules, &views->clean);
    add(truth, "windows", window.height, window.limit, false, INSIDE);
    if (of->role != PELLET_BLANK)
        return status;
    add(truth, "purity", fmax(impurity, residue.height), 0.02, false, INSIDE);
    decided_if(truth,
               !accounts->lone || impurity <= 0.02 || bench_is_pellets(of->subject.impurity[0].at_cm1));
    return status;
}

static void add_layer(const struct bench_case *of, const struct accounts *accounts, struct bench_truth *truth)
{
    const bool sample = of->role == PELLET_SAMPLE;
    const bool against_blank = sample && !of->has_open_beam;
    const double t =
        accounts->subject.transmittance_2000 / (against_blank ? accounts->blank.transmittance_2000 : 1.0);
    const bool judged = sample || of->has_open_beam; /* what of a blank is absolute needs an open beam */
    truth->transmittance = judged ? t : (double)NAN;
    add(truth, "opacity", t, against_blank ? 0.656 : sample ? 0.60 : 0.75, true, sample ? 0.85 : 0.90);
    decided_if(truth, judged);
    /* A blank drier than the session's first one is the better blank. */
    const double water = accounts->water_ug_cm2;
    add(truth, "moisture", of->is_later_blank ? fmax(water, 0.0) : fabs(water), 30.0, false, INSIDE);
    decided_if(truth, !accounts->lone && !bench_water_is_hidden(of, water));
    if (!sample) {
        add(truth, "tilt", accounts->subject.tilt - (of->is_later_blank ? accounts->blank.tilt : 0.0), 0.10,
            false, INSIDE);
        decided_if(truth, !accounts->lone);
    }
    add(truth, "fringes", accounts->fringes.peak_to_peak, 0.02, false, INSIDE);
    decided_if(truth, !accounts->lone);
}

/* ---------------------------------------------------------------- film and blank */

/*
 * A film shows the wavenumber scale only. The value is the error over its tolerance at the band where that is
 * greatest: 1.5 cm-1 above 1900, 1.0 below.
 */
static void film_truth(const struct bench_case *of, struct bench_truth *truth)
{
    double worst = 0.0;
    for (size_t i = 0; i < pellet_polystyrene_band_count; i++) {
        const double at = pellet_polystyrene_bands[i].wavenumber;
        worst = fmax(worst, fabs(at * 1e-6 * of->beam.scale_ppm) / (at > 1900.0 ? 1.5 : 1.0));
    }
    add(truth, "wavenumber", worst, 1.0, false, INSIDE);
}

/* Without a blank that serves, or with one that cannot be divided by, nothing else is known. */
static bool has_no_ratio(const struct bench_case *of)
{
    return of->role == PELLET_SAMPLE &&
           (of->pairing != BENCH_PAIRED || of->blank_age_min > BENCH_MAX_AGE_MIN);
}

static void no_ratio_truth(const struct bench_case *of, struct bench_truth *truth)
{
    add(truth, "blank", of->pairing == BENCH_PAIRED ? of->blank_age_min : (double)INFINITY, BENCH_MAX_AGE_MIN,
        false, INSIDE);
}

/* ---------------------------------------------------------------- the whole */

static struct accounts account(const struct bench_case *of, const struct bench_clean *clean)
{
    struct accounts accounts = {.lone = bench_is_lone(of)};
    pellet_synth_truth_find(&of->subject, &of->beam, &accounts.subject);
    pellet_synth_truth_find(&of->blank, &of->blank_beam, &accounts.blank);
    accounts.noise = bench_noise(of, clean);
    accounts.water_ug_cm2 = of->subject.water_ug_cm2 - (bench_reference(of) ? of->blank.water_ug_cm2 : 0.0);
    accounts.fringes = bench_fringes_find(of, clean, accounts.subject.fringe_peak_to_peak, accounts.noise);
    return accounts;
}

pellet_status bench_truth_find(struct pellet_synth *model, const struct pellet_rules *rules,
                               const struct bench_case *of, struct bench_truth *truth)
{
    struct views views = {0};
    *truth = (struct bench_truth){.water_ug_cm2 = (double)NAN,
                                  .thickness_mm = (double)NAN,
                                  .transmittance = (double)NAN,
                                  .strongest_cm1 = (double)NAN};
    if (of->role == PELLET_FILM)
        film_truth(of, truth);
    if (has_no_ratio(of))
        no_ratio_truth(of, truth);
    if (truth->n > 0)
        return PELLET_OK;
    pellet_status status = views_make(model, of, &views);
    if (status != PELLET_OK)
        goto out;
    const struct accounts accounts = account(of, &views.clean);
    truth->water_ug_cm2 = accounts.lone ? (double)NAN : accounts.water_ug_cm2;
    truth->thickness_mm = accounts.fringes.clear ? of->subject.thickness_mm : (double)NAN;
    status = add_trust(model, of, &views, &accounts, truth);
    if (status == PELLET_OK && of->role == PELLET_SAMPLE)
        status = add_sample(model, of, &views, &accounts, truth);
    add_layer(of, &accounts, truth);
    if (status == PELLET_OK)
        status = add_foreign(model, rules, of, &views, &accounts, truth);
out:
    views_clear(&views);
    return status;
}
