// SPDX-License-Identifier: GPL-3.0-or-later
#include "testing.h"

#include "pellet/signal.h"

static const double X[] = {400, 402, 404, 408, 410, 412};
static const struct pellet_grid GRID = {6, X};

static void window_is_inclusive(void **state)
{
    size_t first, last;

    (void)state;
    pellet_grid_window(GRID, 402, 410, &first, &last);
    assert_int_equal(first, 1);
    assert_int_equal(last, 5);
    pellet_grid_window(GRID, 402.1, 409.9, &first, &last);
    assert_int_equal(first, 2);
    assert_int_equal(last, 4);
    pellet_grid_window(GRID, 405, 407, &first, &last);
    assert_int_equal(first, last);
    pellet_grid_window(GRID, 500, 600, &first, &last);
    assert_int_equal(first, last);
    pellet_grid_window(GRID, 0, 1000, &first, &last);
    assert_int_equal(first, 0);
    assert_int_equal(last, 6);
    pellet_grid_window(GRID, 410, 402, &first, &last);
    assert_int_equal(first, last);
}

static void spacing_is_the_mean(void **state)
{
    (void)state;
    assert_near(pellet_grid_spacing(GRID), 12.0 / 5, 1e-12);
    assert_true(isnan(pellet_grid_spacing((struct pellet_grid){1, X})));
}

static void value_between_points(void **state)
{
    const double y[] = {1, 2, NAN, 4, 6, 5};

    (void)state;
    assert_near(pellet_grid_at(GRID, y, 401), 1.5, 1e-12);
    assert_near(pellet_grid_at(GRID, y, 402), 2, 1e-12); /* on a point its neighbours do not matter */
    assert_near(pellet_grid_at(GRID, y, 412), 5, 1e-12);
    assert_true(isnan(pellet_grid_at(GRID, y, 403)));
    assert_true(isnan(pellet_grid_at(GRID, y, 404)));
    assert_true(isnan(pellet_grid_at(GRID, y, 399.9)));
    assert_true(isnan(pellet_grid_at(GRID, y, 412.1)));
    assert_true(isnan(pellet_grid_at(GRID, y, NAN)));
}

/* The mean of a straight line is its value in the middle, wherever the points and the ends lie. */
static void mean_of_a_line(void **state)
{
    double y[6], mean = -1;

    (void)state;
    for (size_t i = 0; i < 6; i++)
        y[i] = 3 + 0.25 * X[i];
    assert_int_equal(pellet_grid_mean(GRID, y, 401, 411, &mean), PELLET_OK);
    assert_near(mean, 3 + 0.25 * 406, 1e-10);
    assert_int_equal(pellet_grid_mean(GRID, y, 405, 407, &mean), PELLET_OK); /* between two points */
    assert_near(mean, 3 + 0.25 * 406, 1e-10);
}

static void mean_needs_cover_and_points(void **state)
{
    double y[] = {1, NAN, 1, 1, NAN, 1}, mean = -1;

    (void)state;
    assert_int_equal(pellet_grid_mean(GRID, y, 399, 410, &mean), PELLET_E_RANGE);
    assert_int_equal(pellet_grid_mean(GRID, y, 400, 413, &mean), PELLET_E_RANGE);
    assert_int_equal(pellet_grid_mean(GRID, y, 410, 402, &mean), PELLET_E_RANGE);
    assert_int_equal(pellet_grid_mean(GRID, y, 400, 412, &mean), PELLET_E_SHORT); /* 4 of 6 */
    assert_near(mean, -1, 0);
    y[4] = 1; /* 5 of 6 */
    assert_int_equal(pellet_grid_mean(GRID, y, 400, 412, &mean), PELLET_OK);
    assert_near(mean, 1, 1e-12);
}

/* The natural spline through (0,0) (1,1) (2,0) is 1.5 x - 0.5 x^3 on its first piece (exact algebra). */
static void spline_by_hand(void **state)
{
    const double x[] = {0, 1, 2}, y[] = {0, 1, 0}, to[] = {0.5, 1, 1.5, 2.5};
    double out[4] = {-1, -1, -1, -1};

    (void)state;
    assert_int_equal(pellet_grid_resample((struct pellet_grid){3, x}, y, (struct pellet_grid){4, to}, out),
                     PELLET_OK);
    assert_near(out[0], 0.6875, 1e-12);
    assert_near(out[1], 1, 1e-12);
    assert_near(out[2], 0.6875, 1e-12);
    assert_true(isnan(out[3]));
}

static void spline_stops_at_gaps(void **state)
{
    const double x[] = {0, 1, 2, 3, 4, 5}, y[] = {0, 1, NAN, 7, NAN, 9}, to[] = {0.5, 1.5, 2, 2.5, 3, 5};
    double out[6];

    (void)state;
    assert_int_equal(pellet_grid_resample((struct pellet_grid){6, x}, y, (struct pellet_grid){6, to}, out),
                     PELLET_OK);
    assert_near(out[0], 0.5, 1e-12);
    assert_true(isnan(out[1]) && isnan(out[2]) && isnan(out[3]));
    assert_near(out[4], 7, 0);
    assert_near(out[5], 9, 0);
    out[0] = -1;
    assert_int_equal(pellet_grid_resample((struct pellet_grid){1, x}, y, (struct pellet_grid){6, to}, out),
                     PELLET_E_SHORT);
    assert_near(out[0], -1, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(window_is_inclusive),         cmocka_unit_test(spacing_is_the_mean),
        cmocka_unit_test(value_between_points),        cmocka_unit_test(mean_of_a_line),
        cmocka_unit_test(mean_needs_cover_and_points), cmocka_unit_test(spline_by_hand),
        cmocka_unit_test(spline_stops_at_gaps),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
