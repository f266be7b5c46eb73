// SPDX-License-Identifier: GPL-3.0-or-later
#include "judge/fixture.h"

#include "judge/measure.h"
#include "judge/ratio.h"

static const double half = 0.5, one = 1.0, quarter = 0.25;

static void test_settings_that_both_state_must_agree(void **state)
{
    (void)state;
    struct pellet_spectrum a = fixture_spectrum(PELLET_ORDINATE_SINGLE_BEAM, fixture_constant, &one, 0.0);
    struct pellet_spectrum b = fixture_spectrum(PELLET_ORDINATE_SINGLE_BEAM, fixture_constant, &one, 0.0);
    char why[160];

    assert_false(pellet_ratio_conflict(&a, &b, why, sizeof why));
    assert_string_equal(why, "");
    a.setting[PELLET_SETTING_SCANS] = strdup("16");
    assert_false(pellet_ratio_conflict(&a, &b, why, sizeof why)); /* only one states it */
    b.setting[PELLET_SETTING_SCANS] = strdup("16.0");
    assert_false(pellet_ratio_conflict(&a, &b, why, sizeof why));
    b.setting[PELLET_SETTING_SCANS][1] = '4';
    assert_true(pellet_ratio_conflict(&a, &b, why, sizeof why));
    assert_non_null(strstr(why, "scans 16 and 14.0"));
    a.resolution = 4.0;
    b.resolution = 8.0;
    assert_true(pellet_ratio_conflict(&a, &b, why, sizeof why));
    assert_string_equal(why, "resolution 4 and 8 cm-1");
    pellet_spectrum_clear(&a);
    pellet_spectrum_clear(&b);
}

static void test_spacing_within_one_percent(void **state)
{
    (void)state;
    struct pellet_spectrum a = fixture_spectrum(PELLET_ORDINATE_SINGLE_BEAM, fixture_constant, &one, 0.0);
    struct pellet_spectrum b = fixture_spectrum(PELLET_ORDINATE_SINGLE_BEAM, fixture_constant, &one, 0.0);
    char why[160];

    for (size_t i = 0; i < b.n; i++)
        b.wavenumber[i] = 400.3 + 2.0 * 1.009 * (double)i;
    assert_false(pellet_ratio_conflict(&a, &b, why, sizeof why));
    for (size_t i = 0; i < b.n; i++)
        b.wavenumber[i] = 400.3 + 2.0 * 1.012 * (double)i;
    assert_true(pellet_ratio_conflict(&a, &b, why, sizeof why));
    pellet_spectrum_clear(&a);
    pellet_spectrum_clear(&b);
}

/* NIOSH Manual 3800: absorbance is -log10 of sample over background, point by point. */
static void test_absorbance_from_ratio(void **state)
{
    (void)state;
    struct pellet_spectrum blank =
        fixture_spectrum(PELLET_ORDINATE_SINGLE_BEAM, fixture_constant, &half, 1e-5);
    struct pellet_spectrum beam =
        fixture_spectrum(PELLET_ORDINATE_SINGLE_BEAM, fixture_constant, &quarter, 1e-5);
    struct pellet_measurement m;
    struct fixture f;

    fixture_init(&f, &beam, &blank);
    assert_int_equal(pellet_measure(&f.inputs, &m, NULL), PELLET_OK);
    assert_int_equal(m.basis, PELLET_AGAINST_BLANK);
    for (size_t i = 0; i < m.n; i++) {
        assert_near(m.transmittance[i], beam.y[i] / blank.y[i], 1e-9);
        assert_near(m.absorbance[i], -log10(beam.y[i] / blank.y[i]), 1e-9);
    }
    pellet_measurement_clear(&m);
    fixture_clear(&f);
    pellet_spectrum_clear(&beam);
    pellet_spectrum_clear(&blank);
}

static double falling_energy(double wavenumber, const void *with)
{
    (void)with;
    return wavenumber < 600.0 ? 0.0 : 1.0;
}

static double one_dark_place(double wavenumber, const void *with)
{
    (void)with;
    return wavenumber < 600.0 || (wavenumber > 990.0 && wavenumber < 1010.0) ? 0.0 : 0.5;
}

/* No light in the blank: not usable. No light through the sample: a lower bound of three sigma. */
static void test_masks(void **state)
{
    (void)state;
    struct pellet_spectrum blank = fixture_spectrum(PELLET_ORDINATE_SINGLE_BEAM, falling_energy, NULL, 1e-3);
    struct pellet_spectrum beam = fixture_spectrum(PELLET_ORDINATE_SINGLE_BEAM, one_dark_place, NULL, 1e-3);
    struct pellet_measurement m;
    struct fixture f;

    fixture_init(&f, &beam, &blank);
    assert_int_equal(pellet_measure(&f.inputs, &m, NULL), PELLET_OK);
    for (size_t i = 0; i < m.n; i++) {
        const double nu = m.wavenumber[i];
        if (nu < 600.0) {
            assert_true(m.mark[i] & PELLET_POINT_UNUSABLE);
            assert_true(isnan(m.absorbance[i]));
        } else if (nu > 990.0 && nu < 1010.0) {
            assert_true(m.mark[i] & PELLET_POINT_LOWER_BOUND);
            /* uniform noise of +-1e-3 has a sigma of 5.8e-4: three of them make 2.76 A */
            assert_near(m.absorbance[i], 2.76, 0.06);
        } else {
            assert_false(m.mark[i] & (PELLET_POINT_UNUSABLE | PELLET_POINT_LOWER_BOUND));
        }
    }
    pellet_measurement_clear(&m);
    fixture_clear(&f);
    pellet_spectrum_clear(&beam);
    pellet_spectrum_clear(&blank);
}

/*
 * A pellet that lets 60 % through against the open beam lets 65.6 % through against a clear blank, whose
 * faces alone take 8.5 %: n = 1.5346 at 2000 cm-1 (H. H. Li, J. Phys. Chem. Ref. Data 5, 329, 1976).
 */
static void test_sixty_percent_without_compensation(void **state)
{
    (void)state;
    const double clear = 0.915, pellet = 0.60;
    struct pellet_spectrum open = fixture_spectrum(PELLET_ORDINATE_SINGLE_BEAM, fixture_constant, &one, 1e-5);
    struct pellet_spectrum blank =
        fixture_spectrum(PELLET_ORDINATE_SINGLE_BEAM, fixture_constant, &clear, 1e-5);
    struct pellet_spectrum beam =
        fixture_spectrum(PELLET_ORDINATE_SINGLE_BEAM, fixture_constant, &pellet, 1e-5);
    struct pellet_measurement m;
    struct fixture f;
    double mean;

    fixture_init(&f, &beam, &blank);
    f.open_beam = (struct pellet_source){.file = "open.csv", .role = PELLET_OPEN_BEAM, .spectrum = &open};
    f.inputs.open_beam = &f.open_beam;
    assert_int_equal(pellet_measure(&f.inputs, &m, NULL), PELLET_OK);
    const struct pellet_grid grid = {m.n, m.wavenumber};
    assert_int_equal(pellet_grid_mean(grid, m.transmittance, 1950.0, 2050.0, &mean), PELLET_OK);
    assert_near(mean, 0.656, 0.001);
    assert_int_equal(pellet_grid_mean(grid, m.absolute, 1950.0, 2050.0, &mean), PELLET_OK);
    assert_near(mean, 0.600, 0.001);
    pellet_measurement_clear(&m);
    fixture_clear(&f);
    pellet_spectrum_clear(&beam);
    pellet_spectrum_clear(&blank);
    pellet_spectrum_clear(&open);
}

/* A file ratioed elsewhere against the open beam is divided by the blank's own transmittance. */
static void test_ratioed_against_open_beam(void **state)
{
    (void)state;
    struct pellet_spectrum open = fixture_spectrum(PELLET_ORDINATE_SINGLE_BEAM, fixture_constant, &one, 1e-5);
    struct pellet_spectrum blank =
        fixture_spectrum(PELLET_ORDINATE_SINGLE_BEAM, fixture_constant, &half, 1e-5);
    struct pellet_spectrum beam =
        fixture_spectrum(PELLET_ORDINATE_TRANSMITTANCE, fixture_constant, &quarter, 1e-5);
    struct pellet_measurement m;
    struct fixture f;

    fixture_init(&f, &beam, &blank);
    f.open_beam = (struct pellet_source){.file = "open.csv", .role = PELLET_OPEN_BEAM, .spectrum = &open};
    f.inputs.open_beam = &f.open_beam;
    f.settings.ratioed_against = PELLET_RATIOED_OPEN_BEAM;
    assert_int_equal(pellet_measure(&f.inputs, &m, NULL), PELLET_OK);
    assert_int_equal(m.basis, PELLET_AGAINST_BLANK);
    assert_false(m.single_beams);
    assert_near(m.transmittance[900], 0.5, 1e-3);
    assert_near(m.absolute[900], 0.25, 1e-3);
    pellet_measurement_clear(&m);

    f.settings.ratioed_against = PELLET_RATIOED_UNKNOWN;
    assert_int_equal(pellet_measure(&f.inputs, &m, NULL), PELLET_OK);
    assert_int_equal(m.basis, PELLET_AGAINST_UNKNOWN);
    assert_near(m.transmittance[900], 0.25, 1e-3);
    pellet_measurement_clear(&m);
    fixture_clear(&f);
    pellet_spectrum_clear(&beam);
    pellet_spectrum_clear(&blank);
    pellet_spectrum_clear(&open);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_settings_that_both_state_must_agree),
        cmocka_unit_test(test_spacing_within_one_percent),
        cmocka_unit_test(test_absorbance_from_ratio),
        cmocka_unit_test(test_masks),
        cmocka_unit_test(test_sixty_percent_without_compensation),
        cmocka_unit_test(test_ratioed_against_open_beam),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
