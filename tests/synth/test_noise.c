// SPDX-License-Identifier: GPL-3.0-or-later
/* Noise: its size at every point, its independence at native points, its correlation between them. */
#include "testing.h"

#include "synth/model.h"

#include <string.h>

#define N 60000
static double y[N];

static double correlation(size_t lag)
{
    double sum = 0.0, square = 0.0;
    for (size_t i = 0; i + lag < N; i++)
        sum += y[i] * y[i + lag];
    for (size_t i = 0; i < N; i++)
        square += y[i] * y[i];
    return sum / square;
}

/* sin(pi x)/(pi x): the correlation of white noise after an ideal interpolation. */
static double ideal(double x)
{
    return x == 0.0 ? 1.0 : sin(M_PI * x) / (M_PI * x);
}

static void the_size_and_the_correlation_are_as_asked(void **state)
{
    (void)state;
    for (unsigned fill = 1; fill <= 8; fill *= 2) {
        memset(y, 0, sizeof y);
        assert_int_equal(pellet_synth_noise_add(y, N, fill, 0.01, 7), PELLET_OK);
        double square = 0.0;
        for (size_t i = 0; i < N; i++)
            square += y[i] * y[i];
        const double independent = (double)N / fill;
        assert_near(sqrt(square / N), 0.01, 0.01 * 5.0 / sqrt(2.0 * independent));
        for (size_t lag = 1; lag <= fill; lag++)
            assert_near(correlation(lag), ideal((double)lag / fill), 0.03 + 5.0 / sqrt(independent));
    }
}

static void the_same_seed_gives_the_same_noise(void **state)
{
    (void)state;
    double a[300] = {0}, b[300] = {0}, c[300] = {0};
    pellet_synth_noise_add(a, 300, 4, 1.0, 11);
    pellet_synth_noise_add(b, 300, 4, 1.0, 11);
    pellet_synth_noise_add(c, 300, 4, 1.0, 12);
    assert_memory_equal(a, b, sizeof a);
    assert_memory_not_equal(a, c, sizeof a);
}

static void no_noise_adds_nothing(void **state)
{
    (void)state;
    double a[3] = {1.0, 2.0, 3.0};
    assert_int_equal(pellet_synth_noise_add(a, 3, 1, 0.0, 1), PELLET_OK);
    assert_int_equal(pellet_synth_noise_add(a, 0, 1, 1.0, 1), PELLET_OK);
    assert_true(a[0] == 1.0 && a[1] == 2.0 && a[2] == 3.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_size_and_the_correlation_are_as_asked),
        cmocka_unit_test(the_same_seed_gives_the_same_noise),
        cmocka_unit_test(no_noise_adds_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
