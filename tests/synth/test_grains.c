// SPDX-License-Identifier: GPL-3.0-or-later
/* Grains by anomalous diffraction against van de Hulst's printed form, Beer-Lambert and first-order
 * expansions. */
#include "testing.h"

#include "synth/model.h"

/* H. C. van de Hulst (1957): Q = 2 - (4/p) sin p + (4/p^2)(1 - cos p), first maximum 3.17 at p = 4.09. */
static void scatter_is_van_de_hulsts(void **state)
{
    (void)state;
    double best = 0.0, at = 0.0;
    for (double p = 0.005; p < 12.0; p += 0.005) {
        const double printed = 2.0 - 4.0 / p * sin(p) + 4.0 / (p * p) * (1.0 - cos(p));
        const double q = pellet_synth_scatter_efficiency(p);
        assert_near(q, printed, 1e-9 + 1e-15 / (p * p));
        if (q > best) {
            best = q;
            at = p;
        }
    }
    assert_near(best, 3.17, 0.005);
    assert_near(at, 4.09, 0.01);
    assert_near(pellet_synth_scatter_efficiency(1e4), 2.0, 1e-3);
}

/* Grains far below the wavelength, of the host's index: A = 4 pi k nu d / ln 10 of the volume spread as a
 * layer. */
static void fine_grains_obey_beer_and_lambert(void **state)
{
    (void)state;
    const double volume = 5e-4, k = 0.2, wavenumber = 1000.0;
    const double layer = 4.0 * M_PI * k * wavenumber * volume / M_LN10;
    assert_near(pellet_synth_grains(volume, 1e-7, 0.0, k, wavenumber, 0.5), layer, 2e-4 * layer);
    const double once = pellet_synth_grains(volume, 1e-4, 0.03, k, wavenumber, 0.5);
    assert_near(pellet_synth_grains(2.0 * volume, 1e-4, 0.03, k, wavenumber, 0.5), 2.0 * once, 1e-12);
}

/* The series for small w and the closed form are one function. */
static void the_series_joins_the_closed_form(void **state)
{
    (void)state;
    const double radius = 1e-4, wavenumber = 1000.0, unit = 4.0 * M_PI * radius * wavenumber;
    double previous = 0.0;
    for (double w = 0.0190; w < 0.0210; w += 0.0001) {
        const double a =
            pellet_synth_grains(1.0, radius, 0.7 * w / unit, 0.71 * w / unit, wavenumber, 0.0) / w;
        if (previous > 0.0)
            assert_near(a / previous, 1.0, 1e-3);
        previous = a;
    }
}

/* Duyckaerts (1959) and practice: the coarser the grains, the weaker the band of the same mass. */
static void coarse_grains_weaken_bands(void **state)
{
    (void)state;
    double previous = (double)INFINITY;
    for (double radius_um = 0.1; radius_um < 20.0; radius_um *= 1.5) {
        const double a = pellet_synth_grains(5e-4, radius_um * 1e-4, 0.0, 0.2, 1000.0, 1.0);
        assert_true(a > 0.0 && a < previous);
        previous = a;
    }
    /* Opaque grains: their geometrical shadow is all that is left. */
    const double radius = 20e-4, shadow = M_LOG10E * 5e-4 * 3.0 / (4.0 * radius);
    assert_near(pellet_synth_grains(5e-4, radius, 0.0, 5.0, 4000.0, 1.0), shadow, 0.01 * shadow);
}

/* Small soft spheres that do not absorb: Q = p^2 / 2, so the absorbance rises as the square of the
 * wavenumber. */
static void scatter_of_small_grains_rises_as_the_square(void **state)
{
    (void)state;
    const double at_2000 = pellet_synth_grains(5e-4, 1e-4, 0.02, 0.0, 2000.0, 0.0);
    const double at_4000 = pellet_synth_grains(5e-4, 1e-4, 0.02, 0.0, 4000.0, 0.0);
    assert_near(at_4000 / at_2000, 4.0, 0.02);
    assert_near(pellet_synth_grains(5e-4, 1e-4, 0.02, 0.0, 2000.0, 0.25), 0.75 * at_2000, 1e-12);
    assert_near(pellet_synth_grains(5e-4, 1e-4, -0.02, 0.0, 2000.0, 0.0), at_2000, 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(scatter_is_van_de_hulsts),
        cmocka_unit_test(fine_grains_obey_beer_and_lambert),
        cmocka_unit_test(the_series_joins_the_closed_form),
        cmocka_unit_test(coarse_grains_weaken_bands),
        cmocka_unit_test(scatter_of_small_grains_rises_as_the_square),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
