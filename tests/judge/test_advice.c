// SPDX-License-Identifier: GPL-3.0-or-later
#include "judge/refused.h"

#include "judge/advice_plan.h"

/* 21 CFR 436.211 and the like are in test_advice_dose.c; here the whole way from a spectrum to its
 * instruction. */

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
    assert_non_null(strstr(v.instruction, "times its own mass of fresh dry KBr"));
    assert_int_equal(strncmp(v.instruction, "Too much sample in the beam.", 28), 0);
    pellet_verdict_clear(&v);
}

static void test_its_own_mass_is_not_counted(void **state)
{
    (void)state;
    struct pellet_dose dose = {
        .way = PELLET_DOSE_DILUTE, .sample_factor = 0.49, .take_mg = NAN, .mg_cm2 = NAN};
    struct advice_steps even = {0}, more = {0};
    struct pellet_text said = {0};

    advice_say_dose(&dose, &even);
    advice_steps_render(&even, &said);
    assert_string_equal(said.data,
                        "Mix the powder with its own mass of fresh dry KBr, without long grinding, "
                        "and press the same mass.");
    pellet_text_clear(&said);
    dose.sample_factor = 0.47;
    advice_say_dose(&dose, &more);
    advice_steps_render(&more, &said);
    assert_non_null(strstr(said.data, "with 1.1 times its own mass"));
    pellet_text_clear(&said);
}

static const struct pellet_worksheet_row two_in_400 = {.sample = "s",
                                                       .sample_mg = 4,
                                                       .kbr_mg = 396,
                                                       .pressed_mg = 200,
                                                       .powder_left_mg = 198,
                                                       .die_mm = 13,
                                                       .load_t = NAN};

static void test_too_strong_with_worksheet(void **state)
{
    (void)state;
    struct pellet_verdict v;

    judge_band(1.75, &two_in_400, &v);
    assert_near(v.advice.take_mg, 80.0, 4.0);
    assert_near(v.advice.add_kbr_mg, 120.0, 6.0);
    assert_near(v.advice.press_mg, 200.0, 1e-9);
    assert_near(v.advice.take_mg / (v.advice.take_mg + v.advice.add_kbr_mg), v.advice.sample_factor, 1e-9);
    assert_near(v.advice.thickness_mm, 0.548, 0.001); /* 200 mg on 13 mm: 21 CFR 436.211, KBr 2.75 g/cm3 */
    assert_false(v.advice.fresh_mix);
    /* Whole milligrams: nobody weighs better. */
    char text[120];
    snprintf(text, sizeof text,
             "Take %.0f mg of your powder, add %.0f mg KBr, mix without long grinding, press 200 mg.",
             v.advice.take_mg, v.advice.add_kbr_mg);
    assert_non_null(strstr(v.instruction, text));
    pellet_verdict_clear(&v);
}

/* With nothing left of the powder, a fresh mix; and never less than the balance weighs: 1.6 mg becomes 2 in
 * 500. */
static void test_nothing_left(void **state)
{
    (void)state;
    struct pellet_worksheet_row row = two_in_400;
    struct pellet_verdict v;

    row.kbr_mg = 196;
    row.powder_left_mg = 0;
    judge_band(1.75, &row, &v);
    assert_true(v.advice.fresh_mix);
    assert_true(v.advice.take_mg >= 2.0);
    assert_near(v.advice.take_mg / (v.advice.take_mg + v.advice.add_kbr_mg), 0.02 * v.advice.sample_factor,
                1e-6);
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

/* ---------------------------------------------------------------- what the pellet before taught */

/* A second pellet whose strong band is off scale; the first, at a quarter of it, knows how it compares with
 * three weaker ones. */
static double four_bands(double wavenumber, const void *with)
{
    static const double at[] = {700.0, 1100.0, 1500.0, 2900.0}, share[] = {0.12, 1.0, 0.09, 0.07};
    double sum = 0.0;

    for (size_t i = 0; i < 4; i++) {
        const double x = (wavenumber - at[i]) / 12.0;
        sum += share[i] * *(const double *)with / (1.0 + x * x);
    }
    return fmin(sum, 2.2); /* where the light ends */
}

static void judge_second(double first_height, double second_height, struct pellet_verdict *first,
                         struct pellet_verdict *second)
{
    struct pellet_spectrum one =
        fixture_spectrum(PELLET_ORDINATE_ABSORBANCE, four_bands, &first_height, 2e-4);
    struct pellet_spectrum two =
        fixture_spectrum(PELLET_ORDINATE_ABSORBANCE, four_bands, &second_height, 2e-4);
    struct pellet_attempt attempt;
    struct fixture f;

    fixture_init(&f, &one, NULL);
    f.settings.ratioed_against = PELLET_RATIOED_BLANK;
    assert_int_equal(pellet_judge(&f.inputs, first, NULL, NULL), PELLET_OK);
    attempt = (struct pellet_attempt){.source = f.inputs.subject, .verdict = first};
    f.inputs.subject.file = "s_p2.csv";
    f.inputs.subject.pellet = 2;
    f.inputs.subject.spectrum = &two;
    f.inputs.attempt = &attempt;
    f.inputs.attempt_count = 1;
    assert_int_equal(pellet_judge(&f.inputs, second, NULL, NULL), PELLET_OK);
    pellet_spectrum_clear(&one);
    pellet_spectrum_clear(&two);
    fixture_clear(&f);
}

static void test_weaker_bands_tell(void **state)
{
    (void)state;
    struct pellet_verdict first, second;

    judge_second(1.1, 4.4, &first, &second);
    assert_int_equal(first.outcome, PELLET_PASS);
    assert_int_equal(second.outcome, PELLET_REMAKE);
    assert_near(second.found.true_absorbance, 4.4, 0.3); /* exact algebra: 1.1 A times 4 */
    assert_true(second.found.true_absorbance_low < 4.4 && 4.4 < second.found.true_absorbance_high);
    assert_near(second.advice.sample_factor * second.advice.powder_factor, 0.7 / 4.4, 0.02);
    assert_non_null(strstr(second.instruction, "compared with pellet 1"));
    pellet_verdict_clear(&first);
    pellet_verdict_clear(&second);
}

/* Too faint, then too strong by far more than was asked for: both is said, and the dose goes by what is seen
 * now. */
static void test_a_step_that_missed_is_told(void **state)
{
    (void)state;
    struct pellet_verdict first, second;

    judge_second(0.12, 1.7, &first, &second);
    assert_int_equal(first.outcome, PELLET_REMAKE);
    assert_int_equal(second.outcome, PELLET_REMAKE);
    assert_non_null(strstr(second.instruction, "Unlike pellet 1 it is no longer too faint."));
    assert_near(second.advice.sample_factor * second.advice.powder_factor, 0.7 / 1.7, 0.04);
    pellet_verdict_clear(&first);
    pellet_verdict_clear(&second);
}

/* ---------------------------------------------------------------- the order of work */

static void expect_order(const char *text, const char *const *parts, size_t n)
{
    const char *at = text;

    for (size_t i = 0; i < n; i++) {
        const char *found = strstr(at, parts[i]);
        if (found == NULL)
            fail_msg("'%s' does not come after what is before it in: %s", parts[i], text);
        at = found;
    }
}

static void test_one_instruction_in_the_order_of_work(void **state)
{
    (void)state;
    static const char *const checks[] = {"vapour", "opacity", "asymmetry", "moisture", "residue"};
    static const char *const order[] = {
        "Damp; grains too coarse; cloudy; traces of an earlier sample; the room's air changed.",
        "Clean mortar",
        "Dry the sample, warm the mortar, grind no longer than it takes",
        "grind the sample",
        "Spread the powder",
        "Wait until the air"};
    struct pellet_verdict v;

    advise_on(checks, 5, PELLET_REMAKE, &v);
    expect_order(v.instruction, order, sizeof order / sizeof order[0]);
    assert_null(strstr(v.instruction, "Keep the pellet"));
    assert_true(v.advice.clean && v.advice.dry && v.advice.regrind && v.advice.spread);
    pellet_verdict_clear(&v);
}

/* More load is never the first remedy: a cloudy pellet is told to stay within what die and press are rated
 * for. */
static void test_never_more_load(void **state)
{
    (void)state;
    static const char *const checks[] = {"opacity"};
    struct pellet_verdict v;

    advise_on(checks, 1, PELLET_REMAKE, &v);
    assert_non_null(strstr(v.instruction, "No more load than before"));
    assert_non_null(strstr(v.instruction, "rating of die and press"));
    pellet_verdict_clear(&v);
}

/* What a rule set makes a reason of, though no cure is known, still gets a sentence and something to do. */
static void test_other_reasons(void **state)
{
    (void)state;
    static const char *const checks[] = {"fringes"};
    struct pellet_verdict v;

    advise_on(checks, 1, PELLET_REMAKE, &v);
    assert_string_equal(v.instruction,
                        "Beyond a limit of the rule set. Make a fresh mix with the same amounts.");
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

/* ---------------------------------------------------------------- a band known only as a bound */

/* A narrow band over which the light ends at 2.2 A: its flanks allow a wide range of heights. */
static double clipped_band(double wavenumber, const void *with)
{
    const double x = (wavenumber - 1100.0) / 5.0;
    return fmin(*(const double *)with / (1.0 + x * x), 2.2);
}

/* The first step is a third, or less where even the low end of what the band may be asks for less; never what
 * the best figure would ask for. */
static void test_a_bound_is_dosed_by_its_low_end(void **state)
{
    (void)state;
    static const double heights[] = {4.0, 8.0, 16.0, 32.0, 64.0};
    size_t bounds = 0, beyond_a_third = 0;

    for (size_t i = 0; i < sizeof heights / sizeof heights[0]; i++) {
        struct pellet_spectrum s =
            fixture_spectrum(PELLET_ORDINATE_ABSORBANCE, clipped_band, &heights[i], 2e-4);
        struct pellet_verdict v;
        struct fixture f;

        fixture_init(&f, &s, NULL);
        f.settings.ratioed_against = PELLET_RATIOED_BLANK;
        assert_int_equal(pellet_judge(&f.inputs, &v, NULL, NULL), PELLET_OK);
        assert_int_equal(v.outcome, PELLET_REMAKE);
        const double factor = v.advice.sample_factor * v.advice.powder_factor;
        const double low = v.found.true_absorbance_low;
        if (v.advice.lower_bound) {
            bounds++;
            /* Midway between the limit of `weak`, 0.2 A, and the target, 0.7 A. */
            const double aim = sqrt(0.2 * 0.7);
            beyond_a_third += aim / low < 1.0 / 3.0;
            assert_near(factor, fmin(1.0 / 3.0, aim / low), 0.01 * factor);
            assert_true(factor * low > 0.2); /* at the low end itself the next pellet is no fainter */
            assert_true(v.found.true_absorbance > low);
            assert_true(isnan(v.advice.sample_factor_low)); /* how much too strong, nobody knows */
            assert_non_null(strstr(v.instruction, " or more: this is a first step"));
        }
        pellet_verdict_clear(&v);
        pellet_spectrum_clear(&s);
        fixture_clear(&f);
    }
    assert_true(bounds > 0 && beyond_a_third > 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_too_strong_without_worksheet),
        cmocka_unit_test(test_its_own_mass_is_not_counted),
        cmocka_unit_test(test_too_strong_with_worksheet),
        cmocka_unit_test(test_nothing_left),
        cmocka_unit_test(test_too_faint),
        cmocka_unit_test(test_weaker_bands_tell),
        cmocka_unit_test(test_a_step_that_missed_is_told),
        cmocka_unit_test(test_one_instruction_in_the_order_of_work),
        cmocka_unit_test(test_never_more_load),
        cmocka_unit_test(test_other_reasons),
        cmocka_unit_test(test_fit_for_use),
        cmocka_unit_test(test_a_bound_is_dosed_by_its_low_end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
