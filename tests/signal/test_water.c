// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/curves.h"

#include "pellet/reference.h"

#define SIGMA 3e-4

/* 0 below low, 1 above high. */
static double ramp(double x, double low, double high)
{
    return fmin(fmax((x - low) / (high - low), 0), 1);
}

/*
 * Liquid water from the published table alone. Its two bands are moved and stretched about their published
 * maxima with their strength kept, the bend by a quarter and the other way; what lies between and below
 * stays.
 */
static void add_water(struct curves *c, double ug_cm2, double shift, double width)
{
    for (size_t i = 0; i < c->grid.n; i++) {
        const double nu = c->x[i], high = ramp(nu, 2450, 2800);
        const double bend = ramp(nu, 1360, 1470) * (1 - ramp(nu, 1820, 1960));
        const double stretched = pellet_water_absorbance(3404 + (nu - 3404 - shift) / width) / width;
        const double bent = pellet_water_absorbance(1643.5 + (nu - 1643.5 + shift / 4) / width) / width;

        c->y[i] +=
            ug_cm2 * (high * stretched + bend * bent + (1 - high - bend) * pellet_water_absorbance(nu));
    }
}

static struct pellet_water fit(struct curves *c)
{
    struct pellet_water water;

    assert_int_equal(pellet_water_fit(c->grid, c->y, SIGMA, &water, c->out), PELLET_OK);
    assert_true(water.fitted);
    return water;
}

/* Amount within 7 %, either sign, all grids and both ranges, beside a slope, shift and width free. */
static void the_amount_comes_back(void **state)
{
    static const double spacings[] = {4, 2, 1, 0.5};

    (void)state;
    for (unsigned long seed = 1; seed <= 48; seed++) {
        struct curves c = curves_make(seed % 2 ? 400 : 650, 4000, spacings[seed % 4], seed);
        const double ug = (seed % 3 ? 1 : -1) * curves_uniform(&c, 15, 120);
        const double slope = curves_uniform(&c, 0, 0.1);
        const double shift = curves_uniform(&c, 0, 50), width = curves_uniform(&c, 0.9, 1.2);
        struct pellet_water water;

        add_water(&c, ug, shift, width);
        for (size_t i = 0; i < c.grid.n; i++)
            c.y[i] += 0.02 + slope * pow(c.x[i] / 4000, 2);
        curves_noise(&c, SIGMA, 1);
        water = fit(&c);
        assert_near(water.ug_cm2 / ug, 1, 0.07);
        assert_false(water.upper_bound || water.bend_alone);
        assert_true(water.bend_clear);
        curves_free(&c);
    }
}

/* A dry pellet has none: within 1 ug/cm2, of which a twentieth of the usual limit is 1.5. */
static void a_dry_pellet_has_none(void **state)
{
    (void)state;
    for (unsigned long seed = 1; seed <= 10; seed++) {
        struct curves c = curves_make(400, 4000, 2, seed);

        curves_add(&c, curves_gauss, 0.6, 1735, 16);
        curves_add(&c, curves_gauss, 0.3, 2950, 30);
        curves_noise(&c, SIGMA, 1);
        assert_near(fit(&c).ug_cm2, 0, 1);
        curves_free(&c);
    }
}

/* An alcohol's or a sugar's O-H over the stretch: the bend tells alone. */
static void the_bend_tells_where_the_sample_hides_the_stretch(void **state)
{
    (void)state;
    for (unsigned long seed = 1; seed <= 10; seed++) {
        struct curves c = curves_make(400, 4000, 2, seed);
        const double ug = (seed % 3 ? 1 : -1) * curves_uniform(&c, 20, 80);
        struct pellet_water water;

        add_water(&c, ug, 20, 1);
        curves_add(&c, curves_gauss, 0.7, curves_uniform(&c, 3280, 3350), 240);
        curves_add(&c, curves_gauss, 0.4, 2925, 25);
        curves_add(&c, curves_lorentz, 0.6, 1060, 20);
        curves_noise(&c, SIGMA, 1);
        water = fit(&c);
        assert_false(water.upper_bound);
        assert_true(water.bend_alone);
        assert_near(water.ug_cm2 / ug, 1, 0.12);
        curves_free(&c);
    }
}

/* A damp blank's valley is filled up with the bend where it is and as wide as it is, or its rim is taken for
 * a band of the sample and hides it. */
static void a_moved_bend_of_the_blank_is_seen(void **state)
{
    (void)state;
    for (unsigned long seed = 1; seed <= 12; seed++) {
        struct curves c = curves_make(400, 4000, 0.5, seed);
        struct pellet_water water;

        add_water(&c, -100, seed % 2 ? 16 : 50, seed % 3 ? 1.13 : 0.85);
        curves_add(&c, curves_lorentz, 0.055, 1430, 17);
        curves_noise(&c, 3 * SIGMA, 1);
        water = fit(&c);
        assert_false(water.upper_bound);
        assert_near(water.bend_ug_cm2, -100, 10);
        curves_free(&c);
    }
}

/* Sharp N-H and C=O bands at both places hide water: what comes out is a bound, never an amount. */
static void an_amide_leaves_a_bound(void **state)
{
    (void)state;
    for (unsigned long seed = 1; seed <= 10; seed++) {
        struct curves c = curves_make(400, 4000, 2, seed);

        add_water(&c, curves_uniform(&c, 0, 60), 20, 1);
        curves_add(&c, curves_gauss, 0.6, 3368, 70);
        curves_add(&c, curves_gauss, 0.5, 3176, 110);
        curves_add(&c, curves_gauss, 1.0, 1660, 26);
        curves_add(&c, curves_gauss, 0.6, 1627, 24);
        curves_noise(&c, SIGMA, 1);
        assert_true(fit(&c).upper_bound);
        curves_free(&c);
    }
}

/* Amide I of a protein is as broad as the bend; that the stretch leaves no room for so much water gives it
 * away. */
static void a_bend_without_a_stretch_is_no_water(void **state)
{
    struct curves c = curves_make(400, 4000, 2, 1);
    struct pellet_water water;

    (void)state;
    curves_add(&c, curves_gauss, 0.12, 1645, 80);
    curves_add(&c, curves_gauss, 0.08, 3300, 120);
    curves_noise(&c, SIGMA, 1);
    water = fit(&c);
    assert_true(water.upper_bound || water.ug_cm2 < 30);
    curves_free(&c);
}

/* The fitted curve is the absorbance of that water: below the bend the table's own, which nothing moves. */
static void the_fitted_curve_is_the_waters(void **state)
{
    struct curves c = curves_make(400, 4000, 2, 1);

    (void)state;
    add_water(&c, 60, 40, 1.1);
    curves_noise(&c, 1e-5, 1);
    const double ug = fit(&c).ug_cm2;
    for (size_t i = 0; i < c.grid.n; i++) {
        if (c.x[i] < 1350 || (c.x[i] > 1950 && c.x[i] < 2400))
            assert_near(c.out[i], ug * pellet_water_absorbance(c.x[i]), 1e-12);
        if (c.x[i] > 3000 && c.x[i] < 3800)
            assert_near(c.out[i], c.y[i], 0.012);
    }
    curves_free(&c);
}

/* Twice the curve holds twice the water. */
static void it_scales_with_the_curve(void **state)
{
    struct curves c = curves_make(400, 4000, 2, 4);

    (void)state;
    add_water(&c, 40, 15, 1.05);
    curves_noise(&c, SIGMA, 1);
    const double once = fit(&c).ug_cm2;
    for (size_t i = 0; i < c.grid.n; i++)
        c.y[i] *= 2;
    assert_near(fit(&c).ug_cm2 / once, 2, 0.02);
    curves_free(&c);
}

/* Published maxima (Hale and Querry 1973): decadic 5513 and 1172 cm-1, 99.6 and 21.2 L/mol/cm, ratio 4.7. */
static void the_published_strengths(void **state)
{
    const double molar = 55.34;

    (void)state;
    assert_near(pellet_water_decadic(3389.8), 5513, 10);
    assert_near(pellet_water_decadic(1639.3), 1172, 3);
    assert_near(pellet_water_decadic(3389.8) / molar, 99.6, 0.2);
    assert_near(pellet_water_decadic(1639.3) / molar, 21.2, 0.1);
    assert_near(pellet_water_decadic(3389.8) / pellet_water_decadic(1639.3), 4.7, 0.05);
    assert_near(0.10 / pellet_water_absorbance(3404), 18.0, 0.3); /* ug/cm2 of A(3404) = 0.10 */
}

static void a_file_that_does_not_reach_has_none(void **state)
{
    struct curves c = curves_make(400, 1300, 2, 1);
    struct pellet_water water = {.ug_cm2 = -1};

    (void)state;
    assert_int_equal(pellet_water_fit(c.grid, c.y, SIGMA, &water, NULL), PELLET_E_SHORT);
    assert_near(water.ug_cm2, -1, 0);
    curves_free(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_amount_comes_back),
        cmocka_unit_test(a_dry_pellet_has_none),
        cmocka_unit_test(the_bend_tells_where_the_sample_hides_the_stretch),
        cmocka_unit_test(a_moved_bend_of_the_blank_is_seen),
        cmocka_unit_test(an_amide_leaves_a_bound),
        cmocka_unit_test(a_bend_without_a_stretch_is_no_water),
        cmocka_unit_test(the_fitted_curve_is_the_waters),
        cmocka_unit_test(it_scales_with_the_curve),
        cmocka_unit_test(the_published_strengths),
        cmocka_unit_test(a_file_that_does_not_reach_has_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
