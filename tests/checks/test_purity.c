// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/shapes.h"

static const struct pellet_check *const check = &pellet_check_purity;

static void open_blank(struct shapes *s)
{
    shapes_open(s, 400.0, 4000.0, 2.0);
    s->m.role = PELLET_BLANK;
    s->m.basis = PELLET_AGAINST_OPEN_BEAM;
}

/*
 * The reagent test of KBr for infrared (State Ph. of Kazakhstan I): no maximum above 0.02 A but those of
 * water near 3440 and 1630 cm-1.
 */
static void test_reagent_test(void **state)
{
    (void)state;
    struct shapes s;
    open_blank(&s);
    shapes_band(&s, 3440.0, 0.10, 400.0)->kind = PELLET_BAND_WATER;
    shapes_band(&s, 1630.0, 0.03, 90.0);
    const struct pellet_finding *f = shapes_run(&s, check);
    assert_outcome(f, PELLET_PASS, PELLET_SAYS_WITHIN);
    assert_near(f->value, 0.0, 0.0);
    shapes_band(&s, 1384.0, 0.02, 8.0);
    f = shapes_run(&s, check);
    assert_outcome(f, PELLET_PASS, PELLET_SAYS_WITHIN);
    assert_near(f->value, 0.02, 0.0);
    shapes_band(&s, 2920.0, 0.0201, 30.0);
    f = shapes_run(&s, check);
    assert_outcome(f, PELLET_REMAKE, PELLET_SAYS_IMPURE);
    assert_near(f->value, 0.0201, 1e-12);
    assert_near(f->at_cm1, 2920.0, 0.0);
    assert_near(f->limit, 0.02, 0.0);
    assert_string_equal(f->basis, "open_beam");
    shapes_close(&s);
}

/* Named after the list of the CRC Handbook, or unknown. */
static void test_names(void **state)
{
    (void)state;
    const struct {
        double at_cm1;
        const char *name;
    } row[] = {
        {1384.0, "nitrate in the halide"},
        {1430.0, "carbonate in the halide"},
        {1270.0, "silicone grease"},
        {2900.0, "C-H of oil, grease or fingers"},
        {2200.0, "unknown"},
    };
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        struct shapes s;
        open_blank(&s);
        shapes_band(&s, row[i].at_cm1, 0.05, 12.0)->kind = i == 0 ? PELLET_BAND_IMPURITY : PELLET_BAND_SAMPLE;
        const struct pellet_finding *f = shapes_run(&s, check);
        assert_outcome(f, PELLET_REMAKE, PELLET_SAYS_IMPURE);
        assert_string_equal(f->word, row[i].name);
        shapes_close(&s);
    }
}

/* Room air and broad structure are not foreign, whatever their height. */
static void test_not_foreign(void **state)
{
    (void)state;
    struct shapes s;
    open_blank(&s);
    shapes_band(&s, 2349.0, 0.3, 50.0)->kind = PELLET_BAND_CO2;
    shapes_band(&s, 1653.0, 0.2, 5.0)->kind = PELLET_BAND_VAPOUR;
    shapes_band(&s, 1100.0, 0.1, 151.0);
    assert_outcome(shapes_run(&s, check), PELLET_PASS, PELLET_SAYS_WITHIN);
    /* A sharp band beside the bending band of water is not water. */
    shapes_band(&s, 1620.0, 0.05, 20.0);
    assert_outcome(shapes_run(&s, check), PELLET_REMAKE, PELLET_SAYS_IMPURE);
    shapes_close(&s);
}

/* Only a single beam: narrow bands outside the room's air still count. */
static void test_single_beam(void **state)
{
    (void)state;
    struct shapes s;
    open_blank(&s);
    s.m.basis = PELLET_AGAINST_NOTHING;
    shapes_band(&s, 1700.0, 0.3, 6.0);
    shapes_band(&s, 3750.0, 0.2, 6.0);
    shapes_band(&s, 2500.0, 0.2, 61.0);
    assert_outcome(shapes_run(&s, check), PELLET_PASS, PELLET_SAYS_WITHIN);
    shapes_band(&s, 1384.0, 0.07, 9.0);
    assert_outcome(shapes_run(&s, check), PELLET_PASS, PELLET_SAYS_WITHIN);
    shapes_band(&s, 2920.0, 0.06, 30.0); /* on the blank or on the mirrors */
    const struct pellet_finding *f = shapes_run(&s, check);
    assert_outcome(f, PELLET_NOTE, PELLET_SAYS_IMPURE_OR_OPTICS);
    assert_near(f->value, 0.06, 1e-12);
    shapes_band(&s, 1270.0, 0.03, 15.0);
    f = shapes_run(&s, check);
    assert_outcome(f, PELLET_REMAKE, PELLET_SAYS_IMPURE);
    assert_near(f->at_cm1, 1270.0, 0.0);
    assert_string_equal(f->basis, "single_beam");
    shapes_close(&s);
}

/* A bend of the slope on which a ripple has set a top: its one foot is beside the top. */
static void test_one_flank(void **state)
{
    (void)state;
    struct shapes s;
    open_blank(&s);
    s.m.basis = PELLET_AGAINST_NOTHING;
    struct pellet_band *bend = shapes_band(&s, 2030.0, 0.04, 46.0);
    bend->low_cm1 = 1890.0;
    bend->high_cm1 = 2032.0;
    assert_outcome(shapes_run(&s, check), PELLET_PASS, PELLET_SAYS_WITHIN);
    bend->high_cm1 = 2053.0;
    assert_outcome(shapes_run(&s, check), PELLET_REMAKE, PELLET_SAYS_IMPURE);
    shapes_close(&s);
}

static void test_not_checked(void **state)
{
    (void)state;
    struct shapes s;
    open_blank(&s);
    free(s.m.absorbance);
    s.m.absorbance = NULL;
    s.m.basis = PELLET_AGAINST_NOTHING;
    assert_not_checked(shapes_run(&s, check), PELLET_SAYS_NEEDS_OPEN_BEAM);
    shapes_close(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_reagent_test), cmocka_unit_test(test_names),
        cmocka_unit_test(test_not_foreign),  cmocka_unit_test(test_single_beam),
        cmocka_unit_test(test_one_flank),    cmocka_unit_test(test_not_checked),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
