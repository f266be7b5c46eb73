// SPDX-License-Identifier: GPL-3.0-or-later
/* The pellet at one wavenumber: recipes in print, faces, water, Beer's series and light that goes beside. */
#include "testing.h"

#include "pellet/reference.h"
#include "synth/model.h"

static double absorbance(const struct pellet_synth_pellet *pellet, double wavenumber)
{
    struct pellet_synth_parts parts;
    pellet_synth_parts_at(pellet, 0.5, wavenumber, &parts);
    return parts.sample + parts.haze + parts.water + parts.residue + parts.impurity;
}

static struct pellet_synth_pellet clear_pellet(void)
{
    struct pellet_synth_pellet pellet;
    pellet_synth_pellet_init(&pellet);
    pellet.haze = 0.0;
    pellet.water_ug_cm2 = 0.0;
    pellet.fringes = 0.0;
    return pellet;
}

/* 21 CFR 436.211: 2, 1, 0.5 mg in 200 mg KBr on 13 mm are 0.990, 0.498, 0.249 % by mass and 1.507, 0.753,
 * 0.377 mg/cm2 of the whole pressing; Beer-Lambert makes 1 : 0.5 : 0.25 of the absorbance. */
static void the_regulations_series_is_linear(void **state)
{
    (void)state;
    static const double mg[] = {2.0, 1.0, 0.5}, fraction[] = {0.990, 0.498, 0.249},
                        dose[] = {1.507, 0.753, 0.377};
    double a[3];
    for (size_t i = 0; i < 3; i++) {
        struct pellet_synth_pellet pellet = clear_pellet();
        pellet.compound = pellet_synth_compound_find("sugar-A");
        const double share = mg[i] / (200.0 + mg[i]);
        assert_near(100.0 * share, fraction[i], 1e-3);
        pellet_synth_pellet_press(&pellet, share, 200.0 + mg[i], 13.0);
        assert_near(pellet.dose_mg_cm2, dose[i], 1e-3);
        assert_near(pellet.thickness_mm, 0.548, 1e-3);
        a[i] = absorbance(&pellet, 1034.0);
    }
    assert_near(a[1] / a[0], 0.5, 1e-9);
    assert_near(a[2] / a[0], 0.25, 1e-9);
}

/* A clear plate without fringes lets 91.5 % through at 2000 cm-1 and 93.15 % at 400; Li's index. */
static void faces_reflect_as_a_plate_does(void **state)
{
    (void)state;
    const struct pellet_synth_pellet pellet = clear_pellet();
    assert_near(pellet_synth_transmit(&pellet, 2000.0, 0.0, true), 0.915, 5e-4);
    assert_near(pellet_synth_transmit(&pellet, 400.0, 0.0, true), 0.9315, 5e-5);
    /* An absorbing plate: (1 - R)^2 t / (1 - R^2 t^2), within 2e-4 of a plain product. */
    assert_near(pellet_synth_transmit(&pellet, 2000.0, 1.0, true), (1 - 0.0445) * (1 - 0.0445) * 0.1, 1e-4);
}

/* Airy: perfect fringes of KBr at 2000 cm-1 swing from 83.7 to 100 %, spaced by 1/(2 n_g d). */
static void perfect_fringes_are_airys(void **state)
{
    (void)state;
    struct pellet_synth_pellet pellet = clear_pellet();
    pellet.fringes = 1.0;
    pellet.roughness_um = 0.0;
    pellet.thickness_mm = 0.548;
    double low = 2.0, high = 0.0, maxima[2] = {0};
    size_t found = 0;
    for (double nu = 1990.0; nu < 2010.0; nu += 0.002) {
        const double t = pellet_synth_transmit(&pellet, nu, 0.0, true);
        low = fmin(low, t);
        high = fmax(high, t);
        const double before = pellet_synth_transmit(&pellet, nu - 0.002, 0.0, true),
                     after = pellet_synth_transmit(&pellet, nu + 0.002, 0.0, true);
        if (found < 2 && t > before && t >= after)
            maxima[found++] = nu;
    }
    assert_near(low, 0.837, 5e-4);
    assert_near(high, 1.0, 1e-6);
    assert_near(log10(high / low), 0.077, 5e-4);
    assert_near(maxima[1] - maxima[0], 5.94, 0.05);
    assert_near(pellet_fringe_thickness_mm(maxima[1] - maxima[0], pellet_kbr_group_index(2000.0)), 0.548,
                1e-3);
}

/* Any coherence keeps the mean over a fringe. */
static void fringes_do_not_change_the_mean(void **state)
{
    (void)state;
    struct pellet_synth_pellet pellet = clear_pellet();
    pellet.fringes = 0.5;
    const double period = 1.0 / (2.0 * pellet_kbr_group_index(2000.0) * 0.1 * pellet.thickness_mm);
    double sum = 0.0;
    const int n = 1000;
    for (int i = 0; i < n; i++)
        sum += pellet_synth_transmit(&pellet, 2000.0 + period * i / n, 0.1, true);
    assert_near(sum / n, pellet_synth_transmit(&pellet, 2000.0, 0.1, false), 2e-5);
}

/* Hale and Querry: 30 ug/cm2 are 0.166 A in the stretch and 0.035 A in the bend. Width keeps the area. */
static void water_has_the_tabulated_strength(void **state)
{
    (void)state;
    struct pellet_synth_pellet pellet = clear_pellet();
    pellet.water_ug_cm2 = 30.0;
    pellet.water_shift_cm1 = 0.0;
    assert_near(absorbance(&pellet, 1e4 / 2.95), 0.166, 1e-3);
    assert_near(absorbance(&pellet, 1e4 / 6.10), 0.0353, 2e-4);
    double area[2] = {0}, moment[2] = {0};
    for (int wide = 0; wide < 2; wide++) {
        pellet.water_width = wide ? 1.2 : 1.0;
        pellet.water_shift_cm1 = wide ? 40.0 : 0.0;
        for (double nu = 2900.0; nu < 4000.0; nu += 1.0) {
            const double a = absorbance(&pellet, nu);
            area[wide] += a;
            moment[wide] += a * nu;
        }
    }
    assert_near(area[1] / area[0], 1.0, 0.02);
    assert_near(moment[1] / area[1] - moment[0] / area[0], 40.0, 8.0);
}

/* Light beside the pellet is a floor under every band; shade takes its share of everything. */
static void leak_and_shade_act_on_intensity(void **state)
{
    (void)state;
    struct pellet_synth_pellet pellet = clear_pellet();
    pellet.leak = 0.03;
    assert_near(pellet_synth_transmit(&pellet, 1000.0, 20.0, true), 0.03, 1e-12);
    pellet.shaded = 0.5;
    assert_near(pellet_synth_transmit(&pellet, 1000.0, 20.0, true), 0.015, 1e-12);
}

static void haze_is_what_it_says_at_2000(void **state)
{
    (void)state;
    struct pellet_synth_pellet pellet = clear_pellet();
    pellet.haze = 0.2;
    pellet.haze_um = 0.2;
    assert_near(absorbance(&pellet, 2000.0), 0.2, 1e-12);
    assert_true(absorbance(&pellet, 4000.0) > 3.0 * 0.2);
    pellet.haze_um = 2.0;
    assert_near(absorbance(&pellet, 3900.0), 0.2, 0.04);
}

/* The truth for a pellet whose answer is known in closed form. */
static void the_truth_is_what_was_put_in(void **state)
{
    (void)state;
    struct pellet_synth_pellet pellet = clear_pellet();
    struct pellet_synth_instrument instrument;
    pellet_synth_instrument_init(&instrument);
    static const struct pellet_synth_compound one = {"one", "test", 1.5,
                                                     1.535, 1,      {{1000.3, 0.8, 20.0, 0.0}}};
    pellet.compound = &one;
    pellet.dose_mg_cm2 = 0.5;
    pellet.grain_um = 0.05;
    pellet.impurity_count = 1;
    pellet.impurity[0] = (struct pellet_synth_impurity){1384.0, 0.03, 8.0};
    struct pellet_synth_truth truth;
    pellet_synth_truth_find(&pellet, &instrument, &truth);
    assert_near(truth.strongest_cm1, 1000.3, 0.05);
    assert_near(truth.strongest_height, 0.4, 0.01);
    assert_near(truth.strongest_top, 0.4 - log10(pellet_kbr_plate_transmittance(1000.0)), 0.012);
    assert_near(truth.transmittance_2000, 0.915, 1e-3);
    assert_near(truth.tilt,
                log10(pellet_kbr_plate_transmittance(2000.0) / pellet_kbr_plate_transmittance(3900.0)), 1e-4);
    assert_near(truth.residue_height, 0.0, 0.0);
    pellet.compound = NULL;
    pellet_synth_truth_find(&pellet, &instrument, &truth);
    assert_true(isnan(truth.strongest_cm1) && isnan(truth.strongest_height) && isnan(truth.strongest_top));
}

/*
 * Christiansen: with grains above the host's index the band leans, and to first order by -d/a = asymmetry in
 * (a + d x)/(1 + x^2). The two flanks at x = +-1 show d/a as (A(-1) - A(1)) / (A(-1) + A(1)).
 */
static void bands_of_coarse_grains_lean(void **state)
{
    (void)state;
    struct pellet_synth_instrument instrument;
    pellet_synth_instrument_init(&instrument);
    for (int sign = -1; sign <= 1; sign += 2) {
        const struct pellet_synth_compound one = {
            "one", "test", 1.5, 1.5265 + 0.06 * sign, 1, {{1000.0, 0.05, 20.0, 0.0}}};
        struct pellet_synth_pellet pellet = clear_pellet();
        pellet.compound = &one;
        pellet.dose_mg_cm2 = 0.5;
        pellet.grain_um = 2.0;
        struct pellet_synth_truth truth;
        pellet_synth_truth_find(&pellet, &instrument, &truth);
        struct pellet_synth_parts low, high;
        pellet_synth_parts_at(&pellet, instrument.forward, 990.0, &low);
        pellet_synth_parts_at(&pellet, instrument.forward, 1010.0, &high);
        const double a_low = low.sample - low.background, a_high = high.sample - high.background;
        assert_near((a_low - a_high) / (a_low + a_high), truth.asymmetry, 0.15 * fabs(truth.asymmetry));
        assert_true(sign * truth.asymmetry > 0.02);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_regulations_series_is_linear), cmocka_unit_test(faces_reflect_as_a_plate_does),
        cmocka_unit_test(perfect_fringes_are_airys),        cmocka_unit_test(fringes_do_not_change_the_mean),
        cmocka_unit_test(water_has_the_tabulated_strength), cmocka_unit_test(leak_and_shade_act_on_intensity),
        cmocka_unit_test(haze_is_what_it_says_at_2000),     cmocka_unit_test(the_truth_is_what_was_put_in),
        cmocka_unit_test(bands_of_coarse_grains_lean),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
