// SPDX-License-Identifier: GPL-3.0-or-later
/* Room air: strengths, positions and saturation of the lines. */
#include "testing.h"

#include "pellet/reference.h"
#include "synth/model.h"

static double beam[PELLET_SYNTH_FINE_N];

static size_t cell(double wavenumber)
{
    return (size_t)lround((wavenumber - PELLET_SYNTH_FINE_LOW) / PELLET_SYNTH_FINE_STEP);
}

static void light(const struct pellet_synth_air *air, double vapour, double co2)
{
    for (size_t i = 0; i < PELLET_SYNTH_FINE_N; i++)
        beam[i] = 1.0;
    pellet_synth_air_apply(air, vapour, co2, beam);
}

/* Integral of 1 - T over low..high, cm-1. */
static double missing(double low, double high)
{
    double sum = 0.0;
    for (size_t i = cell(low); i <= cell(high); i++)
        sum += 1.0 - beam[i];
    return sum * PELLET_SYNTH_FINE_STEP;
}

static int setup(void **state)
{
    *state = pellet_synth_air_new();
    return *state ? 0 : -1;
}

static int teardown(void **state)
{
    pellet_synth_air_free(*state);
    pellet_synth_air_free(NULL);
    return 0;
}

/* A thin column takes the sum of the lines' strengths times the column (definition of HITRAN's intensity). */
static void a_thin_column_takes_the_listed_strength(void **state)
{
    const double column = 1e15;
    double strength = 0.0;
    for (size_t i = 0; i < pellet_vapour_line_count; i++) {
        if (pellet_vapour_lines[i].wavenumber < 2000.0)
            strength += pellet_vapour_lines[i].intensity;
    }
    light(*state, column, 0.0);
    assert_near(missing(1390.0, 1920.0) / (strength * column), 1.0, 0.01);
    light(*state, 0.0, column);
    assert_near(missing(2255.0, 2415.0) / (9.5e-17 * column), 1.0, 0.06);
}

/* The isolated line 1576.19 of HITRAN: its cell is the darkest around. */
static void an_isolated_line_is_where_the_list_says(void **state)
{
    light(*state, 1e18, 0.0);
    size_t darkest = cell(1574.0);
    for (size_t i = cell(1574.0); i <= cell(1578.0); i++) {
        if (beam[i] < beam[darkest])
            darkest = i;
    }
    assert_near(pellet_synth_fine(darkest), 1576.185, 0.13);
}

/* Twice the air is the square of the transmittance only where nothing varies within a cell: averaged lines
 * saturate, so 4 x the column takes less than 4 x the light. */
static void strong_lines_saturate(void **state)
{
    light(*state, 5e18, 0.0);
    const double once = missing(1390.0, 1920.0);
    light(*state, 2e19, 0.0);
    const double four = missing(1390.0, 1920.0);
    assert_true(four > 1.2 * once && four < 3.2 * once);
}

/* CO2 at 2349: a gap at the centre between a P and an R branch with maxima near 2343..2336 and 2361..2366 for
 * 296 K (maximum of a thermal rotator at J = sqrt(kT / 2B hc) - 1/2, about 15). */
static void carbon_dioxide_has_two_branches(void **state)
{
    light(*state, 0.0, 1e16);
    double branch[2] = {0}, top[2] = {0};
    for (int r = 0; r < 2; r++) {
        for (double nu = r ? 2351.0 : 2310.0; nu < (r ? 2380.0 : 2348.0); nu += 0.25) {
            const double taken = missing(nu - 2.0, nu + 2.0);
            if (taken > branch[r]) {
                branch[r] = taken;
                top[r] = nu;
            }
        }
    }
    const double j = sqrt(296.0 / (2.0 * 1.438777 * 0.3902)) - 0.5;
    assert_near(top[0], PELLET_CO2_STRETCH - 2.0 * 0.3902 * j, 3.5);
    assert_near(top[1], PELLET_CO2_STRETCH + 2.0 * 0.3902 * (j + 1.0), 3.5);
    assert_true(missing(2348.6, 2349.6) < 0.25 * branch[0] / 4.0);
    /* The bend has its spike at 667.4. */
    assert_true(missing(666.9, 669.9) > 3.0 * missing(660.0, 663.0));
}

static void no_air_changes_nothing(void **state)
{
    light(*state, 0.0, 0.0);
    for (size_t i = 0; i < PELLET_SYNTH_FINE_N; i++)
        assert_true(beam[i] == 1.0);
    light(*state, 1e20, 1e20);
    for (size_t i = cell(800.0); i < cell(1300.0); i++)
        assert_true(beam[i] == 1.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_thin_column_takes_the_listed_strength),
        cmocka_unit_test(an_isolated_line_is_where_the_list_says),
        cmocka_unit_test(strong_lines_saturate),
        cmocka_unit_test(carbon_dioxide_has_two_branches),
        cmocka_unit_test(no_air_changes_nothing),
    };
    return cmocka_run_group_tests(tests, setup, teardown);
}
