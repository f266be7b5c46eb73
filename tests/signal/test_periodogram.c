// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/curves.h"

#include "signal/periodogram.h"

/* The definition itself: what the best cosine and sine explain of the sum of squares, halved. */
static double power_at(const double *x, const double *y, size_t n, double frequency)
{
    double cc = 0, cs = 0, ss = 0, yc = 0, ys = 0;

    for (size_t i = 0; i < n; i++) {
        const double c = cos(2 * M_PI * frequency * x[i]), s = sin(2 * M_PI * frequency * x[i]);

        cc += c * c;
        cs += c * s;
        ss += s * s;
        yc += y[i] * c;
        ys += y[i] * s;
    }
    return (yc * yc * ss - 2 * yc * ys * cs + ys * ys * cc) / (cc * ss - cs * cs) / 2;
}

static void expect_the_sums(const double *x, const double *y, size_t points, double low, double high,
                            size_t n)
{
    struct signal_periodogram made;
    double most = 0;

    assert_int_equal(signal_periodogram(x, y, points, low, high, n, &made), PELLET_OK);
    assert_int_equal(made.n, n);
    for (size_t k = 0; k < n; k++)
        most = fmax(most, made.power[k]);
    for (size_t k = 0; k < n; k++)
        assert_near(made.power[k] / most, power_at(x, y, points, low + made.step * ((double)k + 0.5)) / most,
                    1e-9);
    signal_periodogram_clear(&made);
}

/* Even points, uneven ones with a gap, far from zero, few and many frequencies. */
static void it_is_the_sum_over_all_points(void **state)
{
    static const size_t trials[] = {1, 2, 3, 7, 64, 500, 1031};

    (void)state;
    for (size_t t = 0; t < sizeof trials / sizeof trials[0]; t++) {
        struct curves c = curves_make(-300, 300, 1, t + 1);

        curves_noise(&c, 1, 1);
        curves_ripple(&c, 20, 7, 1);
        expect_the_sums(c.x, c.y, c.grid.n, 1.0 / 75, 1.0 / 2.05, trials[t]);
        for (size_t i = 0; i < c.grid.n; i++)
            c.x[i] += curves_uniform(&c, -0.4, 0.4) + (i > 250 ? 90 : 0);
        expect_the_sums(c.x, c.y, c.grid.n, 1.0 / 75, 1.0 / 2.05, trials[t]);
        for (size_t i = 0; i < c.grid.n; i++)
            c.x[i] += 2200;
        expect_the_sums(c.x, c.y, c.grid.n, 1.0 / 75, 1.0 / 2.05, trials[t]);
        curves_free(&c);
    }
}

/* White noise has its variance for a mean, at every frequency. */
static void noise_has_the_power_of_its_variance(void **state)
{
    double mean[4] = {0};

    (void)state;
    for (unsigned long seed = 1; seed <= 400; seed++) {
        struct curves c = curves_make(0, 200, 1, seed);
        struct signal_periodogram made;

        curves_noise(&c, 3, 1);
        assert_int_equal(signal_periodogram(c.x, c.y, c.grid.n, 0.02, 0.48, 4, &made), PELLET_OK);
        for (size_t k = 0; k < 4; k++)
            mean[k] += made.power[k] / 400;
        signal_periodogram_clear(&made);
        curves_free(&c);
    }
    for (size_t k = 0; k < 4; k++)
        assert_near(mean[k] / 9, 1, 0.25); /* five deviations of the mean of 400 exponential numbers */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(it_is_the_sum_over_all_points),
        cmocka_unit_test(noise_has_the_power_of_its_variance),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
