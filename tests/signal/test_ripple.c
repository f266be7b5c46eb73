// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/curves.h"

/* Period, amplitude and phase come back; the phase is that of cos(2 pi nu / period + phase) itself. */
static void a_ripple_comes_back(void **state)
{
    (void)state;
    for (unsigned long seed = 1; seed <= 20; seed++) {
        struct curves c = curves_make(1800, 2700, seed % 2 ? 0.5 : 1, seed);
        const double amplitude = curves_uniform(&c, 0.002, 0.03), period = curves_uniform(&c, 4, 40);
        const double phase = curves_uniform(&c, 0, 2 * M_PI);
        struct pellet_ripple ripple;

        curves_noise(&c, 5e-4, 1);
        curves_ripple(&c, amplitude, period, phase);
        assert_int_equal(pellet_ripple_find(c.grid, c.y, 1900, 2500, 2, 60, &ripple), PELLET_OK);
        assert_near(ripple.amplitude, amplitude, 2e-4);
        assert_near(ripple.period_cm1 / period, 1, 2e-3);
        for (double nu = 1900; nu <= 2500; nu += 50)
            assert_near(ripple.amplitude * cos(2 * M_PI * nu / ripple.period_cm1 + ripple.phase),
                        amplitude * cos(2 * M_PI * nu / period + phase), 4e-4);
        assert_true(ripple.significance > 20);
        curves_free(&c);
    }
}

/* One search in a thousand finds something in noise: in 200, four or more would be one chance in 20000. */
static void noise_hardly_ever_has_one(void **state)
{
    size_t alarms = 0;

    (void)state;
    for (unsigned long seed = 1; seed <= 200; seed++) {
        struct curves c = curves_make(1900, 2500, 2, seed);
        struct pellet_ripple ripple;

        curves_noise(&c, 5e-4, 1);
        assert_int_equal(pellet_ripple_find(c.grid, c.y, 1900, 2500, 4, 60, &ripple), PELLET_OK);
        alarms += ripple.amplitude > 0;
        curves_free(&c);
    }
    assert_true(alarms <= 3);
}

/*
 * Published: 29 fringes from 1806 to 544 cm-1 with n = 1 are 0.1149 mm (the worked example of a trade page).
 * The period is 1262/29 cm-1.
 */
static void the_worked_example_of_fringes(void **state)
{
    struct curves c = curves_make(544, 1806, 1, 1);
    struct pellet_ripple ripple;

    (void)state;
    curves_ripple(&c, 0.03, 1262.0 / 29, 0.3);
    assert_int_equal(pellet_ripple_find(c.grid, c.y, 544, 1806, 20, 100, &ripple), PELLET_OK);
    assert_near(10 / (2 * ripple.period_cm1), 0.1149, 5e-5);
    curves_free(&c);
}

static void a_crest_is_as_wide_as_half_a_period(void **state)
{
    const struct pellet_ripple ripple = {.amplitude = 0.01, .period_cm1 = 8}, none = {.period_cm1 = 8};
    const struct pellet_band crest = {.height = 0.02, .width_cm1 = 4};
    const struct pellet_band high = {.height = 0.031, .width_cm1 = 4},
                             wide = {.height = 0.02, .width_cm1 = 7};

    (void)state;
    assert_true(pellet_ripple_is_crest(&ripple, &crest));
    assert_false(pellet_ripple_is_crest(&ripple, &high));
    assert_false(pellet_ripple_is_crest(&ripple, &wide));
    assert_false(pellet_ripple_is_crest(&none, &crest));
}

static void wrong_periods_and_windows_are_refused(void **state)
{
    struct curves c = curves_make(1900, 2500, 2, 1);
    struct pellet_ripple ripple = {.amplitude = -1};

    (void)state;
    assert_int_equal(pellet_ripple_find(c.grid, c.y, 1900, 2500, 0, 60, &ripple), PELLET_E_RANGE);
    assert_int_equal(pellet_ripple_find(c.grid, c.y, 1900, 2500, 60, 4, &ripple), PELLET_E_RANGE);
    assert_int_equal(pellet_ripple_find(c.grid, c.y, 2600, 2700, 4, 60, &ripple), PELLET_E_RANGE);
    assert_int_equal(pellet_ripple_find(c.grid, c.y, 1900, 1910, 4, 60, &ripple), PELLET_E_SHORT);
    assert_near(ripple.amplitude, -1, 0);
    curves_free(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_ripple_comes_back),
        cmocka_unit_test(noise_hardly_ever_has_one),
        cmocka_unit_test(the_worked_example_of_fringes),
        cmocka_unit_test(a_crest_is_as_wide_as_half_a_period),
        cmocka_unit_test(wrong_periods_and_windows_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
