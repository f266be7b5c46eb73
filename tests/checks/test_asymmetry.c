// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/ripple_curve.h"
#include "checks/shapes.h"

static const struct pellet_check *const check = &pellet_check_asymmetry;

/* A band of height `a` at d = 0 with skew -d/a: the definition of the quantity, turned into a curve. */
static struct pellet_band *skewed(struct shapes *s, double at, double a, double skew, double width)
{
    struct pellet_band *band = shapes_band(s, at, a, width);
    for (size_t i = 0; i < s->m.n; i++)
        s->m.absorbance[i] += shapes_lorentzian(s->m.wavenumber[i], at, 0.0, -skew * a, width);
    return band;
}

static void open_with(struct shapes *s, size_t count, const double skew[])
{
    static const double at[] = {900.0, 1200.0, 1500.0, 1740.0, 2200.0};
    shapes_open(s, 400.0, 4000.0, 1.0);
    for (size_t i = 0; i < count; i++)
        skewed(s, at[i], 0.3 + 0.1 * (double)i, skew[i], 16.0 + 2.0 * (double)i);
}

static const struct pellet_finding *run_tilted(struct shapes *s, double tilt)
{
    for (size_t i = 0; i < s->m.n; i++)
        s->m.baseline[i] = tilt * (s->m.wavenumber[i] - 2000.0) / 1900.0;
    return shapes_run(s, check);
}

static void test_median(void **state)
{
    (void)state;
    const double skew[] = {0.42, 0.5, 0.38, 0.0, 0.45};
    struct shapes s;
    open_with(&s, 5, skew);
    const struct pellet_finding *f = shapes_run(&s, check);
    assert_outcome(f, PELLET_REMAKE, PELLET_SAYS_SKEWED);
    assert_near(f->value, 0.42, 0.01);
    assert_near(f->number[0], 5.0, 0.0);
    assert_near(f->number[1], 4.0, 0.0);
    assert_near(f->from_cm1, 900.0 - 24.0, 0.1);
    assert_near(f->to_cm1, 2200.0 + 36.0, 0.1);
    shapes_close(&s);
}

static void test_limit_edges(void **state)
{
    (void)state;
    const double within[] = {0.34, 0.34, 0.34}, beyond[] = {0.36, 0.36, 0.36}, other[] = {-0.5, -0.5, -0.5};
    struct shapes s;
    open_with(&s, 3, within);
    assert_outcome(shapes_run(&s, check), PELLET_PASS, PELLET_SAYS_WITHIN);
    assert_near(s.finding.value, 0.34, 0.005);
    shapes_close(&s);
    open_with(&s, 3, beyond);
    assert_outcome(shapes_run(&s, check), PELLET_REMAKE, PELLET_SAYS_SKEWED);
    assert_near(s.finding.value, 0.36, 0.005);
    shapes_close(&s);
    /* Steep towards low wavenumbers is not the Christiansen effect. */
    open_with(&s, 3, other);
    assert_outcome(shapes_run(&s, check), PELLET_PASS, PELLET_SAYS_WITHIN);
    assert_near(s.finding.value, -0.5, 0.01);
    shapes_close(&s);
}

/* Two bands, or three that do not agree, are a note, unless the baseline slopes too. */
static void test_few(void **state)
{
    (void)state;
    const double two[] = {0.5, 0.5}, disagree[] = {0.1, 0.5, 0.6};
    struct shapes s;
    open_with(&s, 2, two);
    assert_outcome(run_tilted(&s, 0.09), PELLET_NOTE, PELLET_SAYS_SKEWED_UNSURE);
    assert_outcome(run_tilted(&s, 0.11), PELLET_REMAKE, PELLET_SAYS_SKEWED);
    s.m.basis = PELLET_AGAINST_UNKNOWN;
    assert_outcome(run_tilted(&s, 0.11), PELLET_NOTE, PELLET_SAYS_SKEWED_UNSURE);
    shapes_close(&s);
    open_with(&s, 3, disagree);
    assert_outcome(run_tilted(&s, 0.0), PELLET_NOTE, PELLET_SAYS_SKEWED_UNSURE);
    shapes_close(&s);
}

/*
 * Grains so coarse that the top is far from the band's centre, (sqrt(1 + s^2) - 1)/s half widths: the fit
 * still finds the way, and a broad band below does not count as a neighbour.
 */
static void test_very_skewed(void **state)
{
    (void)state;
    const double skew = 1.2, at[] = {900.0, 1200.0, 1500.0};
    struct shapes s;
    shapes_open(&s, 400.0, 4000.0, 1.0);
    for (size_t i = 0; i < 3; i++) {
        struct pellet_band *band = skewed(&s, at[i], 0.35, skew, 18.0);
        band->at_cm1 -= 9.0 * (sqrt(1.0 + skew * skew) - 1.0) / skew; /* the finder sees the top */
        band->width_cm1 = 23.0;
    }
    shapes_band(&s, 1250.0, 0.3, 700.0);
    const struct pellet_finding *f = shapes_run(&s, check);
    assert_outcome(f, PELLET_REMAKE, PELLET_SAYS_SKEWED);
    assert_near(f->value, skew, 0.05);
    assert_near(f->number[0], 3.0, 0.0);
    shapes_close(&s);
}

/* Even bands on the slopes of fringes: what these add to one flank and take from the other is no skew. */
static void test_fringes_skew_nothing(void **state)
{
    (void)state;
    const double even[] = {0.0, 0.0, 0.0};
    struct shapes s;
    open_with(&s, 3, even);
    s.m.ripple = (struct pellet_ripple){
        .amplitude = 0.05, .period_cm1 = 60.0, .phase = 0.5, .low_cm1 = 2000.0, .high_cm1 = 2800.0};
    for (size_t i = 0; i < s.m.n; i++)
        s.m.absorbance[i] += checks_ripple_at(&s.m.ripple, s.m.wavenumber[i]);
    const struct pellet_finding *f = shapes_run(&s, check);
    assert_outcome(f, PELLET_PASS, PELLET_SAYS_WITHIN);
    assert_near(f->value, 0.0, 0.005);
    assert_near(f->number[0], 3.0, 0.0);
    shapes_close(&s);
}

/* What is not fitted: too low, too high, off scale, too broad, not the sample's, not alone. */
static void test_not_checked(void **state)
{
    (void)state;
    struct shapes s;
    shapes_open(&s, 400.0, 4000.0, 1.0);
    assert_not_checked(shapes_run(&s, check), PELLET_SAYS_NO_ISOLATED_BANDS);
    skewed(&s, 800.0, 0.19, 0.5, 16.0);
    skewed(&s, 1000.0, 1.21, 0.5, 16.0);
    skewed(&s, 1200.0, 0.5, 0.5, 16.0)->flat_top = true;
    skewed(&s, 1400.0, 0.51, 0.5, 16.0)->at_least = true;
    skewed(&s, 1600.0, 0.52, 0.5, 16.0)->kind = PELLET_BAND_WATER;
    skewed(&s, 3200.0, 0.53, 0.5, 61.0);
    skewed(&s, 2000.0, 0.54, 0.5, 16.0);
    skewed(&s, 2030.0, 0.55, 0.5, 16.0);
    skewed(&s, 2200.0, 0.56, 0.5, 2.9);
    assert_not_checked(shapes_run(&s, check), PELLET_SAYS_NO_ISOLATED_BANDS);
    s.m.basis = PELLET_AGAINST_NOTHING;
    assert_not_checked(shapes_run(&s, check), PELLET_SAYS_NEEDS_RATIO);
    shapes_close(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_median),
        cmocka_unit_test(test_limit_edges),
        cmocka_unit_test(test_few),
        cmocka_unit_test(test_very_skewed),
        cmocka_unit_test(test_fringes_skew_nothing),
        cmocka_unit_test(test_not_checked),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
