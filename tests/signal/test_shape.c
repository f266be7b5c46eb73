// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/curves.h"

/* All six parameters of (a + d x)/(1 + x^2) on a line come back exactly without noise, within their sigma
 * with it. */
static void the_shape_comes_back(void **state)
{
    (void)state;
    for (unsigned long seed = 1; seed <= 30; seed++) {
        struct curves c = curves_make(1500, 1900, 1, seed);
        const double at = 1700 + curves_uniform(&c, -3, 3), gamma = curves_uniform(&c, 6, 12);
        const double a = curves_uniform(&c, 0.2, 1), d = a * curves_uniform(&c, -0.8, 0.8);
        const bool noisy = seed % 2;
        struct pellet_band band = {.at_cm1 = 1700, .height = a, .top = a + 0.1, .width_cm1 = 18};
        struct pellet_band_shape shape;

        for (size_t i = 0; i < c.grid.n; i++) {
            const double x = (c.x[i] - at) / gamma;
            c.y[i] = (a + d * x) / (1 + x * x) + 0.1 + 2e-4 * (c.x[i] - 1700);
        }
        if (noisy)
            curves_noise(&c, 3e-4, 1);
        assert_int_equal(pellet_band_shape_fit(c.grid, c.y, &band, 4, 1500, 1900, &shape), PELLET_OK);
        assert_true(shape.ok);
        assert_near(shape.skew, -d / a, noisy ? 5 * shape.skew_sigma : 1e-4);
        assert_near(shape.at_cm1, at, noisy ? 0.1 : 1e-3);
        assert_near(shape.gamma_cm1, gamma, noisy ? 0.1 : 1e-3);
        assert_near(shape.rms, noisy ? 3e-4 : 0, noisy ? 1e-4 : 1e-6);
        curves_free(&c);
    }
}

/* What is no band of that shape is not ok. */
static void another_shape_is_not_ok(void **state)
{
    struct curves c = curves_make(1500, 1900, 1, 1);
    const struct pellet_band band = {.at_cm1 = 1700, .height = 0.5, .top = 0.5, .width_cm1 = 18};
    struct pellet_band_shape shape;

    (void)state;
    curves_ripple(&c, 0.5, 7, 0);
    assert_int_equal(pellet_band_shape_fit(c.grid, c.y, &band, 3, 1500, 1900, &shape), PELLET_OK);
    assert_false(shape.ok);
    curves_free(&c);
}

/*
 * The shape does not hang on where and how wide a search took the band to be: bands that are half Gauss
 * curves and skewed, begun from the top and from beside it, with the width as it looks and as it is.
 */
static void the_window_is_the_shapes_own(void **state)
{
    static const struct pellet_band from[] = {
        {.at_cm1 = 1697, .height = 0.55, .top = 0.55, .width_cm1 = 24},
        {.at_cm1 = 1700, .height = 0.5, .top = 0.5, .width_cm1 = 18},
        {.at_cm1 = 1703, .height = 0.45, .top = 0.45, .width_cm1 = 15},
    };
    struct curves c = curves_make(1500, 1900, 0.5, 1);
    struct pellet_band_shape shape[3];

    (void)state;
    for (size_t i = 0; i < c.grid.n; i++) {
        const double x = (c.x[i] - 1700) / 9, q = 1 + x * x;
        c.y[i] = 0.5 * (0.6 / q + 0.4 * exp(-M_LN2 * x * x)) - 0.25 * x / q;
    }
    for (size_t i = 0; i < 3; i++) {
        assert_int_equal(pellet_band_shape_fit(c.grid, c.y, &from[i], 1.5, 1500, 1900, &shape[i]), PELLET_OK);
        assert_true(shape[i].ok);
        assert_near(shape[i].skew, shape[0].skew, 0.01);
        assert_near(shape[i].a, shape[0].a, 0.005);
        assert_near(shape[i].at_cm1, shape[0].at_cm1, 0.1);
    }
    /* d is 0.25; the Lorentz curve that fits the blunter top best is higher than it, 0.5, by up to
     * a fifth. */
    assert_near(shape[0].skew, 0.45, 0.05);
    curves_free(&c);
}

/*
 * On a grid so coarse that the window wins and loses points as it follows the shape it still comes to rest,
 * wherever between the points the band lies, and gives the shape of the fine grid.
 */
static void a_coarse_grid_finds_rest(void **state)
{
    (void)state;
    for (size_t k = 0; k < 20; k++) {
        struct curves c = curves_make(1500, 1900, 4, 1);
        const double at = 1700 + 0.2 * (double)k;
        const struct pellet_band band = {.at_cm1 = at - 4, .height = 0.45, .top = 0.45, .width_cm1 = 25};
        struct pellet_band_shape shape;

        for (size_t i = 0; i < c.grid.n; i++) {
            const double x = (c.x[i] - at) / 9, q = 1 + x * x;
            c.y[i] = 0.4 * (0.6 / q + 0.4 * exp(-M_LN2 * x * x)) - 0.3 * x / q;
        }
        assert_int_equal(pellet_band_shape_fit(c.grid, c.y, &band, 1.5, 1500, 1900, &shape), PELLET_OK);
        assert_true(shape.ok);
        assert_near(shape.skew, 0.69, 0.07);
        curves_free(&c);
    }
}

/* What stands beside a band shows beyond the window, the more the nearer it is; a straight line does not. */
static void a_neighbour_shows_beyond(void **state)
{
    static const double away[] = {80, 50, 35};
    double before = 0;

    (void)state;
    for (size_t k = 0; k < 3; k++) {
        struct curves c = curves_make(1500, 1900, 1, 1);
        const struct pellet_band band = {.at_cm1 = 1700, .height = 0.5, .top = 0.5, .width_cm1 = 16};
        struct pellet_band_shape shape;

        for (size_t i = 0; i < c.grid.n; i++) {
            const double x = (c.x[i] - 1700) / 8, beside = (c.x[i] - 1700 - away[k]) / 8;
            c.y[i] = 0.5 / (1 + x * x) + 0.3 / (1 + beside * beside) + 1e-3 * (c.x[i] - 1700);
        }
        assert_int_equal(pellet_band_shape_fit(c.grid, c.y, &band, 1.5, 1500, 1900, &shape), PELLET_OK);
        assert_true(shape.beyond > before);
        before = 2 * shape.beyond;
        curves_free(&c);
    }
    assert_true(before > 2 * 0.05);
}

/* A shape whose window finds no rest, or leaves the band, is not ok: here a flank without end. */
static void a_window_without_rest_is_not_ok(void **state)
{
    struct curves c = curves_make(1500, 1900, 1, 1);
    const struct pellet_band band = {.at_cm1 = 1700, .height = 0.1, .top = 0.5, .width_cm1 = 18};
    struct pellet_band_shape shape;

    (void)state;
    for (size_t i = 0; i < c.grid.n; i++)
        c.y[i] = 0.5 / (1 + exp((c.x[i] - 1700) / 6));
    assert_int_equal(pellet_band_shape_fit(c.grid, c.y, &band, 1.5, 1500, 1900, &shape), PELLET_OK);
    assert_false(shape.ok);
    curves_free(&c);
}

static void wrong_windows_are_refused(void **state)
{
    struct curves c = curves_make(1500, 1900, 1, 1);
    const struct pellet_band band = {.at_cm1 = 1700, .height = 0.5, .top = 0.5, .width_cm1 = 18}, none = {0};
    struct pellet_band_shape shape = {.a = -1};

    (void)state;
    assert_int_equal(pellet_band_shape_fit(c.grid, c.y, &none, 3, 1500, 1900, &shape), PELLET_E_RANGE);
    assert_int_equal(pellet_band_shape_fit(c.grid, c.y, &band, 3, 1900, 1500, &shape), PELLET_E_RANGE);
    assert_int_equal(pellet_band_shape_fit(c.grid, c.y, &band, 3, 1698, 1702, &shape), PELLET_E_SHORT);
    c.grid.n = 1;
    assert_int_equal(pellet_band_shape_fit(c.grid, c.y, &band, 3, 1500, 1900, &shape), PELLET_E_SHORT);
    assert_near(shape.a, -1, 0);
    curves_free(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_shape_comes_back),         cmocka_unit_test(another_shape_is_not_ok),
        cmocka_unit_test(the_window_is_the_shapes_own), cmocka_unit_test(a_window_without_rest_is_not_ok),
        cmocka_unit_test(wrong_windows_are_refused),    cmocka_unit_test(a_coarse_grid_finds_rest),
        cmocka_unit_test(a_neighbour_shows_beyond),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
