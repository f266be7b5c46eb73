// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/shapes.h"

static const struct pellet_check *const check = &pellet_check_saturation;

/* 2, 1 and 0.5 mg in 200 mg of KBr, one die (21 CFR 436.211): A 1 : 0.5 : 0.25; 2.40 gives 1.20 and 0.60. */
static void test_beer_lambert_series(void **state)
{
    (void)state;
    const double mg[] = {2.0, 1.0, 0.5};
    const enum pellet_outcome expected[] = {PELLET_REMAKE, PELLET_PASS, PELLET_PASS};

    for (size_t i = 0; i < 3; i++) {
        struct shapes s;
        shapes_open(&s, 400.0, 4000.0, 2.0);
        shapes_band(&s, 1068.0, 1.2 * mg[i], 24.0);
        shapes_band(&s, 1740.0, 0.5 * mg[i], 18.0);
        const struct pellet_finding *f = shapes_run(&s, check);
        assert_near(f->value, 1.2 * mg[i], 1e-12);
        assert_near(f->at_cm1, 1068.0, 0.0);
        assert_int_equal(f->outcome, expected[i]);
        assert_string_equal(f->basis, "blank");
        shapes_close(&s);
    }
}

/* The total counts, not the height: 0.9 A on a baseline of 0.7 is 1.6 A to the detector. */
static void test_total_absorbance(void **state)
{
    (void)state;
    struct shapes s;
    shapes_open(&s, 400.0, 4000.0, 2.0);
    shapes_band(&s, 1068.0, 0.9, 24.0)->top = 1.6;
    const struct pellet_finding *f = shapes_run(&s, check);
    assert_outcome(f, PELLET_REMAKE, PELLET_SAYS_TOO_STRONG);
    assert_near(f->value, 1.6, 0.0);
    assert_near(f->rests_low, 1020.0, 0.0);
    assert_near(f->rests_high, 1116.0, 0.0);
    shapes_close(&s);
}

static void test_limit_edge(void **state)
{
    (void)state;
    const struct {
        double top;
        enum pellet_outcome outcome;
    } edge[] = {{1.499, PELLET_PASS}, {1.5, PELLET_PASS}, {1.50004, PELLET_PASS}, {1.501, PELLET_REMAKE}};

    for (size_t i = 0; i < sizeof edge / sizeof edge[0]; i++) {
        struct shapes s;
        shapes_open(&s, 400.0, 4000.0, 2.0);
        shapes_band(&s, 1068.0, 1.0, 24.0)->top = edge[i].top;
        const struct pellet_finding *f = shapes_run(&s, check);
        assert_int_equal(f->outcome, edge[i].outcome);
        assert_near(f->limit, 1.5, 0.0);
        shapes_close(&s);
    }
}

/* A band without light, or with a flat top, refuses below the limit too, even when it is not the highest. */
static void test_off_scale(void **state)
{
    (void)state;
    struct shapes s;
    shapes_open(&s, 400.0, 4000.0, 2.0);
    shapes_band(&s, 1068.0, 1.3, 24.0);
    shapes_band(&s, 1740.0, 1.2, 18.0)->flat_top = true;
    const struct pellet_finding *f = shapes_run(&s, check);
    assert_outcome(f, PELLET_REMAKE, PELLET_SAYS_TOO_STRONG_FLAT);
    assert_near(f->at_cm1, 1740.0, 0.0);
    assert_true(f->at_least);

    s.band[1].at_least = true;
    f = shapes_run(&s, check);
    assert_outcome(f, PELLET_REMAKE, PELLET_SAYS_TOO_STRONG_DARK);
    assert_near(f->value, 1.2, 1e-12);

    s.band[1].kind = PELLET_BAND_CO2;
    f = shapes_run(&s, check);
    assert_outcome(f, PELLET_PASS, PELLET_SAYS_WITHIN);
    assert_false(f->at_least);
    shapes_close(&s);
}

static void test_not_checked(void **state)
{
    (void)state;
    struct shapes s;
    shapes_open(&s, 400.0, 4000.0, 2.0);
    assert_not_checked(shapes_run(&s, check), PELLET_SAYS_NO_BANDS);
    shapes_band(&s, 3400.0, 2.0, 300.0)->kind = PELLET_BAND_WATER;
    assert_not_checked(shapes_run(&s, check), PELLET_SAYS_NO_BANDS);
    s.m.basis = PELLET_AGAINST_NOTHING;
    assert_not_checked(shapes_run(&s, check), PELLET_SAYS_NEEDS_RATIO);
    shapes_close(&s);
}

/* A rule set's own limit and outcome count. */
static void test_rule(void **state)
{
    (void)state;
    struct shapes s;
    struct pellet_rule rule;
    pellet_rule_standard(check, &rule);
    rule.parameter[0] = (struct pellet_limit){2.0, 2.0};
    rule.outcome = PELLET_NOTE;
    shapes_open(&s, 400.0, 4000.0, 2.0);
    shapes_band(&s, 1068.0, 1.9, 24.0);
    assert_int_equal(shapes_run_rule(&s, check, &rule)->outcome, PELLET_PASS);
    s.band[0].top = 2.1;
    assert_int_equal(shapes_run_rule(&s, check, &rule)->outcome, PELLET_NOTE);
    shapes_close(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_beer_lambert_series), cmocka_unit_test(test_total_absorbance),
        cmocka_unit_test(test_limit_edge),          cmocka_unit_test(test_off_scale),
        cmocka_unit_test(test_not_checked),         cmocka_unit_test(test_rule),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
