// SPDX-License-Identifier: GPL-3.0-or-later
/* Liquid water against the printed optical constants, molar absorptivities and GSL's own interpolation. */
#include "testing.h"

#include "pellet/reference.h"

#include <gsl/gsl_interp.h>
#include <string.h>

/* Molar absorptivity (L/mol/cm) of pure water at 25 C: decadic coefficient over 55.34 mol/L. */
static double molar(double wavenumber)
{
    const double moles_per_litre = 1000.0 * PELLET_WATER_DENSITY / PELLET_WATER_MOLAR_MASS;
    return pellet_water_decadic(wavenumber) / moles_per_litre;
}

/* Hale and Querry 1973: k is 0.298 at 2.95 um and 0.131 at 6.10 um. */
static void stretch_and_bend_have_the_printed_strength(void **state)
{
    (void)state;
    assert_near(pellet_water_k(1e4 / 2.95), 0.298, 1e-12);
    assert_near(pellet_water_k(1e4 / 6.10), 0.131, 1e-12);
    assert_near(pellet_water_decadic(1e4 / 2.95), 5513.0, 1.0);
    assert_near(pellet_water_decadic(1e4 / 6.10), 1172.0, 1.0);
    assert_near(molar(1e4 / 2.95), 99.6, 0.1);
    assert_near(molar(1e4 / 6.10), 21.2, 0.1);
    assert_near(pellet_water_decadic(1e4 / 2.95) / pellet_water_decadic(1e4 / 6.10), 4.7, 0.05);
}

/* Venyaminov and Prendergast 1997 measured solutions, not constants: an independent strength (from
 * memory). */
static void the_three_bands_agree_with_transmission_measurements(void **state)
{
    (void)state;
    for (size_t i = 0; i < pellet_water_band_count; i++) {
        const struct pellet_water_band *band = &pellet_water_bands[i];
        assert_near(molar(band->wavenumber) / band->molar_absorptivity, 1.0, 0.04);
    }
    assert_near(pellet_water_bands[2].molar_absorptivity / pellet_water_bands[0].molar_absorptivity, 4.8,
                0.01);
}

/* 30 ug/cm2 make 0.166 A at 3404 and 0.035 A at 1643.5 cm-1 by Venyaminov and Prendergast. */
static void thirty_micrograms_give_the_bands_of_the_routine_limit(void **state)
{
    (void)state;
    assert_near(30.0 * pellet_water_absorbance(3404.0), 0.166, 0.004);
    assert_near(30.0 * pellet_water_absorbance(1643.5), 0.035, 0.001);
    assert_near(0.10 / pellet_water_absorbance(3404.0), 18.0, 0.4);
    assert_near(0.10 / pellet_water_absorbance(1643.5), 86.6, 2.5);
}

static void outside_the_table_there_is_no_water(void **state)
{
    (void)state;
    const double outside[] = {0.0, 399.99, 3846.2, 4000.0, (double)NAN, (double)INFINITY, -1.0};
    for (size_t i = 0; i < sizeof outside / sizeof outside[0]; i++) {
        assert_true(pellet_water_k(outside[i]) == 0.0);
        assert_true(pellet_water_absorbance(outside[i]) == 0.0);
        assert_true(isnan(pellet_water_n(outside[i])));
    }
    assert_near(pellet_water_k(400.0), 0.356, 1e-12);
    assert_near(pellet_water_n(1e4 / 2.6), 1.242, 1e-12);
}

/* The same interpolation by the library that is known for it. */
static void the_curve_is_steffens(void **state)
{
    (void)state;
    const size_t n = pellet_water_row_count;
    double x[128], k[128], index[128];
    assert_true(n < 128);
    for (size_t i = 0; i < n; i++) {
        const struct pellet_water_row *row = &pellet_water_rows[n - 1 - i];
        x[i] = 1e4 / row->wavelength_um;
        k[i] = row->k;
        index[i] = row->n;
    }
    gsl_interp *of_k = gsl_interp_alloc(gsl_interp_steffen, n),
               *of_n = gsl_interp_alloc(gsl_interp_steffen, n);
    gsl_interp_init(of_k, x, k, n);
    gsl_interp_init(of_n, x, index, n);
    for (double at = 400.0; at < 3846.0; at += 0.37) {
        assert_near(pellet_water_k(at), gsl_interp_eval(of_k, x, k, at, NULL), 1e-12);
        assert_near(pellet_water_n(at), gsl_interp_eval(of_n, x, index, at, NULL), 1e-12);
    }
    gsl_interp_free(of_k);
    gsl_interp_free(of_n);
}

/* Every row against the file it was carried from. */
static void the_rows_are_the_files(void **state)
{
    (void)state;
    char path[4096], line[256];
    if (!testing_shared("data/reference/water_liquid_hale_querry_1973.csv", path, sizeof path))
        skip();
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    size_t row = 0;
    while (fgets(line, sizeof line, file)) {
        if (line[0] < '0' || line[0] > '9')
            continue;
        double wavelength = 0.0, wavenumber = 0.0, n = 0.0, k = 0.0;
        assert_int_equal(sscanf(line, "%lf,%lf,%lf,%lf", &wavelength, &wavenumber, &n, &k), 4);
        assert_true(row < pellet_water_row_count);
        assert_true(pellet_water_rows[row].wavelength_um == wavelength);
        assert_true(pellet_water_rows[row].n == n);
        assert_true(pellet_water_rows[row].k == k);
        row++;
    }
    fclose(file);
    assert_int_equal(row, pellet_water_row_count);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(stretch_and_bend_have_the_printed_strength),
        cmocka_unit_test(the_three_bands_agree_with_transmission_measurements),
        cmocka_unit_test(thirty_micrograms_give_the_bands_of_the_routine_limit),
        cmocka_unit_test(outside_the_table_there_is_no_water),
        cmocka_unit_test(the_curve_is_steffens),
        cmocka_unit_test(the_rows_are_the_files),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
