// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/curves.h"

#include "signal/wave.h"

/* What trimming leaves: the points of a dip go, those of a ripple stay, and the order of the rest is kept. */
static void trimming_takes_what_stands_out(void **state)
{
    struct curves c = curves_make(2000, 2200, 1, 3);
    struct signal_wave wave;

    (void)state;
    curves_noise(&c, 1e-3, 1);
    curves_ripple(&c, 0.01, 9, 0);
    curves_add(&c, curves_gauss, -0.3, 2100, 10);
    assert_int_equal(signal_wave_start(c.grid, c.y, 2000, 2200, 12, &wave), PELLET_OK);
    assert_int_equal(wave.all, 201);
    assert_int_equal(signal_wave_fit(&wave), PELLET_OK);
    assert_int_equal(signal_wave_trim(&wave), PELLET_OK);
    assert_true(wave.n < 201 && wave.n > 175);
    for (size_t i = 0; i < wave.n; i++) {
        assert_true(fabs(wave.x[i] * wave.scale) > 4);
        assert_true(i == 0 || wave.x[i] > wave.x[i - 1]);
    }
    signal_wave_clear(&wave);
    curves_free(&c);
}

/* A quadratic and a cosine of a given frequency come back exactly. */
static void the_fit_is_exact(void **state)
{
    struct curves c = curves_make(2000, 2200, 1, 1);
    struct signal_wave wave;

    (void)state;
    for (size_t i = 0; i < c.grid.n; i++) {
        const double x = (c.x[i] - 2100) / 100;
        c.y[i] = 1 - 2 * x + 0.5 * x * x + 0.3 * cos(2 * M_PI * (c.x[i] - 2100) / 17);
    }
    assert_int_equal(signal_wave_start(c.grid, c.y, 2000, 2200, 12, &wave), PELLET_OK);
    wave.count = 1;
    wave.frequency[0] = 1.0 / 17;
    assert_int_equal(signal_wave_fit(&wave), PELLET_OK);
    assert_near(wave.coefficient[0], 1, 1e-9);
    assert_near(wave.coefficient[1], -2, 1e-9);
    assert_near(wave.coefficient[2], 0.5, 1e-9);
    assert_near(wave.coefficient[3], 0.3, 1e-9);
    assert_near(wave.coefficient[4], 0, 1e-9);
    assert_near(wave.ssr, 0, 1e-15);
    signal_wave_clear(&wave);
    curves_free(&c);
}

/* Points that alternate are opposite, white ones nothing, and those after zero-filling z times alike by z. */
static void correlation_tells_the_filling(void **state)
{
    static const size_t filled[] = {1, 2, 4};

    (void)state;
    for (size_t k = 0; k < 3; k++) {
        double alike = 0;

        for (unsigned long seed = 1; seed <= 40; seed++) {
            struct curves c = curves_make(2000, 2400, 1, seed);
            struct signal_wave wave;

            curves_noise(&c, 1, filled[k]);
            assert_int_equal(signal_wave_start(c.grid, c.y, 2000, 2400, 12, &wave), PELLET_OK);
            assert_int_equal(signal_wave_fit(&wave), PELLET_OK);
            alike += signal_wave_alike(&wave) / 40;
            signal_wave_clear(&wave);
            curves_free(&c);
        }
        assert_near(alike / (double)filled[k], 1, 0.3);
    }
    struct curves c = curves_make(2000, 2400, 1, 1);
    struct signal_wave wave;

    for (size_t i = 0; i < c.grid.n; i++)
        c.y[i] = i % 2 ? 1 : -1;
    assert_int_equal(signal_wave_start(c.grid, c.y, 2000, 2400, 12, &wave), PELLET_OK);
    assert_int_equal(signal_wave_fit(&wave), PELLET_OK);
    assert_near(signal_wave_correlation(&wave), -1, 0.01);
    assert_near(signal_wave_alike(&wave), 1, 0);
    signal_wave_clear(&wave);
    curves_free(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(trimming_takes_what_stands_out),
        cmocka_unit_test(the_fit_is_exact),
        cmocka_unit_test(correlation_tells_the_filling),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
