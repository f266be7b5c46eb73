// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/curves.h"

#include "signal/prominence.h"

/* The definition, walked out point by point: up to the next higher point on each side, the lower of
 * the lows. */
static double slow_prominence(const double *y, size_t n, size_t at)
{
    double left = y[at], right = y[at];

    for (size_t i = at; i-- > 0 && !(y[i] > y[at]);)
        left = fmin(left, y[i]);
    for (size_t i = at + 1; i < n && !(y[i] > y[at]); i++)
        right = fmin(right, y[i]);
    return y[at] - fmax(left, right);
}

static void it_is_the_definition(void **state)
{
    (void)state;
    for (unsigned long seed = 1; seed <= 20; seed++) {
        struct curves c = curves_make(0, 300, 1, seed);
        struct signal_maximum *maximum = NULL;
        size_t count = 0, expected = 0;

        curves_noise(&c, 1, seed % 3 + 1);
        assert_int_equal(signal_maxima(c.y, c.grid.n, &maximum, &count), PELLET_OK);
        for (size_t i = 1; i + 1 < c.grid.n; i++)
            expected += c.y[i] > c.y[i - 1] && c.y[i] > c.y[i + 1];
        assert_int_equal(count, expected);
        for (size_t k = 0; k < count; k++)
            assert_near(maximum[k].prominence, slow_prominence(c.y, c.grid.n, maximum[k].at), 1e-12);
        free(maximum);
        curves_free(&c);
    }
}

static void level_tops_and_gaps(void **state)
{
    const double level[] = {0, 1, 1, 1, 0}, gap[] = {0, 2, 1, NAN, 1, 3, 0}, end[] = {3, 2, 1};
    struct signal_maximum *maximum = NULL;
    size_t count = 0;

    (void)state;
    assert_int_equal(signal_maxima(level, 5, &maximum, &count), PELLET_OK);
    assert_int_equal(count, 1);
    assert_int_equal(maximum->at, 2);
    free(maximum);
    assert_int_equal(signal_maxima(gap, 7, &maximum, &count), PELLET_OK);
    assert_int_equal(count, 2);
    assert_near(maximum[0].prominence, 1, 1e-12);
    assert_near(maximum[1].prominence, 2, 1e-12);
    free(maximum);
    assert_int_equal(signal_maxima(end, 3, &maximum, &count), PELLET_OK);
    assert_int_equal(count, 0);
    assert_null(maximum);
    assert_int_equal(signal_maxima(end, 2, &maximum, &count), PELLET_OK);
    assert_int_equal(count, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(it_is_the_definition),
        cmocka_unit_test(level_tops_and_gaps),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
