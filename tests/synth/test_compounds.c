// SPDX-License-Identifier: GPL-3.0-or-later
/* The invented compounds keep what their header promises, and relatives stay relatives. */
#include "testing.h"

#include "pellet/reference.h"
#include "synth/model.h"

#include <string.h>

/* Sources agree on 0.4 to 1.5 mg/cm2; at 0.75 the strongest band is on scale and not faint. */
static void the_strongest_band_suits_a_usual_dose(void **state)
{
    (void)state;
    struct pellet_synth_instrument instrument;
    pellet_synth_instrument_init(&instrument);
    assert_true(pellet_synth_compound_count >= 11);
    for (size_t i = 0; i < pellet_synth_compound_count; i++) {
        struct pellet_synth_pellet pellet;
        pellet_synth_pellet_init(&pellet);
        pellet.compound = &pellet_synth_compounds[i];
        pellet.dose_mg_cm2 = 0.75;
        struct pellet_synth_truth truth;
        pellet_synth_truth_find(&pellet, &instrument, &truth);
        if (!(truth.strongest_height > 0.5 && truth.strongest_height < 1.2))
            fail_msg("%s: %g A", pellet.compound->id, truth.strongest_height);
        assert_ptr_equal(pellet_synth_compound_find(pellet.compound->id), pellet.compound);
        for (size_t k = 0; k < i; k++)
            assert_string_not_equal(pellet_synth_compounds[k].kind, pellet.compound->kind);
    }
    assert_null(pellet_synth_compound_find("salt-Z"));
}

/* The clear window of infrared spectroscopy holds no strong band of any organic solid (SPIE 13056 (2024)
 * finds widths of 5 cm-1 and more). */
static void bands_are_possible(void **state)
{
    (void)state;
    for (size_t i = 0; i < pellet_synth_compound_count; i++) {
        const struct pellet_synth_compound *compound = &pellet_synth_compounds[i];
        assert_true(compound->band_count <= PELLET_SYNTH_BANDS_MAX);
        for (size_t k = 0; k < compound->band_count; k++) {
            const struct pellet_synth_band *band = &compound->band[k];
            assert_true(band->at_cm1 > 400.0 && band->at_cm1 < 4000.0 && band->width_cm1 >= 5.0);
            assert_true(band->gauss >= 0.0 && band->gauss <= 1.0 && band->absorptivity > 0.0);
            assert_true(band->at_cm1 < 1960.0 || band->at_cm1 > 2040.0);
        }
    }
}

static void the_film_has_the_pharmacopoeias_bands(void **state)
{
    (void)state;
    for (size_t i = 0; i < pellet_polystyrene_band_count; i++) {
        bool found = false;
        for (size_t k = 0; k < pellet_synth_polystyrene.band_count; k++)
            found |= pellet_synth_polystyrene.band[k].at_cm1 == pellet_polystyrene_bands[i].wavenumber;
        assert_true(found);
    }
}

/* Half height at half the width, whatever the shape. */
static void the_width_is_at_half_height(void **state)
{
    (void)state;
    for (double gauss = 0.0; gauss <= 1.0; gauss += 0.25) {
        assert_near(pellet_synth_band_shape(0.0, 10.0, gauss), 1.0, 1e-12);
        assert_near(pellet_synth_band_shape(5.0, 10.0, gauss), 0.5, 1e-12);
        assert_near(pellet_synth_band_shape(-5.0, 10.0, gauss), 0.5, 1e-12);
    }
}

/* Kramers and Kronig: absorption and dispersion of a Lorentz band are one resonance: n' + i k ~
 * -1/(x + i). */
static void dispersion_belongs_to_absorption(void **state)
{
    (void)state;
    const struct pellet_synth_compound one = {"one", "test", 1.5, 1.5, 1, {{1000.0, 1.0, 20.0, 0.0}}};
    for (double nu = 950.0; nu <= 1050.0; nu += 5.0) {
        double absorptivity = 0.0, dispersion = 0.0;
        pellet_synth_compound_at(&one, nu, &absorptivity, &dispersion);
        const double x = (nu - 1000.0) / 10.0, k = absorptivity * 1500.0 * M_LN10 / (4.0 * M_PI * 1000.0);
        assert_near(dispersion, -x * k, 1e-9);
    }
}

static void a_relative_is_near_and_repeatable(void **state)
{
    (void)state;
    const struct pellet_synth_compound *from = &pellet_synth_compounds[3];
    struct pellet_synth_compound a, b, c;
    pellet_synth_compound_vary(from, 10.0, 0.3, 5, &a);
    pellet_synth_compound_vary(from, 10.0, 0.3, 5, &b);
    pellet_synth_compound_vary(from, 10.0, 0.3, 6, &c);
    assert_near(a.index, from->index, 0.02);
    assert_true(a.index == b.index && a.index != c.index);
    for (size_t i = 0; i < from->band_count; i++) {
        assert_near(a.band[i].at_cm1, from->band[i].at_cm1, 10.0);
        assert_near(a.band[i].absorptivity / from->band[i].absorptivity, 1.0, 0.3);
        assert_near(a.band[i].width_cm1 / from->band[i].width_cm1, 1.0, 0.3);
        assert_true(a.band[i].at_cm1 == b.band[i].at_cm1 && a.band[i].at_cm1 != c.band[i].at_cm1);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_strongest_band_suits_a_usual_dose),
        cmocka_unit_test(bands_are_possible),
        cmocka_unit_test(the_film_has_the_pharmacopoeias_bands),
        cmocka_unit_test(the_width_is_at_half_height),
        cmocka_unit_test(dispersion_belongs_to_absorption),
        cmocka_unit_test(a_relative_is_near_and_repeatable),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
