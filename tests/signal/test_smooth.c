// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/curves.h"

/* What a local quadratic is: the same sums written out, by Cramer's rule, point after point. */
static double slow_quadratic(const struct curves *c, size_t at, double half, size_t order)
{
    double s[5] = {0}, t[3] = {0};

    for (size_t i = 0; i < c->grid.n; i++) {
        const double u = c->x[i] - c->x[at];

        if (fabs(u) > half + 1e-9 || isnan(c->y[i]))
            continue;
        for (size_t k = 0; k < 5; k++)
            s[k] += pow(u, (double)k);
        for (size_t k = 0; k < 3; k++)
            t[k] += c->y[i] * pow(u, (double)k);
    }
    double m[3][3] = {{s[0], s[1], s[2]}, {s[1], s[2], s[3]}, {s[2], s[3], s[4]}};
    const double whole = m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1]) -
                         m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0]) +
                         m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0]);
    for (size_t k = 0; k < 3; k++)
        m[k][order] = t[k];
    return (m[0][0] * (m[1][1] * m[2][2] - m[1][2] * m[2][1]) -
            m[0][1] * (m[1][0] * m[2][2] - m[1][2] * m[2][0]) +
            m[0][2] * (m[1][0] * m[2][1] - m[1][1] * m[2][0])) /
           whole;
}

static void smoothing_is_the_local_quadratic(void **state)
{
    (void)state;
    for (unsigned long seed = 1; seed <= 5; seed++) {
        struct curves c = curves_make(400, 700, 1, seed);

        curves_noise(&c, 1, 1);
        c.y[40] = c.y[41] = NAN;
        assert_int_equal(pellet_smooth_quadratic(c.grid, c.y, 12, c.out), PELLET_OK);
        for (size_t i = 6; i + 6 < c.grid.n; i++) {
            if (isnan(c.y[i]))
                assert_true(isnan(c.out[i]));
            else
                assert_near(c.out[i], slow_quadratic(&c, i, 6, 0), 1e-9);
        }
        assert_int_equal(pellet_second_derivative(c.grid, c.y, 12, c.out), PELLET_OK);
        for (size_t i = 0; i < c.grid.n; i++) {
            if (!isnan(c.y[i]))
                assert_near(c.out[i], 2 * slow_quadratic(&c, i, 6, 2), 1e-9);
        }
        curves_free(&c);
    }
}

/* With very many points to a window whole runs of them are summed at once: it stays the same, near ends, gaps
 * and on an uneven grid too. */
static void many_points_make_no_difference(void **state)
{
    struct curves c = curves_make(400, 520, 0.02, 3);

    (void)state;
    curves_noise(&c, 1, 1);
    for (size_t i = 0; i < c.grid.n; i++)
        c.x[i] += curves_uniform(&c, -0.005, 0.005) + (i > 2000 ? 2 : 0);
    for (size_t i = 1000; i < 1100; i++)
        c.y[i] = NAN;
    assert_int_equal(pellet_smooth_quadratic(c.grid, c.y, 12, c.out), PELLET_OK);
    for (size_t i = 0; i < c.grid.n; i += 7) {
        const double room = fmin(c.x[i] - c.x[0], c.x[c.grid.n - 1] - c.x[i]);
        if (!isnan(c.y[i]) && room > 0.1)
            assert_near(c.out[i], slow_quadratic(&c, i, fmin(6, room), 0), 1e-7);
    }
    assert_int_equal(pellet_second_derivative(c.grid, c.y, 12, c.out), PELLET_OK);
    for (size_t i = 0; i < c.grid.n; i += 7) {
        if (!isnan(c.y[i]))
            assert_near(c.out[i], 2 * slow_quadratic(&c, i, 6, 2), 1e-7);
    }
    curves_free(&c);
}

/* The mean of an odd number of points, or of those of them that can be used. */
static void the_boxcar_is_the_mean(void **state)
{
    struct curves c = curves_make(400, 500, 2, 7);

    (void)state;
    curves_noise(&c, 1, 1);
    c.y[20] = NAN;
    assert_int_equal(pellet_smooth_boxcar(c.grid, c.y, 8, c.out), PELLET_OK);
    assert_near(c.out[10], (c.y[8] + c.y[9] + c.y[10] + c.y[11] + c.y[12]) / 5, 1e-12);
    assert_near(c.out[21], (c.y[19] + c.y[21] + c.y[22] + c.y[23]) / 4, 1e-12);
    assert_near(c.out[0], c.y[0], 1e-12); /* the window shrinks on both sides alike */
    assert_near(c.out[1], (c.y[0] + c.y[1] + c.y[2]) / 3, 1e-12);
    assert_true(isnan(c.out[20]));
    curves_free(&c);
}

/* A straight line stays as it is to the very ends; a parabola keeps value and curvature inside. */
static void polynomials_keep_their_values(void **state)
{
    struct curves c = curves_make(400, 500, 0.7, 1);

    (void)state;
    for (size_t i = 0; i < c.grid.n; i++)
        c.y[i] = 3 - 0.01 * c.x[i];
    assert_int_equal(pellet_smooth_boxcar(c.grid, c.y, 9, c.out), PELLET_OK);
    for (size_t i = 0; i < c.grid.n; i++)
        assert_near(c.out[i], c.y[i], 1e-12);
    for (size_t i = 0; i < c.grid.n; i++)
        c.y[i] = 1 + 0.002 * pow(c.x[i] - 450, 2);
    assert_int_equal(pellet_smooth_quadratic(c.grid, c.y, 9, c.out), PELLET_OK);
    for (size_t i = 0; i < c.grid.n; i++)
        assert_near(c.out[i], c.y[i], 1e-9);
    assert_int_equal(pellet_second_derivative(c.grid, c.y, 9, c.out), PELLET_OK);
    for (size_t i = 0; i < c.grid.n; i++)
        assert_near(c.out[i], 0.004, 1e-9);
    curves_free(&c);
}

static void wrong_arguments_are_refused(void **state)
{
    struct curves c = curves_make(400, 410, 1, 1);

    (void)state;
    c.out[0] = -1;
    assert_int_equal(pellet_smooth_boxcar(c.grid, c.y, 0, c.out), PELLET_E_RANGE);
    assert_int_equal(pellet_smooth_quadratic(c.grid, c.y, -1, c.out), PELLET_E_RANGE);
    assert_int_equal(pellet_second_derivative(c.grid, c.y, INFINITY, c.out), PELLET_E_RANGE);
    assert_int_equal(pellet_smooth_boxcar((struct pellet_grid){1, c.x}, c.y, 5, c.out), PELLET_E_SHORT);
    assert_int_equal(pellet_smooth_quadratic((struct pellet_grid){2, c.x}, c.y, 5, c.out), PELLET_E_SHORT);
    assert_int_equal(pellet_second_derivative((struct pellet_grid){2, c.x}, c.y, 5, c.out), PELLET_E_SHORT);
    assert_near(c.out[0], -1, 0);
    curves_free(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(smoothing_is_the_local_quadratic), cmocka_unit_test(many_points_make_no_difference),
        cmocka_unit_test(the_boxcar_is_the_mean),           cmocka_unit_test(polynomials_keep_their_values),
        cmocka_unit_test(wrong_arguments_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
