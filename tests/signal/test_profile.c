// SPDX-License-Identifier: GPL-3.0-or-later
#include "testing.h"

#include "pellet/signal.h"

#include <math.h>

#define N    401
#define STEP 1.0

/* (a + d x)/(1 + x^2) at 1200 with half width 9 on a sloping line; uneven noise of no more than `noise`. */
static void make(double *nu, double *y, double a, double d, double noise)
{
    uint64_t seed = 3;

    for (size_t i = 0; i < N; i++) {
        nu[i] = 1000.0 + STEP * (double)i;
        const double x = (nu[i] - 1200.0) / 9.0;
        seed = seed * 6364136223846793005u + 1442695040888963407u;
        const double luck = (double)(seed >> 11) / 9007199254740992.0 - 0.5;
        y[i] = 0.4 + 2e-4 * (nu[i] - 1000.0) + (a + d * x) / (1.0 + x * x) + 2.0 * noise * luck;
    }
}

/* Up, down, to either side: the parameters come back, also where the extreme is not at the centre. */
static void a_profile_of_either_sign_comes_back(void **state)
{
    static const double row[][2] = {{0.1, 0.0},   {-0.1, 0.0}, {0.1, 0.05}, {-0.1, -0.05},
                                    {-0.04, 0.1}, {0.04, 0.1}, {0.0, -0.1}};
    double nu[N], y[N];

    (void)state;
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        struct pellet_profile profile;
        make(nu, y, row[i][0], row[i][1], 0.0);
        assert_int_equal(
            pellet_profile_fit((struct pellet_grid){N, nu}, y, 1200.0 + (i % 2 ? 6.0 : -6.0), 20.0, &profile),
            PELLET_OK);
        assert_near(profile.a, row[i][0], 0.004);
        assert_near(profile.d, row[i][1], 0.004);
        assert_near(profile.at_cm1, 1200.0, 0.4);
        assert_near(profile.gamma_cm1, 9.0, 0.5);
        assert_true(profile.rms < 1e-3 && profile.rms <= profile.rms_even);
        if (row[i][1] == 0.0)
            assert_near(profile.rms_even, profile.rms, 1e-3);
        else
            assert_true(profile.rms_even > 3.0 * profile.rms);
    }
}

/* Noise alone makes an odd part, but one that is not worth much. */
static void noise_is_no_odd_part(void **state)
{
    double nu[N], y[N];
    struct pellet_profile profile;

    (void)state;
    make(nu, y, -0.03, 0.0, 0.004);
    assert_int_equal(pellet_profile_fit((struct pellet_grid){N, nu}, y, 1202.0, 16.0, &profile), PELLET_OK);
    assert_true(profile.rms_even < 1.1 * profile.rms);
    assert_near(profile.a, -0.03, 0.006);
}

static void gaps_are_left_out_and_too_little_is_said(void **state)
{
    double nu[N], y[N];
    struct pellet_profile profile = {.points = 7};

    (void)state;
    make(nu, y, 0.1, -0.1, 0.0);
    for (size_t i = 0; i < 195; i++)
        y[i] = NAN;
    assert_int_equal(pellet_profile_fit((struct pellet_grid){N, nu}, y, 1200.0, 20.0, &profile), PELLET_OK);
    assert_near(profile.d, -0.1, 0.01);
    assert_int_equal(profile.points, 56);
    for (size_t i = 195; i < 245; i++)
        y[i] = NAN;
    assert_int_equal(pellet_profile_fit((struct pellet_grid){N, nu}, y, 1200.0, 20.0, &profile),
                     PELLET_E_SHORT);
    assert_int_equal(pellet_profile_fit((struct pellet_grid){N, nu}, y, 1200.0, 0.0, &profile),
                     PELLET_E_RANGE);
    assert_int_equal(profile.points, 56);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_profile_of_either_sign_comes_back),
        cmocka_unit_test(noise_is_no_odd_part),
        cmocka_unit_test(gaps_are_left_out_and_too_little_is_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
