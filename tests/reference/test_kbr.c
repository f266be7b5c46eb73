// SPDX-License-Identifier: GPL-3.0-or-later
/* Potassium bromide against published indices, and the geometry of recipes in print. */
#include "testing.h"

#include "pellet/reference.h"

/* Computed outside this project from Li's coefficients (J. Phys. Chem. Ref. Data 5, 329 (1976)). */
static void the_index_is_lis(void **state)
{
    (void)state;
    static const double expected[][2] = {
        {4000, 1.53743}, {3000, 1.53640}, {2500, 1.53569}, {2000, 1.53459}, {1500, 1.53243},
        {1000, 1.52647}, {700, 1.51509},  {500, 1.49243},  {400, 1.46406},
    };
    for (size_t i = 0; i < sizeof expected / sizeof expected[0]; i++)
        assert_near(pellet_kbr_index(expected[i][0]), expected[i][1], 6e-6);
    assert_true(isnan(pellet_kbr_index(200.0)));
    assert_true(isnan(pellet_kbr_index(60000.0)));
    assert_true(isnan(pellet_kbr_index((double)NAN)));
}

/* A slow derivative beside the closed one. */
static void the_group_index_is_the_derivative(void **state)
{
    (void)state;
    for (double wavenumber = 400.0; wavenumber <= 4000.0; wavenumber += 100.0) {
        const double h = 0.5;
        const double slope =
            (pellet_kbr_index(wavenumber + h) - pellet_kbr_index(wavenumber - h)) / (2.0 * h);
        assert_near(pellet_kbr_group_index(wavenumber), pellet_kbr_index(wavenumber) + wavenumber * slope,
                    1e-6);
    }
}

/* n = 1.5346 at 2000 cm-1: 4.45 % a face, 91.5 % through a clear plate, 0.0387 A. */
static void a_clear_plate_loses_eight_and_a_half_percent(void **state)
{
    (void)state;
    assert_near(pellet_kbr_reflectance(2000.0), 0.0445, 5e-5);
    assert_near(pellet_kbr_plate_transmittance(2000.0), 0.915, 5e-4);
    assert_near(-log10(pellet_kbr_plate_transmittance(2000.0)), 0.0387, 5e-5);
    static const double percent[][2] = {{4000, 91.4}, {3000, 91.4}, {2000, 91.5},
                                        {1000, 91.7}, {500, 92.5},  {400, 93.1}};
    for (size_t i = 0; i < sizeof percent / sizeof percent[0]; i++)
        assert_near(100.0 * pellet_kbr_plate_transmittance(percent[i][0]), percent[i][1], 0.05);
}

/* 60 %T against the open beam is 65.6 % against a clear blank, 75 % is 82.0 %. */
static void a_limit_against_the_open_beam_is_higher_against_a_blank(void **state)
{
    (void)state;
    assert_near(60.0 / pellet_kbr_plate_transmittance(2000.0), 65.6, 0.05);
    assert_near(75.0 / pellet_kbr_plate_transmittance(2000.0), 82.0, 0.05);
}

/* 21 CFR 436.211: 200 mg on 13 mm; another published recipe has 300 mg on 16 mm: the same thickness within 1
 * %. */
static void two_published_recipes_make_the_same_thickness(void **state)
{
    (void)state;
    assert_near(pellet_die_area_cm2(13.0), 1.3273, 5e-5);
    assert_near(pellet_kbr_thickness_mm(200.0, 13.0), 0.548, 5e-4);
    assert_near(pellet_kbr_thickness_mm(300.0, 16.0), 0.543, 5e-4);
    assert_near(pellet_kbr_thickness_mm(400.0, 13.0), 1.096, 5e-4);
}

/* Loads and pressures that published directions and die makers' usual ratings imply, from g = 9.80665 m/s2:
 * 10 t on 13 mm; the 8 t/cm2 of the pharmacopoeias ("about 800 MPa") on a face of 1 cm2; and 800 MPa on 13
 * mm. The 16 000 lb/in2 of 21 CFR 436.211 on 13 mm are 14.6 kN. */
static void pressure_follows_from_load_and_die(void **state)
{
    (void)state;
    assert_near(pellet_die_pressure_mpa(10.0, 13.0), 738.8, 0.05);
    assert_near(pellet_die_pressure_mpa(8.0, 20.0 * sqrt(1.0 / 3.14159265358979)), 784.5, 0.05);
    assert_near(pellet_die_pressure_mpa(10.83, 13.0), 800.0, 0.5);
    assert_near(pellet_die_pressure_mpa(106.2 / 9.80665, 13.0), 800.0, 0.5);
    assert_near(pellet_die_pressure_mpa(14.64 / 9.80665, 13.0), 110.3, 0.05);
}

/* A published exercise: 29 fringes from 1806 to 544 cm-1, n = 1, are 0.01149 cm. */
static void fringes_give_the_published_thickness(void **state)
{
    (void)state;
    assert_near(pellet_fringe_thickness_mm((1806.0 - 544.0) / 29.0, 1.0), 0.1149, 5e-5);
    assert_near(pellet_fringe_thickness_mm(5.94, pellet_kbr_index(2000.0)), 0.548, 1e-3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_index_is_lis),
        cmocka_unit_test(the_group_index_is_the_derivative),
        cmocka_unit_test(a_clear_plate_loses_eight_and_a_half_percent),
        cmocka_unit_test(a_limit_against_the_open_beam_is_higher_against_a_blank),
        cmocka_unit_test(two_published_recipes_make_the_same_thickness),
        cmocka_unit_test(pressure_follows_from_load_and_die),
        cmocka_unit_test(fringes_give_the_published_thickness),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
