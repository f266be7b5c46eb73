// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/shapes.h"

static const struct pellet_check *const check = &pellet_check_weak;

static void test_limit_edges(void **state)
{
    (void)state;
    const struct {
        double height;
        enum pellet_outcome outcome;
        enum pellet_phrase phrase;
        double limit;
    } edge[] = {
        {0.201, PELLET_PASS, PELLET_SAYS_WITHIN, 0.2},
        {0.2, PELLET_PASS, PELLET_SAYS_WITHIN, 0.2},
        {0.199, PELLET_REMAKE, PELLET_SAYS_TOO_FAINT, 0.2},
        {0.03, PELLET_REMAKE, PELLET_SAYS_TOO_FAINT, 0.2},
        {0.0299, PELLET_REMAKE, PELLET_SAYS_NO_SAMPLE, 0.03},
    };

    for (size_t i = 0; i < sizeof edge / sizeof edge[0]; i++) {
        struct shapes s;
        shapes_open(&s, 400.0, 4000.0, 2.0);
        shapes_band(&s, 1740.0, edge[i].height, 18.0);
        const struct pellet_finding *f = shapes_run(&s, check);
        assert_outcome(f, edge[i].outcome, edge[i].phrase);
        assert_near(f->value, edge[i].height, 1e-12);
        assert_near(f->limit, edge[i].limit, 0.0);
        assert_near(f->at_cm1, 1740.0, 0.0);
        shapes_close(&s);
    }
}

/* A quarter of the dose leaves a quarter of the height: 2 mg that make 0.7 A leave 0.175 at 0.5 mg. */
static void test_beer_lambert(void **state)
{
    (void)state;
    struct shapes s;
    shapes_open(&s, 400.0, 4000.0, 2.0);
    shapes_band(&s, 1068.0, 0.7 * 0.25, 24.0);
    const struct pellet_finding *f = shapes_run(&s, check);
    assert_outcome(f, PELLET_REMAKE, PELLET_SAYS_TOO_FAINT);
    assert_near(f->value, 0.175, 1e-12);
    shapes_close(&s);
}

/* Water, room air and impurities are no sample, however strong. */
static void test_no_sample(void **state)
{
    (void)state;
    struct shapes s;
    shapes_open(&s, 400.0, 4000.0, 2.0);
    for (size_t i = 0; i < s.m.n; i++)
        s.m.residual_water[i] = shapes_lorentzian(s.m.wavenumber[i], 3400.0, 0.3, 0.0, 300.0);
    shapes_band(&s, 3400.0, 0.3, 300.0)->kind = PELLET_BAND_WATER;
    shapes_mark(&s, 2300.0, 2380.0, PELLET_POINT_CO2);
    for (size_t i = 0; i < s.m.n; i++)
        s.m.absorbance[i] += s.m.mark[i] & PELLET_POINT_CO2 ? 0.1 : 0.0;
    s.m.absorbance[300] += 0.004;

    const struct pellet_finding *f = shapes_run(&s, check);
    assert_outcome(f, PELLET_REMAKE, PELLET_SAYS_NO_SAMPLE);
    assert_true(f->at_most);
    assert_near(f->value, 0.004, 1e-6);
    assert_near(f->at_cm1, 1000.0, 1e-9);
    assert_near(f->rests_low, 0.0, 0.0);
    shapes_close(&s);
}

/* Something that is no band, and a pellet that lets no light through, are not "no sample". */
static void test_not_checked(void **state)
{
    (void)state;
    struct shapes s;
    shapes_open(&s, 400.0, 4000.0, 2.0);
    s.m.absorbance[300] = 0.03;
    assert_not_checked(shapes_run(&s, check), PELLET_SAYS_NO_BANDS);
    s.m.absorbance[300] = 0.0;
    shapes_mark(&s, 400.0, 3000.0, PELLET_POINT_LOWER_BOUND);
    assert_not_checked(shapes_run(&s, check), PELLET_SAYS_NO_BANDS);
    shapes_mark(&s, 400.0, 4000.0, PELLET_POINT_UNUSABLE);
    assert_not_checked(shapes_run(&s, check), PELLET_SAYS_NO_BANDS);
    s.m.basis = PELLET_AGAINST_NOTHING;
    assert_not_checked(shapes_run(&s, check), PELLET_SAYS_NEEDS_RATIO);
    shapes_close(&s);
}

/* A lower bound beneath the limit proves nothing; above it, it passes. */
static void test_lower_bound(void **state)
{
    (void)state;
    struct shapes s;
    shapes_open(&s, 400.0, 4000.0, 2.0);
    struct pellet_band *band = shapes_band(&s, 1740.0, 0.15, 18.0);
    band->at_least = true;
    const struct pellet_finding *f = shapes_run(&s, check);
    assert_outcome(f, PELLET_NOT_CHECKED, PELLET_SAYS_FAINT_BOUND);
    assert_near(f->value, 0.15, 1e-12);
    band->height = 1.4;
    f = shapes_run(&s, check);
    assert_outcome(f, PELLET_PASS, PELLET_SAYS_WITHIN);
    assert_true(f->at_least);
    shapes_close(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_limit_edges), cmocka_unit_test(test_beer_lambert),
        cmocka_unit_test(test_no_sample),   cmocka_unit_test(test_not_checked),
        cmocka_unit_test(test_lower_bound),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
