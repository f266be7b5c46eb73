// SPDX-License-Identifier: GPL-3.0-or-later
#include "testing.h"

#include "judge/advice_dose.h"
#include "pellet/reference.h"

/*
 * 21 CFR 436.211(b)(1): 2, 1 and 0.5 mg in 200 mg KBr and one die make absorbances of 1 : 0.5 : 0.25. So the
 * factor that takes 1.20 A to the absorbance of the half dose is one half.
 */
static void test_beer_lambert_series(void **state)
{
    (void)state;
    assert_near(pellet_dose_factor(1.20, 0.0, 0.60, false), 0.50, 1e-12);
    assert_near(pellet_dose_factor(1.20, 0.0, 0.30, false), 0.25, 1e-12);
    assert_near(pellet_dose_factor(0.30, 0.0, 1.00, false) * 0.30, 1.00, 1e-12);
}

/* The target leaves room for a dark baseline, min(target, 1.1 - baseline), but never asks for too faint a
 * pellet. */
static void test_target(void **state)
{
    (void)state;
    assert_near(pellet_dose_factor(1.0, 0.0, 0.7, false), 0.7, 1e-12);
    assert_near(pellet_dose_factor(1.0, 0.6, 0.7, false), 0.5, 1e-12);
    assert_near(pellet_dose_factor(1.0, 2.0, 0.7, false), 0.35, 1e-12);
    assert_near(pellet_dose_factor(1.0, -0.1, 0.7, false), 0.7, 1e-12);
    /* a bound is a first step of one third, or less where that is wanted anyway */
    assert_near(pellet_dose_factor(1.6, 0.0, 0.7, true), 1.0 / 3.0, 1e-12);
    assert_near(pellet_dose_factor(7.0, 0.0, 0.7, true), 0.1, 1e-12);
}

static void test_ways(void **state)
{
    (void)state;
    static const struct {
        double factor;
        enum pellet_dose_way way;
    } rows[] = {
        {1.0, PELLET_DOSE_PRESS_LESS}, {0.5, PELLET_DOSE_PRESS_LESS}, {0.4999, PELLET_DOSE_DILUTE},
        {0.1, PELLET_DOSE_DILUTE},     {0.0999, PELLET_DOSE_FRESH},   {1.0001, PELLET_DOSE_FRESH},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        assert_int_equal(pellet_dose_choose(rows[i].factor), rows[i].way);
}

static struct pellet_worksheet_row row_of(double sample_mg, double kbr_mg, double pressed_mg, double left_mg,
                                          double die_mm)
{
    return (struct pellet_worksheet_row){.sample = "s",
                                         .sample_mg = sample_mg,
                                         .kbr_mg = kbr_mg,
                                         .pressed_mg = pressed_mg,
                                         .powder_left_mg = left_mg,
                                         .die_mm = die_mm,
                                         .load_t = NAN};
}

static struct pellet_dose_wish wish_of(double factor, const struct pellet_worksheet_row *row)
{
    return (struct pellet_dose_wish){
        .factor = factor,
        .powder_factor = 1.0,
        .thickness_mm =
            row != NULL && row->die_mm > 0.0 ? pellet_kbr_thickness_mm(row->pressed_mg, row->die_mm) : NAN,
        .window_mm = {0.25, 0.80},
        .balance_min_mg = 2.0,
        .row = row,
    };
}

/* The sample that the next pellet has in its beam over that of this one, from the masses advised. */
static double change_of(const struct pellet_worksheet_row *row, const struct pellet_dose *dose)
{
    const double before = row->sample_mg / (row->sample_mg + row->kbr_mg) * row->pressed_mg;
    const double share = dose->take_mg / (dose->take_mg + dose->add_kbr_mg);

    switch (dose->way) {
    case PELLET_DOSE_FRESH:
        return share * dose->press_mg / before;
    case PELLET_DOSE_DILUTE:
        return share * dose->press_mg / row->pressed_mg;
    case PELLET_DOSE_PRESS_LESS:
    case PELLET_DOSE_KEEP:
        break;
    }
    return dose->press_mg / row->pressed_mg;
}

/* Whatever way is taken, the masses make the change that was wanted; nothing is lighter than the balance
 * weighs; the thickness is in its window. Over all that a bench may come with. */
static void test_masses_make_the_change(void **state)
{
    (void)state;
    size_t ways[4] = {0};

    for (double factor = 0.02; factor < 20.0; factor *= 1.37) {
        for (double pressed = 30.0; pressed < 420.0; pressed *= 1.6) {
            for (double left = 0.0; left < 500.0; left = 3.0 * left + 1.0) {
                const struct pellet_worksheet_row row = row_of(2.0, pressed + left, pressed, left, 13.0);
                struct pellet_dose_wish wish = wish_of(factor, &row);
                struct pellet_dose dose;
                for (int fresh = 0; fresh < 2; fresh++) {
                    wish.fresh = fresh != 0;
                    pellet_dose_solve(&wish, &dose);
                    ways[dose.way]++;
                    assert_near(dose.sample_factor * dose.powder_factor, factor, 1e-9 * factor);
                    assert_near(change_of(&row, &dose), factor, 1e-6 * factor);
                    assert_true(!(dose.take_mg < 2.0 - 1e-9));
                    assert_true(dose.thickness_mm > 0.25 - 1e-9 && dose.thickness_mm < 0.80 + 1e-9);
                    assert_true(!wish.fresh || dose.way == PELLET_DOSE_FRESH);
                    if (dose.way == PELLET_DOSE_DILUTE)
                        assert_true(dose.take_mg <= left + 1e-9);
                    if (dose.way != PELLET_DOSE_PRESS_LESS)
                        assert_true(dose.take_mg + dose.add_kbr_mg > dose.press_mg - 1e-6);
                }
            }
        }
    }
    assert_true(ways[PELLET_DOSE_PRESS_LESS] > 0 && ways[PELLET_DOSE_DILUTE] > 0 &&
                ways[PELLET_DOSE_FRESH] > 0);
}

/* Half of a thin pellet would not hold together: the powder is diluted instead, and as much of it pressed. */
static void test_thin_pellets_are_not_made_thinner(void **state)
{
    (void)state;
    const struct pellet_worksheet_row row = row_of(2.0, 400.0, 110.0, 290.0, 13.0); /* 0.30 mm */
    const struct pellet_dose_wish wish = wish_of(0.6, &row);
    struct pellet_dose dose;

    pellet_dose_solve(&wish, &dose);
    assert_int_equal(dose.way, PELLET_DOSE_DILUTE);
    assert_near(dose.press_mg, 110.0, 1e-9);
    assert_near(dose.take_mg, 66.0, 1e-9);
    assert_near(dose.add_kbr_mg, 44.0, 1e-9);
}

/* What is lighter than the balance can weigh makes the batch larger: 0.4 of 2 mg in 200 is 2 mg in 500. */
static void test_never_less_than_the_balance_weighs(void **state)
{
    (void)state;
    const struct pellet_worksheet_row row = row_of(2.0, 198.0, 200.0, 0.0, 13.0);
    const struct pellet_dose_wish wish = wish_of(0.4, &row);
    struct pellet_dose dose;

    pellet_dose_solve(&wish, &dose);
    assert_int_equal(dose.way, PELLET_DOSE_FRESH);
    assert_near(dose.take_mg, 2.0, 1e-9);
    assert_near(dose.take_mg + dose.add_kbr_mg, 500.0, 1e-6);
    assert_near(dose.press_mg, 200.0, 1e-9);
}

/* 0.3 mg on a balance that weighs 2 mg at least says nothing of the mix: factors, not masses. */
static void test_what_cannot_be_weighed_is_not_believed(void **state)
{
    (void)state;
    const struct pellet_worksheet_row row = row_of(0.3, 200.0, 200.0, 0.0, 13.0);
    const struct pellet_dose_wish wish = wish_of(3.0, &row);
    struct pellet_dose dose;

    pellet_dose_solve(&wish, &dose);
    assert_int_equal(dose.way, PELLET_DOSE_FRESH);
    assert_true(isnan(dose.take_mg) && isnan(dose.add_kbr_mg));
    assert_near(dose.sample_factor, 3.0, 1e-12);
}

static void test_without_a_worksheet(void **state)
{
    (void)state;
    const struct pellet_dose_wish wish = wish_of(0.7, NULL);
    struct pellet_dose dose;

    pellet_dose_solve(&wish, &dose);
    assert_int_equal(dose.way, PELLET_DOSE_PRESS_LESS);
    assert_near(dose.powder_factor, 0.7, 1e-12);
    assert_true(isnan(dose.press_mg) && isnan(dose.take_mg) && isnan(dose.thickness_mm) &&
                isnan(dose.mg_cm2));
}

/*
 * Recipes as they are published, as what advice should lead to. Dose per area and thickness of 21 CFR 436.211
 * (2, 1 and 0.5 mg in 200 mg KBr, 13 mm: 1.507, 0.753, 0.377 mg/cm2; 0.548 mm of KBr) and of P. Dent,
 * Internet J. Vib. Spectrosc. 1(1) (2 mg in 300 mg, 16 mm: 0.99 mg/cm2 and 0.543 mm; half of it on 13 mm:
 * 0.75 mg/cm2). A pellet of the one that is taken to another strength of the same series comes out as that.
 */
static void test_published_recipes(void **state)
{
    (void)state;
    static const struct {
        const char *source;
        double sample_mg, kbr_mg, die_mm, mg_cm2, thickness_mm;
    } recipes[] = {
        {"21 CFR 436.211, 2 mg", 2.0, 200.0, 13.0, 1.507, 0.548},
        {"21 CFR 436.211, 1 mg", 1.0, 200.0, 13.0, 0.753, 0.548},
        {"Dent, 16 mm", 2.0, 300.0, 16.0, 0.99, 0.543},
        {"Dent, half on 13 mm", 1.0, 150.0, 13.0, 0.75, 0.411},
    };

    for (size_t i = 0; i < sizeof recipes / sizeof recipes[0]; i++) {
        const double mixed = recipes[i].sample_mg + recipes[i].kbr_mg;
        const struct pellet_worksheet_row row =
            row_of(recipes[i].sample_mg, recipes[i].kbr_mg, mixed, 0.0, recipes[i].die_mm);
        struct pellet_dose_wish wish = wish_of(1.0, &row);
        struct pellet_dose dose;
        wish.fresh = true;
        wish.thickness_mm = pellet_kbr_thickness_mm(recipes[i].kbr_mg, recipes[i].die_mm);
        assert_near(wish.thickness_mm, recipes[i].thickness_mm, 0.001);
        pellet_dose_solve(&wish, &dose);
        assert_near(dose.mg_cm2, recipes[i].mg_cm2, 0.006);
        assert_near(dose.thickness_mm, recipes[i].thickness_mm, 0.001);
        /* Half, as the CFR's own series: 1.2 A to 0.6 A. */
        wish.factor = pellet_dose_factor(1.2, 0.0, 0.6, false);
        pellet_dose_solve(&wish, &dose);
        assert_near(dose.mg_cm2, 0.5 * recipes[i].mg_cm2, 0.003);
    }
}

/*
 * A pellet whose strongest band is 0.6 to 0.8 A at the published doses (0.4 to 1.5 mg/cm2) and that was made
 * up to four times too strong or too faint: the advised mix is back in that band of doses.
 */
static void test_doses_are_plausible(void **state)
{
    (void)state;
    for (double absorbance = 0.175; absorbance < 2.9; absorbance *= 1.3) {
        /* One pellet of every strength there is, of a compound with 0.7 A at 0.75 mg/cm2. */
        const double mg_cm2 = 0.75 * absorbance / 0.7;
        const double sample = mg_cm2 * pellet_die_area_cm2(13.0);
        const struct pellet_worksheet_row row = row_of(sample, 200.0, 200.0 + sample, 0.0, 13.0);
        struct pellet_dose_wish wish = wish_of(pellet_dose_factor(absorbance, 0.0, 0.7, false), &row);
        struct pellet_dose dose;
        wish.balance_min_mg = 0.2;
        pellet_dose_solve(&wish, &dose);
        assert_true(dose.mg_cm2 > 0.4 && dose.mg_cm2 < 1.5);
        assert_near(dose.mg_cm2, 0.75, 0.001);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_beer_lambert_series),
        cmocka_unit_test(test_target),
        cmocka_unit_test(test_ways),
        cmocka_unit_test(test_masses_make_the_change),
        cmocka_unit_test(test_thin_pellets_are_not_made_thinner),
        cmocka_unit_test(test_never_less_than_the_balance_weighs),
        cmocka_unit_test(test_what_cannot_be_weighed_is_not_believed),
        cmocka_unit_test(test_without_a_worksheet),
        cmocka_unit_test(test_published_recipes),
        cmocka_unit_test(test_doses_are_plausible),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
