// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/curves.h"

#include <string.h>

#define SIGMA 3e-4

static void find_at(struct curves *c, double sigma, const unsigned char *bound, struct pellet_band **band,
                    size_t *count)
{
    for (size_t i = 0; i < c->grid.n; i++)
        c->out[i] = 0;
    assert_int_equal(pellet_bands_find(c->grid, c->y, c->out, sigma, bound, band, count), PELLET_OK);
}

static void find(struct curves *c, const unsigned char *bound, struct pellet_band **band, size_t *count)
{
    find_at(c, SIGMA, bound, band, count);
}

/* Position within a fifth of the spacing at the median, height and width within a few per cent: Gauss and
 * Lorentz bands of random places and sizes, no narrower than five points. */
static void one_band_comes_back(void **state)
{
    static const double spacings[] = {4, 2, 1, 0.5};
    const size_t seeds = 80;
    double apart[80];

    (void)state;
    for (unsigned long seed = 1; seed <= seeds; seed++) {
        const double spacing = spacings[seed % 4];
        struct curves c = curves_make(400, 4000, spacing, seed);
        const double at = curves_uniform(&c, 800, 3600), height = curves_uniform(&c, 0.15, 1.2);
        const double width = curves_uniform(&c, fmax(8, 5 * spacing), 40);
        struct pellet_band *band = NULL;
        size_t count = 0;

        curves_add(&c, seed % 3 ? curves_gauss : curves_lorentz, height, at, width);
        curves_noise(&c, SIGMA, 1);
        find(&c, NULL, &band, &count);
        assert_int_equal(count, 1);
        apart[seed - 1] = fabs(band->at_cm1 - at) / spacing;
        assert_near(band->height / height, 1,
                    0.05); /* feet at three widths: a Lorentz band has 2.7 % there */
        assert_near(band->width_cm1 / width, 1, 0.1);
        assert_true(band->low_cm1 < at && band->high_cm1 > at);
        assert_false(band->flat_top || band->at_least);
        free(band);
        curves_free(&c);
    }
    for (size_t i = 0; i < seeds; i++) {
        for (size_t k = i + 1; k < seeds; k++) {
            if (apart[k] < apart[i]) {
                const double swap = apart[i];
                apart[i] = apart[k];
                apart[k] = swap;
            }
        }
    }
    assert_true(apart[seeds / 2] < 0.1);
    assert_true(apart[seeds - 1] < 0.5);
}

/* Noise, zero-filled or not, is no band: at most one in twenty spectra shows one. */
static void noise_is_no_band(void **state)
{
    static const size_t filled[] = {1, 2, 4};
    size_t found = 0;

    (void)state;
    for (unsigned long seed = 1; seed <= 60; seed++) {
        struct curves c = curves_make(400, 4000, seed % 2 ? 0.5 : 2, seed);
        struct pellet_band *band = NULL;
        size_t count = 0;

        curves_noise(&c, SIGMA, filled[seed % 3]);
        find(&c, NULL, &band, &count);
        found += count > 0;
        free(band);
        curves_free(&c);
    }
    assert_true(found <= 3);
}

/*
 * Where a beam ends the noise grows a hundredfold. It is no band, nor is what of it lies below the ground a
 * foot of the band that is highest of all: its feet are beside it.
 */
static void the_weak_end_of_a_beam_is_no_foot(void **state)
{
    size_t others = 0;

    (void)state;
    for (unsigned long seed = 1; seed <= 20; seed++) {
        struct curves c = curves_make(400, 4000, 0.5, seed), loud = curves_make(400, 4000, 0.5, seed + 100);
        double *sigma = calloc(c.grid.n, sizeof *sigma);
        struct pellet_band *band = NULL;
        size_t count = 0;

        assert_non_null(sigma);
        curves_noise(&loud, 1, 1);
        for (size_t i = 0; i < c.grid.n; i++) {
            sigma[i] = SIGMA * exp(fmax(470 - c.x[i], 0) / 15);
            c.y[i] = sigma[i] * loud.y[i];
        }
        curves_add(&c, curves_gauss, 0.02, 1384, 12);
        assert_int_equal(pellet_bands_find_sigma(c.grid, c.y, c.out, sigma, NULL, &band, &count), PELLET_OK);
        assert_true(count >= 1);
        assert_near(band->at_cm1, 1384, 0.5);
        assert_near(band->height, 0.02, 0.001);
        assert_near(band->width_cm1, 12, 1.5);
        others += count - 1;
        free(sigma);
        free(band);
        curves_free(&c);
        curves_free(&loud);
    }
    assert_true(others <= 1);
}

/* Two bands are two, strongest first; a shoulder without a maximum of its own is not doubled. */
static void neighbours_are_told_apart(void **state)
{
    struct curves c = curves_make(400, 4000, 1, 3);
    struct pellet_band *band = NULL;
    size_t count = 0;

    (void)state;
    curves_add(&c, curves_gauss, 0.4, 1700, 20);
    curves_add(&c, curves_gauss, 0.8, 1740, 20);
    curves_noise(&c, SIGMA, 1);
    find(&c, NULL, &band, &count);
    assert_int_equal(count, 2);
    assert_near(band[0].at_cm1, 1740, 0.3);
    assert_near(band[1].at_cm1, 1700, 0.3);
    free(band);
    memset(c.y, 0, c.grid.n * sizeof *c.y);
    curves_add(&c, curves_gauss, 0.8, 1740, 20);
    curves_add(&c, curves_gauss, 0.3, 1725, 20);
    curves_noise(&c, SIGMA, 1);
    find(&c, NULL, &band, &count);
    assert_int_equal(count, 1);
    free(band);
    curves_free(&c);
}

/* What a false zero s of the open beam makes of absorbance: A' = -log10((T + s)/(1 + s)). */
static void add_false_light(struct curves *c, double s)
{
    for (size_t i = 0; i < c->grid.n; i++)
        c->y[i] = -log10((pow(10, -c->y[i]) + s) / (1 + s));
}

/*
 * A band of 5 or 6 A with 3 or 5 % of false light is level at the top; bands on scale are not, whatever
 * their shape: also two that overlap to a broad top. The noise is one of T.
 */
static void a_level_top_is_seen(void **state)
{
    const double sigma = 1e-4;

    (void)state;
    for (unsigned long seed = 1; seed <= 60; seed++) {
        struct curves c = curves_make(400, 4000, 1, seed);
        const double at = curves_uniform(&c, 900, 3000), width = curves_uniform(&c, 20, 50);
        const bool off_scale = seed % 2;
        struct pellet_band *band = NULL;
        size_t count = 0;

        curves_add(&c, seed % 3 ? curves_gauss : curves_lorentz,
                   off_scale ? curves_uniform(&c, 5, 6) : curves_uniform(&c, 0.6, 1.3), at, width);
        if (seed % 4 == 0)
            curves_add(&c, curves_gauss, curves_uniform(&c, 0.5, 0.9), at + 0.75 * width, width);
        add_false_light(&c, seed % 4 == 1 ? 0.05 : 0.03);
        for (size_t i = 0; i < c.grid.n; i++)
            c.y[i] = -log10(pow(10, -c.y[i]) + gsl_ran_gaussian(c.rng, M_LN10 * sigma));
        find_at(&c, sigma, NULL, &band, &count);
        assert_true(count >= 1);
        assert_int_equal(band->flat_top, off_scale);
        if (off_scale)
            assert_near(band->at_cm1, at, 1);
        free(band);
        curves_free(&c);
    }
}

/* Two bands of nearly one height with a dip between them have no level top: the middle of the group, as
 * little as it slopes, is not where it is highest. */
static void a_group_has_no_level_top(void **state)
{
    (void)state;
    for (unsigned long seed = 1; seed <= 20; seed++) {
        struct curves c = curves_make(400, 4000, 0.5, seed);
        struct pellet_band *band = NULL;
        size_t count = 0;

        curves_add(&c, curves_gauss, 1.1, 1610, 30);
        curves_add(&c, curves_gauss, curves_uniform(&c, 1.08, 1.1), 1610 + curves_uniform(&c, 32.5, 33.5),
                   30);
        curves_noise(&c, 1e-3, 1);
        find_at(&c, 1e-3, NULL, &band, &count);
        assert_true(count >= 1);
        for (size_t i = 0; i < count; i++)
            assert_false(band[i].flat_top);
        free(band);
        curves_free(&c);
    }
}

/* Photometry with stray light (computed): 2.0 A read with 1 % is 1.703, and the ceiling is 2.004. */
static void stray_light_reads_low(void **state)
{
    static const double table[][2] = {{0.1, 0.099}, {0.43, 0.427}, {1, 0.963},
                                      {1.2, 1.140}, {2, 1.703},    {3, 1.963}};

    (void)state;
    for (size_t k = 0; k < sizeof table / sizeof table[0]; k++) {
        struct curves c = curves_make(1500, 1900, 1, 1);
        struct pellet_band *band = NULL;
        size_t count = 0;

        curves_add(&c, curves_gauss, table[k][0], 1700, 30);
        add_false_light(&c, 0.01);
        find(&c, NULL, &band, &count);
        assert_int_equal(count, 1);
        assert_near(band->top, table[k][1],
                    0.012 * table[k][1]); /* the smoothing takes a per cent of the chord */
        free(band);
        curves_free(&c);
    }
}

static void a_dark_top_is_a_lower_bound(void **state)
{
    struct curves c = curves_make(400, 4000, 2, 1);
    unsigned char *bound = calloc(c.grid.n, 1);
    struct pellet_band *band = NULL;
    size_t count = 0;

    (void)state;
    assert_non_null(bound);
    curves_add(&c, curves_gauss, 5, 1100, 40);
    for (size_t i = 0; i < c.grid.n; i++) {
        bound[i] = c.y[i] > 3;
        c.y[i] = fmin(c.y[i], 3);
    }
    find(&c, bound, &band, &count);
    assert_int_equal(count, 1);
    assert_true(band->at_least);
    assert_near(band->top, 3, 0.06);
    assert_near(band->at_cm1, 1100, 0.5);
    free(band);
    free(bound);
    curves_free(&c);
}

/* The mirror image of a curve has the mirror images of its bands. */
static void it_knows_no_direction(void **state)
{
    struct curves c = curves_make(1000, 2000, 1, 11), mirror = curves_make(1000, 2000, 1, 1);
    struct pellet_band *band = NULL, *other = NULL;
    size_t count = 0, others = 0;

    (void)state;
    for (int k = 0; k < 6; k++)
        curves_add(&c, curves_lorentz, curves_uniform(&c, 0.1, 1), 1080 + 160 * k, curves_uniform(&c, 8, 30));
    curves_noise(&c, SIGMA, 1);
    for (size_t i = 0; i < c.grid.n; i++)
        mirror.y[i] = c.y[c.grid.n - 1 - i];
    find(&c, NULL, &band, &count);
    find(&mirror, NULL, &other, &others);
    assert_int_equal(count, 6);
    assert_int_equal(others, 6);
    for (size_t k = 0; k < 6; k++) {
        assert_near(band[k].at_cm1, 3000 - other[k].at_cm1, 1e-6);
        assert_near(band[k].height, other[k].height, 1e-9);
    }
    free(band);
    free(other);
    curves_free(&c);
    curves_free(&mirror);
}

/* On a slope the highest place is not that of the band alone: dA/dx = 0 of Lorentz curve and slope together,
 * found by bisection. */
static void a_slope_moves_the_top(void **state)
{
    const double at = 1000, height = 0.6, width = 60, slope = 1e-3;
    struct curves c = curves_make(500, 1500, 0.5, 3);
    struct pellet_band *band;
    double low = at, high = at + 0.25 * width;
    size_t count;

    (void)state;
    while (high - low > 1e-6) {
        const double middle = (low + high) / 2, v = 2 * (middle - at) / width;
        const double rise = slope - height * 4 * v / width / pow(1 + v * v, 2);

        *(rise > 0 ? &low : &high) = middle;
    }
    for (size_t i = 0; i < c.grid.n; i++)
        c.y[i] += slope * (c.x[i] - 500) + height * curves_lorentz(c.x[i], at, width);
    curves_noise(&c, SIGMA, 1);
    for (size_t i = 0; i < c.grid.n; i++)
        c.out[i] = slope * (c.x[i] - 500);
    assert_int_equal(pellet_bands_find(c.grid, c.y, c.out, SIGMA, NULL, &band, &count), PELLET_OK);
    assert_true(count >= 1);
    assert_true(low > at + 0.5);
    assert_near(band[0].at_cm1, low, 0.1);
    assert_near(band[0].top, slope * (low - 500) + height * curves_lorentz(low, at, width), 2e-3);
    free(band);
    curves_free(&c);
}

/* A neighbour on its flank bends the top: the highest place of the sum, found on a fine grid, comes back. */
static void a_neighbour_does_not_pull_the_top(void **state)
{
    size_t near = 0;

    (void)state;
    for (unsigned long seed = 1; seed <= 20; seed++) {
        struct curves c = curves_make(2600, 3200, 0.5, seed);
        const double at = curves_uniform(&c, 2916, 2918), apart = curves_uniform(&c, 24, 34);
        double highest = 0, top = 0;
        struct pellet_band *band;
        size_t count;

        for (double nu = at - 5; nu < at + 15; nu += 1e-3) {
            const double sum = 0.6 * curves_lorentz(nu, at, 24) + 0.4 * curves_lorentz(nu, at + apart, 30);

            if (sum > highest) {
                highest = sum;
                top = nu;
            }
        }
        curves_add(&c, curves_lorentz, 0.6, at, 24);
        curves_add(&c, curves_lorentz, 0.4, at + apart, 30);
        curves_noise(&c, SIGMA, 1);
        find(&c, NULL, &band, &count);
        assert_true(count >= 1);
        near += fabs(band[0].at_cm1 - top) < 0.2 * 0.5;
        assert_near(band[0].at_cm1, top, 0.5);
        free(band);
        curves_free(&c);
    }
    assert_true(near > 10);
}

static int by_value(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* A broad band that is not even, as of a sulfate, through noise: two Gauss curves whose sum has its highest
 * place where a fine grid finds it. A polynomial of one degree for all tops is off by whole wavenumbers. */
static void a_broad_top_is_placed_by_all_of_it(void **state)
{
    enum { SEEDS = 21 };
    double off[SEEDS], highest = 0, top = 0;

    (void)state;
    for (double nu = 1090; nu < 1190; nu += 1e-2) {
        const double sum = 0.06 * curves_gauss(nu, 1110, 70) + 0.058 * curves_gauss(nu, 1165, 70);

        if (sum > highest) {
            highest = sum;
            top = nu;
        }
    }
    for (unsigned long seed = 1; seed <= SEEDS; seed++) {
        struct curves c = curves_make(700, 1600, 0.5, seed);
        struct pellet_band *band;
        size_t count;

        curves_add(&c, curves_gauss, 0.06, 1110, 70);
        curves_add(&c, curves_gauss, 0.058, 1165, 70);
        curves_noise(&c, SIGMA, 1);
        find(&c, NULL, &band, &count);
        assert_true(count >= 1);
        off[seed - 1] = fabs(band[0].at_cm1 - top);
        free(band);
        curves_free(&c);
    }
    qsort(off, SEEDS, sizeof *off, by_value);
    assert_true(off[SEEDS / 2] < 0.5);
    assert_true(off[SEEDS - 1] < 2.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_band_comes_back),
        cmocka_unit_test(noise_is_no_band),
        cmocka_unit_test(the_weak_end_of_a_beam_is_no_foot),
        cmocka_unit_test(neighbours_are_told_apart),
        cmocka_unit_test(a_level_top_is_seen),
        cmocka_unit_test(a_group_has_no_level_top),
        cmocka_unit_test(stray_light_reads_low),
        cmocka_unit_test(a_dark_top_is_a_lower_bound),
        cmocka_unit_test(it_knows_no_direction),
        cmocka_unit_test(a_slope_moves_the_top),
        cmocka_unit_test(a_neighbour_does_not_pull_the_top),
        cmocka_unit_test(a_broad_top_is_placed_by_all_of_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
