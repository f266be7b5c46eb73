// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The person at the bench. What the printed instruction asks for is done, with the errors of hand and
 * balance; what it does not ask for stays as it was, so that a fault goes only where the advice named its
 * cure.
 */
#include "loop.h"

#include "pellet/reference.h"

#include <gsl/gsl_randist.h>
#include <math.h>
#include <string.h>

#define WEIGHING_ERROR_MG 0.2
#define MIXING_SCATTER    0.05 /* of the sample in one pellet of a mix, relative */
#define GRINDING_SCATTER  0.25 /* of the grains' radius, relative */
#define FINE_GRAIN_UM     0.4
/* Clouded places smaller than this are powder that was not ground or dried well, larger ones powder that did
 * not fuse: the one goes with grinding or drying, the other with less powder, spread level. */
#define FINE_HAZE_UM 1.0

static double between(gsl_rng *rng, double low, double high)
{
    return low + (high - low) * gsl_rng_uniform(rng);
}

static double scatter(gsl_rng *rng, double relative)
{
    return exp(gsl_ran_gaussian(rng, relative));
}

/* What is truly on the pan when the balance shows `mg`. */
static double weigh(gsl_rng *rng, double mg)
{
    return fmax(mg + gsl_ran_gaussian(rng, WEIGHING_ERROR_MG), 0.2 * mg);
}

static double area(const struct loop_bench *bench)
{
    return pellet_die_area_cm2(bench->die_mm);
}

/* ---------------------------------------------------------------- what is written down */

static void write_row(struct loop_bench *bench, double mixed_mg)
{
    bench->row = (struct pellet_worksheet_row){
        .sample = "subject",
        .pellet = bench->pellet,
        .sample_mg = weigh(bench->rng, bench->fraction * mixed_mg),
        .kbr_mg = weigh(bench->rng, (1.0 - bench->fraction) * mixed_mg),
        .pressed_mg = weigh(bench->rng, bench->pressed_mg),
        .powder_left_mg = mixed_mg - bench->pressed_mg,
        .die_mm = bench->die_mm,
        .load_t = (double)NAN,
    };
}

void loop_begin(struct loop_bench *bench)
{
    static const double dies[] = {7.0, 10.0, 13.0, 13.0};
    const struct pellet_synth_pellet *pellet = &bench->now.subject;

    bench->has_sheet = gsl_rng_uniform(bench->rng) < 0.5;
    bench->die_mm = dies[gsl_rng_uniform_int(bench->rng, sizeof dies / sizeof dies[0])];
    bench->pressed_mg = 0.1 * pellet->thickness_mm * area(bench) * 1e3 * PELLET_KBR_DENSITY;
    bench->fraction = fmin(pellet->dose_mg_cm2 * area(bench) / bench->pressed_mg, 0.5);
    bench->pellet = 1;
    bench->scan = 1;
    /* At least one mg of sample was on the balance. */
    write_row(bench, fmax(bench->pressed_mg * between(bench->rng, 1.05, 2.0),
                          bench->fraction > 0.0 ? 1.0 / bench->fraction : 0.0));
}

/* ---------------------------------------------------------------- a clear pellet, and what stays of the
 * faults */

/* Ranges of a pellet without faults, as the bench's own good ones. */
static void press_clear(gsl_rng *rng, struct pellet_synth_pellet *pellet)
{
    pellet->fringes = between(rng, 0.0, 0.12);
    pellet->roughness_um = between(rng, 0.0, 0.15);
    pellet->haze = between(rng, 0.003, 0.012);
    pellet->haze_um = between(rng, 0.2, 0.8);
}

static bool haze_is_cured(const struct pellet_synth_pellet *pellet, const struct loop_orders *orders)
{
    if (pellet->haze <= 0.012)
        return true;
    return pellet->haze_um < FINE_HAZE_UM ? orders->grind || orders->dry : orders->spread;
}

static void dry_and_grind(struct loop_bench *bench, const struct loop_orders *orders)
{
    struct pellet_synth_pellet *pellet = &bench->now.subject;
    gsl_rng *rng = bench->rng;

    pellet->water_ug_cm2 = orders->dry ? between(rng, 1.0, 9.0) : pellet->water_ug_cm2 * scatter(rng, 0.1);
    pellet->grain_um = orders->grind ? FINE_GRAIN_UM * scatter(rng, GRINDING_SCATTER)
                                     : pellet->grain_um * scatter(rng, 0.4 * GRINDING_SCATTER);
    pellet->grain_um = fmin(fmax(pellet->grain_um, 0.05), 20.0); /* what the model can do */
    if (orders->clean) {
        pellet->residue = NULL;
        pellet->residue_mg_cm2 = 0.0;
        pellet->impurity_count = 0;
    }
    if (haze_is_cured(pellet, orders))
        press_clear(rng, pellet);
}

/* ---------------------------------------------------------------- weighing */

/* Take a of one thing and b of another: the share of the first in the mix, and how much there is of it. */
static double mix(gsl_rng *rng, double take_mg, double add_mg, double *mixed_mg)
{
    const double taken = weigh(rng, take_mg), added = weigh(rng, add_mg);

    *mixed_mg = taken + added;
    return taken / (taken + added);
}

/* By the masses of the instruction. */
static void weigh_masses(struct loop_bench *bench, const struct loop_orders *orders, double *mixed_mg)
{
    *mixed_mg = bench->row.powder_left_mg;
    if (isfinite(orders->take_mg)) {
        const double share = mix(bench->rng, orders->take_mg, orders->add_kbr_mg, mixed_mg);
        bench->fraction = orders->fresh_mix ? share : share * bench->fraction;
    }
    bench->pressed_mg = weigh(bench->rng, orders->press_mg);
    *mixed_mg = fmax(*mixed_mg, bench->pressed_mg);
}

/* By its factors: the person takes that much of what was taken before. */
static void weigh_factors(struct loop_bench *bench, const struct loop_orders *orders, double *mixed_mg)
{
    const double pressed = orders->powder_factor * bench->pressed_mg, sample = orders->sample_factor;

    if (sample != 1.0 || orders->fresh_mix) {
        /* Enough is mixed to have at least 2 mg of sample or powder on the balance. */
        const double share = fmin(orders->fresh_mix ? sample * bench->fraction : sample, 0.6);
        const double batch = fmax(1.2 * pressed, 2.0 / share);
        const double mixed = mix(bench->rng, share * batch, (1.0 - share) * batch, mixed_mg);
        bench->fraction = orders->fresh_mix ? mixed : mixed * bench->fraction;
    }
    bench->pressed_mg = weigh(bench->rng, pressed);
    *mixed_mg = fmax(*mixed_mg, bench->pressed_mg);
}

void loop_remake(struct loop_bench *bench, const struct pellet_verdict *verdict)
{
    struct pellet_synth_pellet *pellet = &bench->now.subject;
    struct loop_orders read;
    const struct loop_orders *const orders = &read;
    double mixed_mg = 0.0;

    loop_read(verdict->instruction, &read);
    const bool mixes = orders->fresh_mix || orders->sample_factor != 1.0;

    if (bench->has_sheet && isfinite(orders->press_mg) && (isfinite(orders->take_mg) || !mixes))
        weigh_masses(bench, orders, &mixed_mg);
    else
        weigh_factors(bench, orders, &mixed_mg);
    if (bench->now.role == PELLET_SAMPLE)
        pellet_synth_pellet_press(pellet, bench->fraction * scatter(bench->rng, MIXING_SCATTER),
                                  bench->pressed_mg, bench->die_mm);
    dry_and_grind(bench, orders);
    bench->pellet++;
    bench->scan = 1;
    write_row(bench, mixed_mg);
    loop_measure_again(bench, verdict);
}

/* ---------------------------------------------------------------- measuring again */

static bool has_reason(const struct pellet_verdict *verdict, const char *id)
{
    for (size_t i = 0; i < verdict->reason_count; i++) {
        if (verdict->reason[i].check != NULL && strcmp(verdict->reason[i].check->id, id) == 0)
            return true;
    }
    return false;
}

static void make_blank(struct loop_bench *bench)
{
    struct bench_case *now = &bench->now;

    pellet_synth_pellet_init(&now->blank);
    now->blank.thickness_mm = between(bench->rng, 0.35, 0.75);
    now->blank.water_ug_cm2 = between(bench->rng, 1.0, 9.0);
    press_clear(bench->rng, &now->blank);
    now->blank_beam = now->beam;
    now->blank_beam.gain = between(bench->rng, 0.995, 1.005);
    now->blank_beam.vapour_cm2 *= between(bench->rng, 0.9, 1.1);
    now->blank_beam.carbon_dioxide_cm2 *= between(bench->rng, 0.7, 1.4);
    now->pairing = BENCH_PAIRED;
    now->blank_age_min = 2.0;
}

bool loop_asks_for_pellet(const struct pellet_verdict *verdict)
{
    struct loop_orders orders;

    loop_read(verdict->instruction, &orders);
    return verdict->outcome == PELLET_REMAKE || orders.new_pellet;
}

/* Whoever is told that the same fault came twice has what the summary names put right. */
static void have_looked_at(const struct pellet_verdict *verdict, struct loop_orders *orders)
{
    orders->shut |= has_reason(verdict, "leak");
    orders->zero |= has_reason(verdict, "leak");
    orders->whole_range |= has_reason(verdict, "span");
    orders->steady_air |= has_reason(verdict, "vapour");
    orders->new_blank = true;
}

void loop_measure_again(struct loop_bench *bench, const struct pellet_verdict *verdict)
{
    struct bench_case *now = &bench->now;
    const struct pellet_synth_instrument *reference =
        now->role == PELLET_SAMPLE ? &now->blank_beam : &now->open_beam;
    struct loop_orders orders;

    loop_read(verdict->instruction, &orders);
    if (orders.instrument && !orders.new_pellet)
        have_looked_at(verdict, &orders);
    if (orders.shut)
        now->subject.leak = 0.0;
    if (orders.zero)
        now->beam.false_zero = now->blank_beam.false_zero = 0.0;
    if (orders.whole_range) {
        now->beam.low_cm1 = now->range_low;
        now->beam.high_cm1 = now->range_high;
    }
    if (orders.steady_air)
        now->beam.vapour_cm2 = reference->vapour_cm2 * between(bench->rng, 0.9, 1.1);
    now->beam.noise /= sqrt(orders.scans);
    now->beam.scans = (unsigned)(orders.scans * now->beam.scans);
    if (orders.new_blank) {
        make_blank(bench);
        if (orders.scans > 1.0 || now->role != PELLET_SAMPLE) { /* the empty beam as well */
            now->open_beam = now->beam;
            now->open_beam.vapour_cm2 *= between(bench->rng, 0.9, 1.1);
            now->has_open_beam |= now->role != PELLET_SAMPLE;
        }
    }
    bench->scan += verdict->outcome == PELLET_RESCAN;
}
