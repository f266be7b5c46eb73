// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/shapes.h"

#include "pellet/reference.h"

static const struct pellet_check *const check = &pellet_check_thickness;

static const struct pellet_finding *run_mass(struct shapes *s, double pressed_mg, double die_mm)
{
    s->inputs.row = &s->row;
    s->row = (struct pellet_worksheet_row){
        .pressed_mg = pressed_mg, .die_mm = die_mm, .sample_mg = NAN, .kbr_mg = NAN};
    return shapes_run(s, check);
}

/* 200 mg on 13 mm at 2.75 g/cm3 (21 CFR 436.211) and 300 mg on 16 mm: 0.548 and 0.543 mm. */
static void test_published_masses(void **state)
{
    (void)state;
    struct shapes s;
    shapes_open(&s, 400.0, 4000.0, 1.0);
    const struct pellet_finding *f = run_mass(&s, 200.0, 13.0);
    assert_outcome(f, PELLET_PASS, PELLET_SAYS_WITHIN);
    assert_near(f->value, 0.548, 0.0005);
    assert_true(f->at_most);
    assert_string_equal(f->basis, "worksheet");
    assert_true(f->rests_low > f->rests_high); /* on no part of the spectrum */
    assert_near(run_mass(&s, 300.0, 16.0)->value, 0.543, 0.0005);
    assert_near(run_mass(&s, 400.0, 13.0)->value, 1.096, 0.0005);
    shapes_close(&s);
}

static void test_limit_edges(void **state)
{
    (void)state;
    struct shapes s;
    shapes_open(&s, 400.0, 4000.0, 1.0);
    assert_outcome(run_mass(&s, 438.0, 13.0), PELLET_PASS, PELLET_SAYS_WITHIN); /* 1.200 mm */
    const struct pellet_finding *f = run_mass(&s, 439.0, 13.0);
    assert_outcome(f, PELLET_NOTE, PELLET_SAYS_THICKNESS_OUT); /* 1.203 mm */
    assert_near(f->limit, 1.2, 0.0);
    assert_near(f->number[0], 0.1, 0.0);
    assert_near(f->number[1], 1.2, 0.0);
    f = run_mass(&s, 36.0, 13.0);
    assert_outcome(f, PELLET_NOTE, PELLET_SAYS_THICKNESS_OUT); /* 0.0986 mm */
    assert_near(f->limit, 0.1, 0.0);
    assert_outcome(run_mass(&s, 37.0, 13.0), PELLET_PASS, PELLET_SAYS_WITHIN); /* 0.1014 mm */
    shapes_close(&s);
}

/* Without what was pressed, all that was weighed is the bound. */
static void test_weighed_mass(void **state)
{
    (void)state;
    struct shapes s;
    shapes_open(&s, 400.0, 4000.0, 1.0);
    s.inputs.row = &s.row;
    s.row =
        (struct pellet_worksheet_row){.pressed_mg = NAN, .sample_mg = 2.0, .kbr_mg = 198.0, .die_mm = 13.0};
    assert_near(shapes_run(&s, check)->value, 0.548, 0.0005);
    shapes_close(&s);
}

/* The pellet's own fringes come first, and are no bound. */
static void test_fringes_first(void **state)
{
    (void)state;
    struct shapes s;
    shapes_open(&s, 400.0, 4000.0, 1.0);
    s.m.basis = PELLET_AGAINST_OPEN_BEAM;
    for (size_t i = 0; i < s.m.n; i++)
        s.m.absorbance[i] =
            0.02 * cos(4.0 * M_PI * pellet_kbr_index(s.m.wavenumber[i]) * 0.0411 * s.m.wavenumber[i]);
    const struct pellet_finding *f = run_mass(&s, 200.0, 13.0);
    assert_near(f->value, 0.411, 0.004);
    assert_false(f->at_most);
    assert_string_equal(f->basis, "fringes");
    assert_near(f->rests_low, 1900.0, 0.0);
    assert_near(f->rests_high, 2500.0, 0.0);
    /* Ratioed elsewhere against a blank nobody knows whose they are: back to the mass. */
    s.m.basis = PELLET_AGAINST_BLANK;
    assert_near(shapes_run(&s, check)->value, 0.548, 0.0005);
    shapes_close(&s);
}

static double fringes_of_a_wafer(double nu)
{
    return 0.004 * cos(4.0 * M_PI * pellet_kbr_index(nu) * 0.0055 * nu);
}

/* Ten waves of a wafer of 0.055 mm, and three bands among them that are low enough for fringes but six times
 * as high as these; and the ground beside a dip of carbon dioxide, which is no band. */
static void test_fringes_among_bands(void **state)
{
    static const double places[] = {1905.0, 1960.0, 2480.0};
    (void)state;
    struct shapes s;
    shapes_open(&s, 400.0, 4000.0, 1.0);
    s.m.basis = PELLET_AGAINST_OPEN_BEAM;
    for (size_t i = 0; i < s.m.n; i++)
        s.m.absorbance[i] = fringes_of_a_wafer(s.m.wavenumber[i]);
    for (size_t i = 0; i < 3; i++)
        shapes_band(&s, places[i], 0.025, 16.0);
    s.band[s.m.band_count++] = (struct pellet_band){.at_cm1 = 2270.0,
                                                    .height = 0.04,
                                                    .top = 0.004,
                                                    .width_cm1 = 120.0,
                                                    .low_cm1 = 2010.0,
                                                    .high_cm1 = 2360.0};
    const struct pellet_finding *f = shapes_run(&s, check);
    assert_near(f->value, 0.055, 0.0006);
    assert_string_equal(f->basis, "fringes");
    shapes_close(&s);
}

static void test_not_checked(void **state)
{
    (void)state;
    struct shapes s;
    shapes_open(&s, 400.0, 4000.0, 1.0);
    assert_not_checked(shapes_run(&s, check), PELLET_SAYS_THICKNESS_UNKNOWN);
    assert_not_checked(run_mass(&s, NAN, 13.0), PELLET_SAYS_THICKNESS_UNKNOWN);
    assert_not_checked(run_mass(&s, 200.0, NAN), PELLET_SAYS_THICKNESS_UNKNOWN);
    s.m.basis = PELLET_AGAINST_NOTHING;
    assert_not_checked(run_mass(&s, NAN, NAN), PELLET_SAYS_THICKNESS_UNKNOWN);
    shapes_close(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_published_masses),    cmocka_unit_test(test_limit_edges),
        cmocka_unit_test(test_weighed_mass),        cmocka_unit_test(test_fringes_first),
        cmocka_unit_test(test_fringes_among_bands), cmocka_unit_test(test_not_checked),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
