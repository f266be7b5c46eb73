// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/curves.h"

#define SIGMA 5e-4

/* Mean square over many seeds against the truth: one estimate of N independent points varies by
 * 1/sqrt(2 N). */
static void zero_filling_leaves_the_rms(void **state)
{
    static const struct {
        double spacing;
        size_t filled;
        double tolerance;
    } row[] = {{4, 1, 0.05}, {2, 1, 0.04}, {2, 4, 0.12}, {1, 2, 0.05}, {0.5, 4, 0.05}, {0.5, 1, 0.03}};

    (void)state;
    for (size_t k = 0; k < sizeof row / sizeof row[0]; k++) {
        const size_t seeds = 60;
        double squares = 0, alike = 0;

        for (unsigned long seed = 1; seed <= seeds; seed++) {
            struct curves c = curves_make(1900, 2300, row[k].spacing, seed);
            struct pellet_noise noise;

            curves_noise(&c, SIGMA, row[k].filled);
            assert_int_equal(pellet_noise_window(c.grid, c.y, 2000, 2200, &noise), PELLET_OK);
            squares += noise.rms * noise.rms / (double)seeds;
            alike += noise.alike / (double)seeds;
            curves_free(&c);
        }
        assert_near(sqrt(squares), SIGMA, row[k].tolerance * SIGMA);
        assert_near(alike / (double)row[k].filled, 1, 0.4);
    }
}

/* A curved level and two ripples are no noise, from three points a period to the whole window. */
static void curvature_and_ripples_are_taken_out(void **state)
{
    (void)state;
    for (unsigned long seed = 1; seed <= 20; seed++) {
        struct curves c = curves_make(1900, 2300, 1, seed);
        struct pellet_noise noise;

        curves_noise(&c, SIGMA, 1);
        curves_ripple(&c, curves_uniform(&c, 0.003, 0.05), curves_uniform(&c, 3, 20),
                      curves_uniform(&c, 0, 6));
        curves_ripple(&c, curves_uniform(&c, 0.003, 0.05), curves_uniform(&c, 40, 180),
                      curves_uniform(&c, 0, 6));
        for (size_t i = 0; i < c.grid.n; i++)
            c.y[i] += 0.2 + 1e-4 * (c.x[i] - 2100) + 1e-6 * pow(c.x[i] - 2100, 2);
        assert_int_equal(pellet_noise_window(c.grid, c.y, 2000, 2200, &noise), PELLET_OK);
        assert_near(noise.rms, SIGMA, 0.2 * SIGMA);
        assert_int_equal(noise.ripples, 2);
        curves_free(&c);
    }
}

/* The fringes of a tablet of 2 mm, 1.6 cm-1 apart, and of one of 3 mm are no noise either. */
static void the_fringes_of_a_thick_tablet_are_taken_out(void **state)
{
    static const double period[] = {1.64, 1.1};

    (void)state;
    for (unsigned long seed = 1; seed <= 10; seed++) {
        struct curves c = curves_make(1900, 2300, 0.48, seed);
        struct pellet_noise noise;

        curves_noise(&c, SIGMA, 1);
        curves_ripple(&c, 0.004, period[seed % 2], curves_uniform(&c, 0, 6));
        assert_int_equal(pellet_noise_window(c.grid, c.y, 2000, 2200, &noise), PELLET_OK);
        assert_near(noise.rms, SIGMA, 0.2 * SIGMA);
        curves_free(&c);
    }
}

/* A band, or a dip, on a fifth of the window is left out: nitriles stand here. */
static void a_band_in_the_window_is_left_out(void **state)
{
    static const double heights[] = {0.8, 0.02, -0.05};

    (void)state;
    for (size_t k = 0; k < sizeof heights / sizeof heights[0]; k++) {
        for (unsigned long seed = 1; seed <= 10; seed++) {
            struct curves c = curves_make(1900, 2300, 1, seed);
            struct pellet_noise noise;

            curves_noise(&c, SIGMA, 1);
            curves_add(&c, curves_gauss, heights[k], curves_uniform(&c, 2020, 2180), 14);
            assert_int_equal(pellet_noise_window(c.grid, c.y, 2000, 2200, &noise), PELLET_OK);
            assert_near(noise.rms, SIGMA, 0.25 * SIGMA);
            assert_true(noise.share < 0.95 && noise.share > 0.5);
            curves_free(&c);
        }
    }
}

/* Smooth structure that fills the window is not noise, and `alike` shows it. */
static void what_is_too_smooth_shows(void **state)
{
    struct curves c = curves_make(1900, 2300, 1, 3);
    struct pellet_noise noise;

    (void)state;
    curves_noise(&c, 1e-5, 1);
    for (int k = 0; k < 8; k++)
        curves_add(&c, curves_lorentz, curves_uniform(&c, 0.01, 0.03),
                   2010 + 24 * k + curves_uniform(&c, 0, 9), 14);
    assert_int_equal(pellet_noise_window(c.grid, c.y, 2000, 2200, &noise), PELLET_OK);
    assert_true(noise.rms > 1e-4);
    assert_true(noise.alike > 2);
    curves_free(&c);
}

/* What comes in units comes out in them, and a level does not matter. */
static void it_scales_with_the_curve(void **state)
{
    struct curves c = curves_make(1900, 2300, 1, 9);
    struct pellet_noise one, other;

    (void)state;
    curves_noise(&c, SIGMA, 1);
    assert_int_equal(pellet_noise_window(c.grid, c.y, 2000, 2200, &one), PELLET_OK);
    for (size_t i = 0; i < c.grid.n; i++)
        c.y[i] = 40 * c.y[i] + 7;
    assert_int_equal(pellet_noise_window(c.grid, c.y, 2000, 2200, &other), PELLET_OK);
    assert_near(other.rms, 40 * one.rms, 1e-9);
    assert_near(other.correlation, one.correlation, 1e-6);
    curves_free(&c);
}

static void windows_that_cannot_be_used_are_refused(void **state)
{
    struct curves c = curves_make(1900, 2300, 1, 9);
    struct pellet_noise noise = {.rms = -1};

    (void)state;
    assert_int_equal(pellet_noise_window(c.grid, c.y, 2500, 2700, &noise), PELLET_E_RANGE);
    assert_int_equal(pellet_noise_window(c.grid, c.y, 2200, 2000, &noise), PELLET_E_RANGE);
    assert_int_equal(pellet_noise_window(c.grid, c.y, 2000, 2010, &noise), PELLET_E_SHORT);
    for (size_t i = 120; i < 170; i++)
        c.y[i] = NAN;
    assert_int_equal(pellet_noise_window(c.grid, c.y, 2000, 2200, &noise), PELLET_E_SHORT);
    assert_near(noise.rms, -1, 0);
    curves_free(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(zero_filling_leaves_the_rms),
        cmocka_unit_test(curvature_and_ripples_are_taken_out),
        cmocka_unit_test(the_fringes_of_a_thick_tablet_are_taken_out),
        cmocka_unit_test(a_band_in_the_window_is_left_out),
        cmocka_unit_test(what_is_too_smooth_shows),
        cmocka_unit_test(it_scales_with_the_curve),
        cmocka_unit_test(windows_that_cannot_be_used_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
