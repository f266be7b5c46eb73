// SPDX-License-Identifier: GPL-3.0-or-later
#include "testing.h"

#include <string.h>

#include "signal/least.h"

/* By hand: the line through (0,1) (1,3) (2,4) (3,4) is 1.5 + x; it leaves 0.25 + 0.25 + 0.25 + 0.25 = 1. */
static void a_line_by_hand(void **state)
{
    static const double y[] = {1, 3, 4, 4};
    struct signal_least sums;
    double x[2], inverse[4], ssr;

    (void)state;
    signal_least_start(&sums, 2);
    for (int i = 0; i < 4; i++)
        signal_least_add(&sums, (double[]){1, i}, y[i], 1);
    signal_least_add(&sums, (double[]){1, 100}, -50, 0); /* no weight, no say */
    assert_int_equal(signal_least_solve(&sums, x, inverse, &ssr), PELLET_OK);
    assert_near(x[0], 1.5, 1e-12);
    assert_near(x[1], 1.0, 1e-12);
    assert_near(ssr, 1.0, 1e-12);
    assert_near(inverse[0], 0.7, 1e-12); /* (X'X)^-1 = [14 -6; -6 4] / 20 */
    assert_near(inverse[1], -0.3, 1e-12);
    assert_near(inverse[3], 0.2, 1e-12);
}

/* A weight of 2 is the point twice. */
static void weights_count_points(void **state)
{
    struct signal_least one, two;
    double x[2], z[2];

    (void)state;
    signal_least_start(&one, 2);
    signal_least_start(&two, 2);
    for (int i = 0; i < 5; i++) {
        const double row[] = {1, i}, y = i * i;
        signal_least_add(&one, row, y, i == 3 ? 2 : 1);
        signal_least_add(&two, row, y, 1);
        if (i == 3)
            signal_least_add(&two, row, y, 1);
    }
    assert_int_equal(signal_least_solve(&one, x, NULL, NULL), PELLET_OK);
    assert_int_equal(signal_least_solve(&two, z, NULL, NULL), PELLET_OK);
    assert_near(x[0], z[0], 1e-12);
    assert_near(x[1], z[1], 1e-12);
}

/* Many rows at once are the same as one after the other, whatever their number, weights and stride. */
static void many_rows_are_one_after_the_other(void **state)
{
    enum { ROWS = 11, STRIDE = 5, TERMS = 3 };
    double row[ROWS * STRIDE], y[ROWS], weight[ROWS];

    (void)state;
    for (size_t i = 0; i < ROWS; i++) {
        const double x = 0.3 * (double)i - 1;
        const double all[STRIDE] = {1, x, x * x, 1e9, -1e9};
        memcpy(row + i * STRIDE, all, sizeof all);
        y[i] = sin(3 * x);
        weight[i] = i % 4 == 2 ? 0 : 0.5 + x * x;
    }
    for (size_t n = TERMS + 1; n <= ROWS; n++) {
        for (size_t weighted = 0; weighted < 2; weighted++) {
            struct signal_least one, all;
            double x[TERMS], z[TERMS];

            signal_least_start(&one, TERMS);
            signal_least_start(&all, TERMS);
            for (size_t i = 0; i < n; i++)
                signal_least_add(&one, row + i * STRIDE, y[i], weighted ? weight[i] : 1);
            signal_least_add_all(&all, row, STRIDE, y, weighted ? weight : NULL, n);
            assert_int_equal(all.rows, one.rows);
            assert_near(all.btb, one.btb, 1e-12);
            assert_int_equal(signal_least_solve(&one, x, NULL, NULL), PELLET_OK);
            assert_int_equal(signal_least_solve(&all, z, NULL, NULL), PELLET_OK);
            for (size_t k = 0; k < TERMS; k++)
                assert_near(z[k], x[k], 1e-10);
        }
    }
}

static void what_has_no_answer_says_so(void **state)
{
    struct signal_least sums;
    double x[2] = {-1, -1};

    (void)state;
    signal_least_start(&sums, 2);
    signal_least_add(&sums, (double[]){1, 1}, 1, 1);
    assert_int_equal(signal_least_solve(&sums, x, NULL, NULL), PELLET_E_SHORT);
    signal_least_add(&sums, (double[]){2, 2}, 3, 1);
    signal_least_add(&sums, (double[]){3, 3}, 3, 1);
    assert_int_equal(signal_least_solve(&sums, x, NULL, NULL), PELLET_E_FIT);
    assert_near(x[0], -1, 0);
}

/*
 * By hand: for the line above, J has the rows (1, i), i = 0..3, so that J^T J = [4 6; 6 14] with the
 * determinant 20 and the inverse [0.7 -0.3; -0.3 0.2]. Columns that depend on each other have none.
 */
static void the_covariance_of_a_line(void **state)
{
    gsl_matrix *jacobian = gsl_matrix_alloc(4, 2), *covariance = gsl_matrix_alloc(2, 2);

    (void)state;
    assert_non_null(jacobian);
    assert_non_null(covariance);
    for (size_t i = 0; i < 4; i++) {
        gsl_matrix_set(jacobian, i, 0, 1);
        gsl_matrix_set(jacobian, i, 1, (double)i);
    }
    assert_true(signal_covariance(jacobian, covariance));
    assert_near(gsl_matrix_get(covariance, 0, 0), 0.7, 1e-12);
    assert_near(gsl_matrix_get(covariance, 0, 1), -0.3, 1e-12);
    assert_near(gsl_matrix_get(covariance, 1, 0), -0.3, 1e-12);
    assert_near(gsl_matrix_get(covariance, 1, 1), 0.2, 1e-12);
    for (size_t i = 0; i < 4; i++)
        gsl_matrix_set(jacobian, i, 1, 2);
    assert_false(signal_covariance(jacobian, covariance));
    gsl_matrix_free(jacobian);
    gsl_matrix_free(covariance);
}

static void the_median(void **state)
{
    double odd[] = {3, 1, 2}, even[] = {4, 1, 3, 2};

    (void)state;
    assert_near(signal_median(odd, 3), 2, 0);
    assert_near(signal_median(even, 4), 2.5, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_line_by_hand),
        cmocka_unit_test(weights_count_points),
        cmocka_unit_test(many_rows_are_one_after_the_other),
        cmocka_unit_test(what_has_no_answer_says_so),
        cmocka_unit_test(the_covariance_of_a_line),
        cmocka_unit_test(the_median),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
