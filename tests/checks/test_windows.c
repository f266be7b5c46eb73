// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/shapes.h"

static const struct pellet_check *const check = &pellet_check_windows;

static struct pellet_window_rule window[] = {
    {"nitrate", 1350.0, 1400.0, 0.02, NAN, PELLET_NOTE, "test"},
    {"silicone", 1255.0, 1285.0, 0.02, NAN, PELLET_REMAKE, "test"},
    {"carbonyl", 1700.0, 1760.0, NAN, 0.10, PELLET_RESCAN, "test"},
};

static void open_with(struct shapes *s, size_t first, size_t count)
{
    shapes_open(s, 400.0, 4000.0, 1.0);
    s->rules.window = window + first;
    s->rules.window_count = count;
}

/* A triangle of exact height, zero at the ends of the window. */
static void triangle(struct shapes *s, double at, double height, double half)
{
    for (size_t i = 0; i < s->m.n; i++)
        s->m.absorbance[i] += height * fmax(0.0, 1.0 - fabs(s->m.wavenumber[i] - at) / half);
}

static void test_highest(void **state)
{
    (void)state;
    const struct {
        double height;
        enum pellet_outcome outcome;
    } edge[] = {{0.0199, PELLET_PASS}, {0.02, PELLET_PASS}, {0.0201, PELLET_NOTE}};
    for (size_t i = 0; i < 3; i++) {
        struct shapes s;
        open_with(&s, 0, 1);
        for (size_t k = 0; k < s.m.n; k++) /* a slope is no height */
            s.m.absorbance[k] = 0.3 + 1e-4 * s.m.wavenumber[k];
        triangle(&s, 1384.0, edge[i].height, 8.0);
        const struct pellet_finding *f = shapes_run(&s, check);
        assert_int_equal(f->outcome, edge[i].outcome);
        assert_near(f->value, edge[i].height, 1e-9);
        assert_near(f->at_cm1, 1384.0, 0.0);
        assert_near(f->limit, 0.02, 0.0);
        assert_string_equal(f->word, "nitrate");
        assert_near(f->rests_low, 1350.0, 0.0);
        assert_near(f->rests_high, 1400.0, 0.0);
        shapes_close(&s);
    }
}

/* A band that stands beyond the window, whose flank is steepest at its end, is no height in it. */
static void test_flank(void **state)
{
    (void)state;
    struct shapes s;
    open_with(&s, 0, 1);
    for (size_t k = 0; k < s.m.n; k++)
        s.m.absorbance[k] = shapes_lorentzian(s.m.wavenumber[k], 1408.0, 0.8, 0.0, 20.0);
    const struct pellet_finding *f = shapes_run(&s, check);
    assert_int_equal(f->outcome, PELLET_PASS);
    assert_true(f->value < 0.0);
    shapes_close(&s);
}

static void test_lowest(void **state)
{
    (void)state;
    const struct {
        double height;
        enum pellet_outcome outcome;
    } edge[] = {{0.0999, PELLET_RESCAN}, {0.1, PELLET_PASS}, {0.5, PELLET_PASS}};
    for (size_t i = 0; i < 3; i++) {
        struct shapes s;
        open_with(&s, 2, 1);
        triangle(&s, 1730.0, edge[i].height, 12.0);
        const struct pellet_finding *f = shapes_run(&s, check);
        assert_int_equal(f->outcome, edge[i].outcome);
        assert_near(f->value, edge[i].height, 1e-9);
        shapes_close(&s);
    }
}

/* The severest outcome first, however far the others are beyond their limit. */
static void test_worst(void **state)
{
    (void)state;
    struct shapes s;
    open_with(&s, 0, 3);
    triangle(&s, 1730.0, 0.3, 12.0);
    triangle(&s, 1384.0, 0.4, 8.0);
    const struct pellet_finding *f = shapes_run(&s, check);
    assert_outcome(f, PELLET_NOTE, PELLET_SAYS_WINDOW_OUT);
    assert_string_equal(f->word, "nitrate");
    triangle(&s, 1270.0, 0.021, 8.0);
    f = shapes_run(&s, check);
    assert_outcome(f, PELLET_REMAKE, PELLET_SAYS_WINDOW_OUT);
    assert_string_equal(f->word, "silicone");
    shapes_close(&s);
}

/* Within all limits: the one nearest to its limit is told. */
static void test_none(void **state)
{
    (void)state;
    struct shapes s;
    open_with(&s, 0, 3);
    triangle(&s, 1730.0, 0.11, 12.0);
    triangle(&s, 1384.0, 0.01, 8.0);
    const struct pellet_finding *f = shapes_run(&s, check);
    assert_outcome(f, PELLET_PASS, PELLET_SAYS_WINDOW_NONE);
    assert_string_equal(f->word, "carbonyl");
    assert_near(f->value, 0.11, 1e-9);
    s.rules.window_count = 0;
    assert_outcome(shapes_run(&s, check), PELLET_PASS, PELLET_SAYS_WINDOW_NONE);
    assert_true(isnan(s.finding.value));
    shapes_close(&s);
}

/* The room's lines stand in a lone single beam: a window among them says nothing, one beside them does. */
static void test_blank_single_beam(void **state)
{
    (void)state;
    struct shapes s;
    open_with(&s, 0, 1);
    s.m.role = PELLET_BLANK;
    s.m.basis = PELLET_AGAINST_NOTHING;
    triangle(&s, 1384.0, 0.05, 8.0);
    triangle(&s, 1270.0, 0.05, 8.0);
    assert_not_checked(shapes_run(&s, check), PELLET_SAYS_NEEDS_OPEN_BEAM);
    s.rules.window_count = 2;
    assert_outcome(shapes_run(&s, check), PELLET_REMAKE, PELLET_SAYS_WINDOW_OUT);
    assert_string_equal(s.finding.word, "silicone");
    assert_string_equal(s.finding.basis, "single_beam");
    shapes_close(&s);
}

static void test_not_checked(void **state)
{
    (void)state;
    struct shapes s;
    open_with(&s, 0, 1);
    shapes_mark(&s, 1370.0, 1385.0, PELLET_POINT_UNUSABLE);
    assert_not_checked(shapes_run(&s, check), PELLET_SAYS_OUT_OF_RANGE);
    assert_near(s.finding.from_cm1, 1350.0, 0.0);
    s.m.basis = PELLET_AGAINST_NOTHING;
    assert_not_checked(shapes_run(&s, check), PELLET_SAYS_NEEDS_RATIO);
    shapes_close(&s);

    shapes_open(&s, 1380.0, 4000.0, 1.0);
    s.rules.window = window;
    s.rules.window_count = 1;
    assert_not_checked(shapes_run(&s, check), PELLET_SAYS_OUT_OF_RANGE);
    /* One window out of range does not silence the others. */
    s.rules.window_count = 3;
    assert_int_equal(shapes_run(&s, check)->outcome, PELLET_RESCAN);
    shapes_close(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_highest),     cmocka_unit_test(test_flank),
        cmocka_unit_test(test_lowest),      cmocka_unit_test(test_worst),
        cmocka_unit_test(test_none),        cmocka_unit_test(test_blank_single_beam),
        cmocka_unit_test(test_not_checked),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
