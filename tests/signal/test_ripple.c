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

/* A wave on a steep curve comes back though half of its window is missing; without the gap to the
 * last digit. */
static void a_wave_beside_a_gap_comes_back(void **state)
{
    struct curves c = curves_make(1900, 2500, 1, 4);
    double cosine, sine;

    (void)state;
    for (size_t i = 0; i < c.grid.n; i++) {
        const double x = (c.x[i] - 2200) / 300;
        c.y[i] = 0.2 + 0.1 * x - 0.15 * x * x + 0.05 * x * x * x;
    }
    curves_ripple(&c, 0.005, 59, 0.7);
    for (size_t gap = 0; gap < 2; gap++) {
        for (size_t i = 0; gap && i < c.grid.n; i++)
            c.y[i] = c.x[i] > 2150 && c.x[i] < 2400 ? (double)NAN : c.y[i];
        assert_int_equal(pellet_ripple_wave(c.grid, c.y, 1900, 2500, 59, 75, &cosine, &sine), PELLET_OK);
        assert_near(hypot(cosine, sine), 0.005, 1e-9);
        assert_near(atan2(-sine, cosine), 0.7, 1e-6);
    }
    cosine = sine = -1;
    assert_int_equal(pellet_ripple_wave(c.grid, c.y, 2500, 1900, 59, 75, &cosine, &sine), PELLET_E_RANGE);
    assert_int_equal(pellet_ripple_wave(c.grid, c.y, 1900, 2500, 76, 75, &cosine, &sine), PELLET_E_RANGE);
    assert_int_equal(pellet_ripple_wave(c.grid, c.y, 2160, 2390, 59, 75, &cosine, &sine), PELLET_E_SHORT);
    assert_near(cosine, -1, 0);
    assert_near(sine, -1, 0);
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
        cmocka_unit_test(a_wave_beside_a_gap_comes_back),
        cmocka_unit_test(a_crest_is_as_wide_as_half_a_period),
        cmocka_unit_test(wrong_periods_and_windows_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
