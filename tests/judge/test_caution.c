// SPDX-License-Identifier: GPL-3.0-or-later
#include "judge/fixture.h"

static double one_band(double wavenumber, const void *with)
{
    const double x = (wavenumber - 1100.0) / 15.0;
    return *(const double *)with / (1.0 + x * x);
}

static void judge_load(double load_t, struct pellet_verdict *v)
{
    const double height = 0.8;
    const struct pellet_worksheet_row row = {.sample = "s",
                                             .sample_mg = 4,
                                             .kbr_mg = 396,
                                             .pressed_mg = 200,
                                             .powder_left_mg = 198,
                                             .die_mm = 13,
                                             .load_t = load_t};
    struct pellet_spectrum s = fixture_spectrum(PELLET_ORDINATE_ABSORBANCE, one_band, &height, 2e-4);
    struct fixture f;

    fixture_init(&f, &s, NULL);
    f.settings.ratioed_against = PELLET_RATIOED_BLANK;
    f.inputs.row = &row;
    assert_int_equal(pellet_judge(&f.inputs, v, NULL, NULL), PELLET_OK);
    pellet_spectrum_clear(&s);
    fixture_clear(&f);
}

/* 10 t on 13 mm are 738.8 MPa; the 10.83 t that make 800 MPa are beyond what such a die is usually rated for.
 * A caution leaves the verdict alone. */
static void test_a_high_load_is_a_caution(void **state)
{
    (void)state;
    struct pellet_verdict v;

    judge_load(10.0, &v);
    assert_near(v.found.pressure_mpa, 738.8, 0.05);
    assert_int_equal(v.warning_count, 0);
    pellet_verdict_clear(&v);

    judge_load(10.83, &v);
    assert_int_equal(v.outcome, PELLET_PASS);
    assert_near(v.found.pressure_mpa, 800.0, 0.5);
    assert_int_equal(v.warning_count, 1);
    assert_string_equal(v.warning[0],
                        "the load: what die and press are rated for and local rules come first; "
                        "10.8 t on 13 mm press with 800 MPa, the rule set gives at most 740 MPa");
    pellet_verdict_clear(&v);

    judge_load((double)NAN, &v);
    assert_true(isnan(v.found.pressure_mpa));
    assert_int_equal(v.warning_count, 0);
    pellet_verdict_clear(&v);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_high_load_is_a_caution),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
