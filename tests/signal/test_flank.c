// SPDX-License-Identifier: GPL-3.0-or-later
#include "testing.h"

#include "pellet/signal.h"

#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>

enum { POINTS = 401 };

/* A band as an instrument shows it: wavenumbers 800..1200 every cm-1. */
struct view {
    double wavenumber[POINTS], transmittance[POINTS], sigma[POINTS], baseline[POINTS];
    struct pellet_band band;
};

static double shape(double offset, double width, double gauss)
{
    const double x = 2.0 * offset / width;
    return gauss * exp(-M_LN2 * x * x) + (1.0 - gauss) / (1.0 + x * x);
}

/* What is to be shown. */
struct truth {
    double height, width, gauss, zero, resolution, noise, level;
};

/* The slow, obvious way: the transmittance convolved with a Gauss line as wide as 0.9 of the resolution. */
static double seen_at(const struct truth *t, double nu)
{
    double sum = 0.0, weights = 0.0;

    if (!(t->resolution > 0.0))
        return pow(10.0, -t->level - t->height * shape(nu - 1000.0, t->width, t->gauss)) + t->zero;
    for (double d = -4.0 * t->resolution; d <= 4.0 * t->resolution; d += t->resolution / 20.0) {
        const double weight = exp(-4.0 * M_LN2 * pow(d / (0.9 * t->resolution), 2.0));
        sum += weight * pow(10.0, -t->level - t->height * shape(nu + d - 1000.0, t->width, t->gauss));
        weights += weight;
    }
    return sum / weights + t->zero;
}

/* The band as a search for bands would see it, from the curve without noise. */
static void describe(const struct truth *t, const double *clean, struct view *view)
{
    const double bottom = pow(10.0, -t->level);
    double highest = 0.0, low = 1000.0, high = 1000.0;

    for (size_t i = 0; i < POINTS; i++)
        highest = fmax(highest, -log10(fmax(clean[i], 3.0 * t->noise) / bottom));
    for (size_t i = 0; i < POINTS; i++) {
        if (-log10(fmax(clean[i], 3.0 * t->noise) / bottom) > 0.5 * highest) {
            low = fmin(low, view->wavenumber[i]);
            high = fmax(high, view->wavenumber[i]);
        }
    }
    view->band = (struct pellet_band){.at_cm1 = 1000.0,
                                      .height = highest,
                                      .top = highest + t->level,
                                      .width_cm1 = high - low,
                                      .low_cm1 = 900.0,
                                      .high_cm1 = 1100.0,
                                      .at_least = true,
                                      .flat_top = t->zero > 0.0};
}

static void look(const struct truth *t, unsigned long seed, struct view *view)
{
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_mt19937);
    double clean[POINTS];

    gsl_rng_set(rng, seed);
    for (size_t i = 0; i < POINTS; i++) {
        view->wavenumber[i] = 800.0 + (double)i;
        clean[i] = seen_at(t, view->wavenumber[i]);
        view->transmittance[i] = clean[i] + gsl_ran_gaussian(rng, t->noise);
        view->sigma[i] = t->noise;
        view->baseline[i] = t->level;
    }
    describe(t, clean, view);
    gsl_rng_free(rng);
}

static pellet_status fit(const struct view *view, double resolution, struct pellet_flank *flank)
{
    const struct pellet_grid grid = {POINTS, view->wavenumber};
    return pellet_flank_fit(grid, view->transmittance, view->sigma, view->baseline, &view->band, 1, 0,
                            PELLET_LINE_UNKNOWN, resolution, flank);
}

/* With next to no noise the algebra comes back, but for what is supposed of shapes and zero beforehand. */
static void test_exact(void **state)
{
    (void)state;
    static const struct truth truths[] = {
        {2.0, 30.0, 0.3, 0.0, 0.0, 1e-5, 0.05},  {3.0, 30.0, 0.3, 0.0, 0.0, 1e-5, 0.05},
        {3.0, 20.0, 0.0, 0.0, 4.0, 1e-5, 0.10},  {2.5, 24.0, 0.6, 0.0, 4.0, 1e-5, 0.00},
        {2.5, 30.0, 0.3, 0.01, 2.0, 1e-5, 0.05},
    };

    for (size_t i = 0; i < sizeof truths / sizeof truths[0]; i++) {
        struct view view;
        struct pellet_flank flank;
        look(&truths[i], 1, &view);
        assert_int_equal(fit(&view, truths[i].resolution, &flank), PELLET_OK);
        assert_near(flank.height, truths[i].height, 0.10 * truths[i].height);
        assert_true(flank.low < truths[i].height && truths[i].height < flank.high);
        assert_near(flank.width_cm1, truths[i].width, 0.15 * truths[i].width);
    }
}

static int rising(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/*
 * Bands at random up to 3 A, shapes from Lorentz to half Gauss: within 15 % at the median, and the interval
 * holds the truth nine times in ten (of 60 that is 54; five below it would come about once in a hundred
 * runs).
 */
static void test_property(void **state)
{
    (void)state;
    enum { RUNS = 60 };
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_mt19937);
    double error[RUNS];
    size_t inside = 0;

    gsl_rng_set(rng, 20260304);
    for (size_t i = 0; i < RUNS; i++) {
        const struct truth t = {.height = 1.5 + 1.5 * gsl_rng_uniform(rng),
                                .width = 12.0 + 40.0 * gsl_rng_uniform(rng),
                                .gauss = 0.6 * gsl_rng_uniform(rng),
                                .zero = gsl_ran_gaussian(rng, 5e-4),
                                .resolution = 1.0 + 3.0 * gsl_rng_uniform(rng),
                                .noise = 2e-4 + 8e-4 * gsl_rng_uniform(rng),
                                .level = 0.2 * gsl_rng_uniform(rng)};
        struct view view;
        struct pellet_flank flank;
        look(&t, i + 1, &view);
        view.band.flat_top = false;
        assert_int_equal(fit(&view, t.resolution, &flank), PELLET_OK);
        error[i] = fabs(flank.height / t.height - 1.0);
        inside += flank.low <= t.height && t.height <= flank.high;
    }
    qsort(error, RUNS, sizeof error[0], rising);
    assert_true(error[RUNS / 2] < 0.15);
    assert_true(inside >= 49);
    gsl_rng_free(rng);
}

/* Far off scale, nothing but a bound is left, and it says so. */
static void test_only_a_bound(void **state)
{
    (void)state;
    const struct truth t = {12.0, 30.0, 0.5, 0.0, 4.0, 2e-3, 0.05};
    struct view view;
    struct pellet_flank flank;

    look(&t, 3, &view);
    assert_int_equal(fit(&view, 4.0, &flank), PELLET_OK);
    assert_true(flank.at_least || (flank.low <= 12.0 && flank.high >= 12.0));
    assert_true(flank.low <= 12.0);
}

static void test_errors_leave_the_answer_alone(void **state)
{
    (void)state;
    const struct truth t = {2.0, 30.0, 0.3, 0.0, 2.0, 1e-4, 0.0};
    struct pellet_flank flank = {.height = 77.0};
    struct view view;

    look(&t, 1, &view);
    const struct pellet_grid grid = {POINTS, view.wavenumber};
    assert_int_equal(pellet_flank_fit(grid, view.transmittance, view.sigma, view.baseline, &view.band, 1, 1,
                                      PELLET_LINE_UNKNOWN, 2.0, &flank),
                     PELLET_E_RANGE);
    assert_int_equal(fit(&view, NAN, &flank), PELLET_E_RANGE);
    assert_int_equal(fit(&view, -1.0, &flank), PELLET_E_RANGE);
    view.band.width_cm1 = 0.0;
    assert_int_equal(fit(&view, 2.0, &flank), PELLET_E_RANGE);
    view.band.width_cm1 = 30.0;
    for (size_t i = 0; i < POINTS; i++)
        view.transmittance[i] = NAN;
    assert_int_equal(fit(&view, 2.0, &flank), PELLET_E_SHORT);
    assert_near(flank.height, 77.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_exact),
        cmocka_unit_test(test_property),
        cmocka_unit_test(test_only_a_bound),
        cmocka_unit_test(test_errors_leave_the_answer_alone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
