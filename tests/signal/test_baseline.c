// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/curves.h"

#define STIFF PELLET_BASELINE_STIFFNESS

/* Scatter's own laws, c0 + c1 v^p, come back where no band stands. */
static void a_bare_slope_is_its_own_baseline(void **state)
{
    static const double powers[] = {0, 1, 2, 3, 4};

    (void)state;
    for (size_t k = 0; k < sizeof powers / sizeof powers[0]; k++) {
        struct curves c = curves_make(400, 4000, 2, 1);

        for (size_t i = 0; i < c.grid.n; i++)
            c.y[i] = 0.05 + 0.4 * pow(c.x[i] / 4000, powers[k]);
        assert_int_equal(pellet_baseline(c.grid, c.y, 1e-5, STIFF, c.out), PELLET_OK);
        for (size_t i = 0; i < c.grid.n; i++)
            assert_near(c.out[i], c.y[i], 0.004);
        curves_free(&c);
    }
}

/* Ten narrow bands on a slope, in noise: the line passes beneath them, on all spacings. */
static void bands_stand_on_it(void **state)
{
    static const double spacings[] = {4, 2, 1, 0.5};

    (void)state;
    for (unsigned long seed = 1; seed <= 12; seed++) {
        struct curves c = curves_make(400, 4000, spacings[seed % 4], seed), bare;
        const double slope = curves_uniform(&c, 0, 0.3), power = curves_uniform(&c, 1, 4);

        for (int k = 0; k < 10; k++)
            curves_add(&c, curves_gauss, curves_uniform(&c, 0.1, 1), curves_uniform(&c, 700, 3700),
                       curves_uniform(&c, 8, 60));
        curves_noise(&c, 5e-4, 1);
        bare = curves_make(400, 4000, spacings[seed % 4], 1);
        for (size_t i = 0; i < c.grid.n; i++) {
            bare.y[i] = 0.04 + slope * pow(c.x[i] / 4000, power);
            c.y[i] += bare.y[i];
        }
        assert_int_equal(pellet_baseline(c.grid, c.y, 5e-4, STIFF, c.out), PELLET_OK);
        for (size_t i = 0; i < c.grid.n; i++)
            assert_near(c.out[i], bare.y[i], 0.01);
        curves_free(&c);
        curves_free(&bare);
    }
}

/* Adding a constant adds it to the baseline; gaps are bridged. */
static void it_moves_with_the_curve_and_bridges_gaps(void **state)
{
    struct curves c = curves_make(400, 4000, 2, 5);
    double *before = calloc(c.grid.n, sizeof *before);

    (void)state;
    assert_non_null(before);
    curves_add(&c, curves_lorentz, 0.6, 1700, 20);
    curves_noise(&c, 3e-4, 1);
    assert_int_equal(pellet_baseline(c.grid, c.y, 3e-4, STIFF, before), PELLET_OK);
    for (size_t i = 0; i < c.grid.n; i++)
        c.y[i] += 0.3;
    assert_int_equal(pellet_baseline(c.grid, c.y, 3e-4, STIFF, c.out), PELLET_OK);
    for (size_t i = 0; i < c.grid.n; i++)
        assert_near(c.out[i], before[i] + 0.3, 1e-6);
    for (size_t i = 0; i < c.grid.n; i++) {
        if (c.x[i] > 2280 && c.x[i] < 2400)
            c.y[i] = NAN;
    }
    assert_int_equal(pellet_baseline(c.grid, c.y, 3e-4, STIFF, c.out), PELLET_OK);
    for (size_t i = 0; i < c.grid.n; i++)
        assert_near(c.out[i], before[i] + 0.3, 2e-3);
    free(before);
    curves_free(&c);
}

static void too_little_and_wrong_stiffness_are_refused(void **state)
{
    struct curves c = curves_make(400, 500, 2, 1);

    (void)state;
    c.out[0] = -1;
    assert_int_equal(pellet_baseline((struct pellet_grid){7, c.x}, c.y, 0, STIFF, c.out), PELLET_E_SHORT);
    assert_int_equal(pellet_baseline(c.grid, c.y, 0, 0, c.out), PELLET_E_RANGE);
    assert_int_equal(pellet_baseline(c.grid, c.y, 0, INFINITY, c.out), PELLET_E_RANGE);
    for (size_t i = 0; i < c.grid.n; i++)
        c.y[i] = NAN;
    assert_int_equal(pellet_baseline(c.grid, c.y, 0, STIFF, c.out), PELLET_E_SHORT);
    assert_near(c.out[0], -1, 0);
    curves_free(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_bare_slope_is_its_own_baseline),
        cmocka_unit_test(bands_stand_on_it),
        cmocka_unit_test(it_moves_with_the_curve_and_bridges_gaps),
        cmocka_unit_test(too_little_and_wrong_stiffness_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
