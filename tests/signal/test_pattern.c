// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/curves.h"

static const double AT[] = {1450, 1470, 1500, 1520, 1555, 1580, 1610, 1640, 1660, 1700, 1730, 1760};
static const double STRENGTH[] = {2, 1, 3, 2, 4, 1, 2, 5, 3, 2, 1, 2};

enum { LINES = sizeof AT / sizeof AT[0] };

/* A Gaussian of a given area and width; the highest point of the sum is 1. */
static void lines_are_gaussians_of_their_area(void **state)
{
    struct curves c = curves_make(1400, 1900, 0.5, 1);
    double highest = 0;

    (void)state;
    assert_int_equal(pellet_line_pattern(c.grid, AT, STRENGTH, LINES, 6, c.out), PELLET_OK);
    for (size_t k = 0; k < LINES; k++)
        curves_add(&c, curves_gauss, STRENGTH[k], AT[k], 6);
    for (size_t i = 0; i < c.grid.n; i++)
        highest = fmax(highest, c.y[i]);
    for (size_t i = 0; i < c.grid.n; i++)
        assert_near(c.out[i], c.y[i] / highest, 2e-6);
    curves_free(&c);
}

/* So many times the pattern come back under broad structure, in noise, with a band of the sample on top. */
static void the_coefficient_comes_back(void **state)
{
    (void)state;
    for (unsigned long seed = 1; seed <= 20; seed++) {
        struct curves c = curves_make(1400, 1900, 1, seed);
        const double times = curves_uniform(&c, -0.1, 0.1);
        struct pellet_pattern fit;

        assert_int_equal(pellet_line_pattern(c.grid, AT, STRENGTH, LINES, 6, c.out), PELLET_OK);
        for (size_t i = 0; i < c.grid.n; i++)
            c.y[i] = times * c.out[i] + 0.2 * curves_gauss(c.x[i], 1640, 300) + 1e-4 * c.x[i];
        curves_noise(&c, 3e-4, 1);
        assert_int_equal(pellet_pattern_fit(c.grid, c.y, c.out, NULL, 1400, 1900, 60, &fit), PELLET_OK);
        assert_near(fit.coefficient, times, fmax(4 * fit.sigma, 0.02 * fabs(times)));
        assert_true(fit.sigma < 3e-4);
        assert_near(fit.rms, 3e-4, 1.5e-4);
        curves_free(&c);
    }
}

/* A curve that is the pattern has correlation 1, one that is its opposite -1. */
static void correlation_is_pearsons(void **state)
{
    struct curves c = curves_make(1400, 1900, 1, 1);
    struct pellet_pattern fit;

    (void)state;
    assert_int_equal(pellet_line_pattern(c.grid, AT, STRENGTH, LINES, 6, c.out), PELLET_OK);
    for (size_t i = 0; i < c.grid.n; i++)
        c.y[i] = 5 - 3 * c.out[i];
    assert_int_equal(pellet_pattern_fit(c.grid, c.y, c.out, NULL, 1400, 1900, 0, &fit), PELLET_OK);
    assert_near(fit.coefficient, -3, 1e-9);
    assert_near(fit.r, -1, 1e-9);
    assert_near(fit.span, 1, 0.01);
    curves_free(&c);
}

static void what_cannot_be_fitted_says_so(void **state)
{
    struct curves c = curves_make(1400, 1900, 1, 1);
    unsigned char *use = calloc(c.grid.n, 1);
    struct pellet_pattern fit = {.coefficient = -1};

    (void)state;
    assert_non_null(use);
    assert_int_equal(pellet_pattern_fit(c.grid, c.y, c.out, NULL, 1400, 1900, 0, &fit), PELLET_E_FIT);
    assert_int_equal(pellet_pattern_fit(c.grid, c.y, c.out, use, 1400, 1900, 0, &fit), PELLET_E_SHORT);
    assert_int_equal(pellet_pattern_fit(c.grid, c.y, c.out, NULL, 1400, 1405, 0, &fit), PELLET_E_SHORT);
    assert_near(fit.coefficient, -1, 0);
    assert_int_equal(pellet_line_pattern(c.grid, AT, STRENGTH, 0, 6, c.out), PELLET_OK);
    assert_near(c.out[100], 0, 0);
    free(use);
    curves_free(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lines_are_gaussians_of_their_area),
        cmocka_unit_test(the_coefficient_comes_back),
        cmocka_unit_test(correlation_is_pearsons),
        cmocka_unit_test(what_cannot_be_fitted_says_so),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
