// SPDX-License-Identifier: GPL-3.0-or-later
#include "judge/fixture.h"

#include "judge/advice.h"

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

/* The target leaves room for a dark baseline, min(target, 1.1 - baseline), but never asks for nothing. */
static void test_target(void **state)
{
    (void)state;
    assert_near(pellet_dose_factor(1.0, 0.0, 0.7, false), 0.7, 1e-12);
    assert_near(pellet_dose_factor(1.0, 0.6, 0.7, false), 0.5, 1e-12);
    assert_near(pellet_dose_factor(1.0, 2.0, 0.7, false), 0.1, 1e-12);
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

static double one_band(double wavenumber, const void *with)
{
    const double x = (wavenumber - 1100.0) / 15.0;
    return *(const double *)with / (1.0 + x * x);
}

/* A verdict on a lone Lorentz band of the given height, with what the worksheet says. */
static void judge_band(double height, const struct pellet_worksheet_row *row, struct pellet_verdict *v)
{
    struct pellet_spectrum s = fixture_spectrum(PELLET_ORDINATE_ABSORBANCE, one_band, &height, 2e-4);
    struct fixture f;

    fixture_init(&f, &s, NULL);
    f.settings.ratioed_against = PELLET_RATIOED_BLANK;
    f.inputs.row = row;
    assert_int_equal(pellet_judge(&f.inputs, v, NULL, NULL), PELLET_OK);
    pellet_spectrum_clear(&s);
    fixture_clear(&f);
}

static void test_too_strong_without_worksheet(void **state)
{
    (void)state;
    struct pellet_verdict v;

    judge_band(1.75, NULL, &v);
    assert_int_equal(v.outcome, PELLET_REMAKE);
    assert_string_equal(v.reason[0].check->id, "saturation");
    /* 0.7 / 1.75 = 0.4: dilute, 1 part of powder with 1.5 parts of KBr */
    assert_near(v.advice.sample_factor, 0.4, 0.02);
    assert_near(v.advice.powder_factor, 1.0, 1e-12);
    assert_non_null(strstr(v.instruction, "parts of fresh dry KBr"));
    pellet_verdict_clear(&v);
}

static void test_too_strong_with_worksheet(void **state)
{
    (void)state;
    const struct pellet_worksheet_row row = {.sample = "s",
                                             .sample_mg = 2,
                                             .kbr_mg = 200,
                                             .pressed_mg = 200,
                                             .powder_left_mg = NAN,
                                             .die_mm = 13,
                                             .load_t = NAN};
    struct pellet_verdict v;

    judge_band(1.75, &row, &v);
    assert_near(v.advice.take_mg, 80.0, 4.0);
    assert_near(v.advice.add_kbr_mg, 120.0, 6.0);
    assert_near(v.advice.press_mg, 200.0, 1e-9);
    assert_near(v.advice.take_mg / (v.advice.take_mg + v.advice.add_kbr_mg), v.advice.sample_factor, 1e-9);
    pellet_verdict_clear(&v);
}

static void test_never_less_than_the_balance_weighs(void **state)
{
    (void)state;
    const struct pellet_worksheet_row row = {.sample = "s",
                                             .sample_mg = NAN,
                                             .kbr_mg = NAN,
                                             .pressed_mg = 4,
                                             .powder_left_mg = NAN,
                                             .die_mm = 3,
                                             .load_t = NAN};
    struct pellet_verdict v;

    judge_band(1.75, &row, &v);
    assert_near(v.advice.take_mg, 2.0, 1e-9); /* 0.4 x 4 mg would be 1.6 mg: the batch is enlarged */
    assert_near(v.advice.take_mg / (v.advice.take_mg + v.advice.add_kbr_mg), v.advice.sample_factor, 1e-9);
    pellet_verdict_clear(&v);
}

static void test_too_faint(void **state)
{
    (void)state;
    struct pellet_verdict v;

    judge_band(0.10, NULL, &v);
    assert_int_equal(v.outcome, PELLET_REMAKE);
    assert_string_equal(v.reason[0].check->id, "weak");
    assert_near(v.advice.sample_factor, 7.0, 0.5);
    pellet_verdict_clear(&v);

    judge_band(0.01, NULL, &v);
    assert_int_equal(v.outcome, PELLET_REMAKE);
    assert_true(isnan(v.advice.sample_factor)); /* no sample seen: a factor would be a guess */
    pellet_verdict_clear(&v);
}

static void test_fit_for_use(void **state)
{
    (void)state;
    struct pellet_verdict v;

    judge_band(0.8, NULL, &v);
    assert_int_equal(v.outcome, PELLET_PASS);
    assert_int_equal(v.reason_count, 0);
    assert_string_equal(v.instruction, "");
    pellet_verdict_clear(&v);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_beer_lambert_series),
        cmocka_unit_test(test_target),
        cmocka_unit_test(test_ways),
        cmocka_unit_test(test_too_strong_without_worksheet),
        cmocka_unit_test(test_too_strong_with_worksheet),
        cmocka_unit_test(test_never_less_than_the_balance_weighs),
        cmocka_unit_test(test_too_faint),
        cmocka_unit_test(test_fit_for_use),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
