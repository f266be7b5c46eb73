// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/shapes.h"

static const struct pellet_check *const check = &pellet_check_tilt;

/* A baseline c0 + rise (v^p - 2000^p) / (3900^p - 2000^p): rises by exactly `rise` from 2000 to 3900. */
static void scatter(struct shapes *s, double c0, double rise, double p)
{
    const double foot = pow(2000.0 / 3900.0, p);

    for (size_t i = 0; i < s->m.n; i++)
        s->m.absorbance[i] = s->m.baseline[i] =
            c0 + rise * (pow(s->m.wavenumber[i] / 3900.0, p) - foot) / (1.0 - foot);
}

/* A baseline that dives at its end, beneath a curve that nothing absorbs in, does not hide the rise; wings of
 * 0.02 A do not make one. */
static void test_dive(void **state)
{
    (void)state;
    struct shapes s;
    shapes_open(&s, 400.0, 4000.0, 2.0);
    scatter(&s, 0.1, 0.5, 1.0);
    for (size_t i = 0; i < s.m.n; i++)
        s.m.baseline[i] -= s.m.wavenumber[i] > 3500.0 ? 0.6 * (s.m.wavenumber[i] - 3500.0) / 400.0 : 0.0;
    assert_outcome(shapes_run(&s, check), PELLET_REMAKE, PELLET_SAYS_SLOPING);
    assert_near(s.finding.value, 0.48, 1e-3);
    scatter(&s, 0.1, 0.15, 1.0);
    for (size_t i = 0; i < s.m.n; i++)
        s.m.absorbance[i] += 0.02;
    assert_near(shapes_run(&s, check)->value, 0.15, 1e-9);
    shapes_close(&s);
}

static void test_limit_edges(void **state)
{
    (void)state;
    const struct {
        enum pellet_role role;
        double rise;
        enum pellet_outcome outcome;
        double limit;
    } edge[] = {
        {PELLET_SAMPLE, 0.2, PELLET_PASS, 0.2},    {PELLET_SAMPLE, 0.201, PELLET_REMAKE, 0.2},
        {PELLET_SAMPLE, -0.3, PELLET_PASS, 0.2},   {PELLET_BLANK, 0.1, PELLET_PASS, 0.1},
        {PELLET_BLANK, 0.101, PELLET_REMAKE, 0.1},
    };
    struct shapes s;
    shapes_open(&s, 400.0, 4000.0, 2.0);
    for (size_t i = 0; i < sizeof edge / sizeof edge[0]; i++) {
        s.m.role = edge[i].role;
        scatter(&s, 0.05, edge[i].rise, 1.0);
        const struct pellet_finding *f = shapes_run(&s, check);
        assert_near(f->value, edge[i].rise, 1e-9);
        assert_near(f->limit, edge[i].limit, 0.0);
        assert_int_equal(f->outcome, edge[i].outcome);
    }
    assert_near(s.finding.from_cm1, 2000.0, 0.0);
    assert_near(s.finding.to_cm1, 3900.0, 0.0);
    shapes_close(&s);
}

/* v^4 for fine grains, v^2 for larger ones (van de Hulst 1957): the shape tells, whatever the offset. */
static void test_exponent(void **state)
{
    (void)state;
    const double exponent[] = {4.0, 3.0, 2.0, 1.2, 0.5};
    const double offset[] = {0.0, 0.3, -0.05, 0.1, 0.2};
    struct shapes s;
    shapes_open(&s, 400.0, 4000.0, 2.0);
    shapes_band(&s, 1068.0, 0.9, 24.0);
    shapes_band(&s, 2950.0, 0.4, 60.0);
    for (size_t i = 0; i < 5; i++) {
        scatter(&s, offset[i], 0.3, exponent[i]);
        const struct pellet_finding *f = shapes_run(&s, check);
        assert_near(f->number[0], exponent[i], 0.051);
        assert_near(f->value, 0.3, 0.001);
    }
    scatter(&s, 0.1, 0.049, 2.0);
    assert_true(isnan(shapes_run(&s, check)->number[0]));
    shapes_close(&s);
}

static void test_not_checked(void **state)
{
    (void)state;
    struct shapes s;
    shapes_open(&s, 400.0, 3900.0, 2.0);
    assert_not_checked(shapes_run(&s, check), PELLET_SAYS_OUT_OF_RANGE);
    shapes_close(&s);

    shapes_open(&s, 400.0, 4000.0, 2.0);
    shapes_mark(&s, 3880.0, 3890.0, PELLET_POINT_UNUSABLE);
    assert_not_checked(shapes_run(&s, check), PELLET_SAYS_TOO_FEW_POINTS);
    s.m.basis = PELLET_AGAINST_UNKNOWN;
    assert_not_checked(shapes_run(&s, check), PELLET_SAYS_NEEDS_BASIS);
    s.m.basis = PELLET_AGAINST_NOTHING;
    assert_not_checked(shapes_run(&s, check), PELLET_SAYS_NEEDS_RATIO);
    shapes_close(&s);
}

/* Darkness at 3900 makes the rise a lower bound. */
static void test_lower_bound(void **state)
{
    (void)state;
    struct shapes s;
    shapes_open(&s, 400.0, 4000.0, 2.0);
    scatter(&s, 0.5, 1.5, 2.0);
    assert_false(shapes_run(&s, check)->at_least);
    shapes_mark(&s, 3890.0, 4000.0, PELLET_POINT_LOWER_BOUND);
    const struct pellet_finding *f = shapes_run(&s, check);
    assert_outcome(f, PELLET_REMAKE, PELLET_SAYS_SLOPING);
    assert_true(f->at_least);
    shapes_close(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_dive),        cmocka_unit_test(test_limit_edges),
        cmocka_unit_test(test_exponent),    cmocka_unit_test(test_not_checked),
        cmocka_unit_test(test_lower_bound),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
