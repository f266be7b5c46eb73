// SPDX-License-Identifier: GPL-3.0-or-later
#include "testing.h"

#include "judge/advice_grind.h"

#include <math.h>

/*
 * How much weaker a band is in a sphere than in fine powder of the same mass, by anomalous diffraction: w / 3
 * K(w), w = 2 alpha r. Source: H. C. van de Hulst, Light Scattering by Small Particles (1957), chapter 11,
 * from memory; here by summing chords, not by the closed formula: a sphere of radius 1 is hit at the
 * distance s from its middle with the weight 2 s, and takes 1 - exp(-w sqrt(1 - s^2)) there.
 */
static double weakening(double w)
{
    enum { STEPS = 20000 };
    double taken = 0.0;

    for (int i = 0; i < STEPS; i++) {
        const double s = (i + 0.5) / STEPS;
        taken += 2.0 * s * (1.0 - exp(-w * sqrt(1.0 - s * s))) / STEPS;
    }
    return 2.0 * w / 3.0 / taken;
}

/* w of a band of 0.7 A at a usual dose: density 1.3 g/cm3, radius in um. */
static double size_of(double mg_cm2, double radius_um)
{
    const double alpha_per_cm = M_LN10 * 0.7 / mg_cm2 * 1e3 * 1.3;
    return 2.0 * alpha_per_cm * radius_um * 1e-4;
}

static void test_the_chords_are_right(void **state)
{
    (void)state;
    assert_near(weakening(1e-3), 1.0, 1e-3);
    for (double w = 0.5; w < 20.0; w *= 2.0)
        assert_near(weakening(w), w / 3.0 / (0.5 + exp(-w) / w + (exp(-w) - 1.0) / (w * w)), 1e-3 * w);
}

/* Grains that show in the bands' shape: nine in ten of the gains lie between those of 2.5 um in a weak and of
 * 12 um in a strong absorber, by the ends of the usual doses (21 CFR 436.211, Dent: 0.4 to 1.5 mg/cm2). */
static void test_gains_of_coarse_grains(void **state)
{
    (void)state;
    const struct pellet_diagnosis skewed = {.skew_share = 1.2};
    const struct pellet_gains gains = pellet_grind_gains(&skewed, NAN, 0.5);

    assert_true(gains.fine < 0.1);
    assert_near(gains.factor / exp(1.645 * gains.sigma), weakening(size_of(1.5, 2.5)), 0.1);
    assert_near(gains.factor * exp(1.645 * gains.sigma), weakening(size_of(0.4, 12.0)), 0.3);
}

/* 0.7 A at 0.77 mg/cm2 is what fine grains do; the same at six times the dose is not. */
static void test_what_was_weighed_tells_it_apart(void **state)
{
    (void)state;
    const struct pellet_diagnosis unknown = {.skew_share = NAN};
    const struct pellet_gains blind = pellet_grind_gains(&unknown, NAN, 0.7);
    const struct pellet_gains usual = pellet_grind_gains(&unknown, 0.77, 0.7);
    const struct pellet_gains much = pellet_grind_gains(&unknown, 6.0 * 0.77, 0.7);

    assert_true(usual.fine > blind.fine && blind.fine > much.fine);
    assert_true(usual.factor < blind.factor && blind.factor < much.factor && much.factor < 6.0);
    assert_true(usual.sigma < blind.sigma);
    assert_true(pellet_grind_gains(&unknown, 0.01, 0.7).factor >= 1.0); /* grinding weakens nothing */
}

static void test_the_finer_the_less(void **state)
{
    (void)state;
    double before = 1.0;

    for (double share = 0.0; share < 2.0; share += 0.1) {
        const struct pellet_diagnosis d = {.skew_share = share};
        const double fine = pellet_grind_gains(&d, NAN, 0.5).fine;
        assert_true(fine <= before);
        before = fine;
    }
}

/* Where all is sure the aim is the middle of the window, over the gain; where either may be, it lies between
 * and neither end of the gains leaves the window. */
static void test_the_aim(void **state)
{
    (void)state;
    const struct pellet_limit window = {.low = 0.2, .high = 1.5};
    const double middle = sqrt(0.2 * 1.5);
    const struct pellet_gains fine = {1.0, 3.3, 0.57}, coarse = {0.0, 3.3, 0.57}, either = {0.6, 3.3, 0.57};
    const double aim = pellet_grind_aim(&either, window);

    assert_near(pellet_grind_aim(&fine, window), middle, 0.02);
    assert_near(pellet_grind_aim(&coarse, window), middle / 3.3, 0.01);
    assert_true(aim > 0.2 && aim < middle);
    assert_true(3.3 * aim < 1.5);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_the_chords_are_right),
        cmocka_unit_test(test_gains_of_coarse_grains),
        cmocka_unit_test(test_what_was_weighed_tells_it_apart),
        cmocka_unit_test(test_the_finer_the_less),
        cmocka_unit_test(test_the_aim),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
