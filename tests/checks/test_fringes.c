// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/shapes.h"

#include "checks/view.h"
#include "pellet/reference.h"

static const struct pellet_check *const check = &pellet_check_fringes;

static double own_thickness(const struct pellet_measurement *measurement)
{
    double thickness_mm;

    assert_int_equal(checks_own_fringe_thickness(measurement, &thickness_mm), PELLET_OK);
    return thickness_mm;
}

/* The order of interference of a plate of KBr, by its dispersion: v n(v) 2 d. */
static double fringe(double wavenumber, double thickness_mm)
{
    return cos(2.0 * M_PI * 2.0 * pellet_kbr_index(wavenumber) * 0.1 * thickness_mm * wavenumber);
}

static void add_fringes(const struct shapes *s, double *y, double half, double thickness_mm)
{
    for (size_t i = 0; i < s->m.n; i++)
        y[i] += half * fringe(s->m.wavenumber[i], thickness_mm);
}

/* Both beams, smooth; fringes are added as A. */
static void give_beams(struct shapes *s, double own, double own_mm, double blank, double blank_mm)
{
    s->m.single_beams = true;
    s->m.single_beam = shapes_array(s->m.n);
    s->m.reference = shapes_array(s->m.n);
    for (size_t i = 0; i < s->m.n; i++) {
        const double wavenumber = s->m.wavenumber[i];
        const double light = 0.2 + exp(-pow((wavenumber - 1800.0) / 1200.0, 2.0));
        s->m.single_beam[i] = light * pow(10.0, -own * fringe(wavenumber, own_mm));
        s->m.reference[i] = light * pow(10.0, -blank * fringe(wavenumber, blank_mm));
        s->m.absorbance[i] = -log10(s->m.single_beam[i] / s->m.reference[i]);
    }
}

/* The published example: 29 fringes from 1806 to 544 cm-1 at n = 1 are 0.01149 cm. */
static void test_published(void **state)
{
    (void)state;
    assert_near(pellet_fringe_thickness_mm((1806.0 - 544.0) / 29.0, 1.0), 0.1149, 0.00005);
}

/* 0.411 mm, the pellet of 150 mg on 13 mm: 7.92 cm-1 by n = 1.5346, so d comes back from the curve. */
static void test_thickness_comes_back(void **state)
{
    (void)state;
    const double thickness[] = {0.15, 0.30, 0.411, 0.54};
    for (size_t i = 0; i < 4; i++) {
        struct shapes s;
        shapes_open(&s, 400.0, 4000.0, 1.0);
        s.m.basis = PELLET_AGAINST_OPEN_BEAM;
        add_fringes(&s, s.m.absorbance, 0.03, thickness[i]);
        const struct pellet_finding *f = shapes_run(&s, check);
        assert_outcome(f, PELLET_NOTE, PELLET_SAYS_RIPPLE);
        assert_near(f->value, 0.06, 0.001);
        assert_near(f->number[1], thickness[i], 0.005 * thickness[i]);
        assert_near(f->number[0], 10.0 / (2.0 * pellet_kbr_group_index(2200.0) * thickness[i]),
                    0.005 * f->number[0]);
        shapes_close(&s);
    }
}

static void test_limit_edges(void **state)
{
    (void)state;
    struct shapes s;
    shapes_open(&s, 400.0, 4000.0, 1.0);
    s.m.basis = PELLET_AGAINST_OPEN_BEAM;
    add_fringes(&s, s.m.absorbance, 0.0098, 0.3);
    assert_outcome(shapes_run(&s, check), PELLET_PASS, PELLET_SAYS_WITHIN);
    add_fringes(&s, s.m.absorbance, 0.0004, 0.3);
    assert_outcome(shapes_run(&s, check), PELLET_NOTE, PELLET_SAYS_RIPPLE);
    shapes_close(&s);

    shapes_open(&s, 400.0, 4000.0, 1.0);
    assert_outcome(shapes_run(&s, check), PELLET_PASS, PELLET_SAYS_WITHIN);
    assert_near(s.finding.value, 0.0, 0.0);
    assert_true(isnan(s.finding.number[0]));
    shapes_close(&s);
}

/* Bands and carbon dioxide in the window do not make a ripple, nor hide one. */
static void test_band_free_points(void **state)
{
    (void)state;
    struct shapes s;
    shapes_open(&s, 400.0, 4000.0, 1.0);
    s.m.basis = PELLET_AGAINST_OPEN_BEAM;
    for (size_t i = 0; i < s.m.n; i++)
        s.m.absorbance[i] += s.m.wavenumber[i] > 2300.0 && s.m.wavenumber[i] < 2380.0 ? 0.2 : 0.0;
    shapes_mark(&s, 2300.0, 2380.0, PELLET_POINT_CO2);
    shapes_band(&s, 2230.0, 0.5, 12.0);
    for (size_t i = 0; i < s.m.n; i++)
        s.m.absorbance[i] -= shapes_lorentzian(s.m.wavenumber[i], 2230.0, 0.5, 0.0, 12.0);
    for (size_t i = 0; i < s.m.n; i++)
        s.m.absorbance[i] += fabs(s.m.wavenumber[i] - 2230.0) < 24.0 ? 0.4 : 0.0;
    assert_outcome(shapes_run(&s, check), PELLET_PASS, PELLET_SAYS_WITHIN);
    add_fringes(&s, s.m.absorbance, 0.02, 0.411);
    const struct pellet_finding *f = shapes_run(&s, check);
    assert_near(f->value, 0.04, 0.001);
    assert_near(f->number[1], 0.411, 0.004);
    shapes_close(&s);
}

/* The band finder takes fringes for bands: they must not hide themselves. */
static void test_fringes_among_the_bands(void **state)
{
    (void)state;
    struct shapes s;
    shapes_open(&s, 400.0, 4000.0, 1.0);
    s.m.basis = PELLET_AGAINST_OPEN_BEAM;
    add_fringes(&s, s.m.absorbance, 0.03, 0.411);
    for (size_t i = 0; i < SHAPES_BANDS_MAX; i++)
        s.band[i] = (struct pellet_band){.at_cm1 = 1900.0 + 15.85 * (double)i,
                                         .height = 0.06,
                                         .width_cm1 = 4.0,
                                         .low_cm1 = 1892.0 + 15.85 * (double)i,
                                         .high_cm1 = 1908.0 + 15.85 * (double)i};
    s.m.band_count = SHAPES_BANDS_MAX;
    shapes_mark(&s, 1850.0, 2550.0, PELLET_POINT_BAND);
    const struct pellet_finding *f = shapes_run(&s, check);
    assert_outcome(f, PELLET_NOTE, PELLET_SAYS_RIPPLE);
    assert_near(f->number[1], 0.411, 0.003);
    shapes_close(&s);
}

/* Whose ripple it is: told by the blank's own beam, and not at all where there are no beams. */
static void test_owner(void **state)
{
    (void)state;
    struct shapes s;
    shapes_open(&s, 400.0, 4000.0, 1.0);
    give_beams(&s, 0.02, 0.411, 0.0, 0.3);
    assert_outcome(shapes_run(&s, check), PELLET_NOTE, PELLET_SAYS_RIPPLE);
    shapes_close(&s);

    shapes_open(&s, 400.0, 4000.0, 1.0);
    give_beams(&s, 0.0, 0.411, 0.02, 0.3);
    assert_outcome(shapes_run(&s, check), PELLET_NOTE, PELLET_SAYS_RIPPLE_OWNER);
    assert_true(isnan(s.finding.number[1]));
    assert_near(s.finding.number[0], 10.85, 0.2);
    assert_true(isnan(own_thickness(&s.m)));
    shapes_close(&s);

    /* Both ripple, at different thickness: the pellet's own is told from its own beam. */
    shapes_open(&s, 400.0, 4000.0, 1.0);
    give_beams(&s, 0.02, 0.411, 0.03, 0.3);
    assert_outcome(shapes_run(&s, check), PELLET_NOTE, PELLET_SAYS_RIPPLE_OWNER);
    assert_near(own_thickness(&s.m), 0.411, 0.004);
    shapes_close(&s);

    shapes_open(&s, 400.0, 4000.0, 1.0);
    add_fringes(&s, s.m.absorbance, 0.02, 0.411);
    assert_outcome(shapes_run(&s, check), PELLET_NOTE, PELLET_SAYS_RIPPLE_OWNER);
    shapes_close(&s);
}

/* The instrument's ripple stands in both beams and not in the ratio; the pellet's own is told all
 * the same. */
static void test_instruments_ripple(void **state)
{
    (void)state;
    struct shapes s;
    shapes_open(&s, 400.0, 4000.0, 1.0);
    give_beams(&s, 0.01, 0.3, 0.0, 0.3);
    for (size_t i = 0; i < s.m.n; i++) {
        const double window = 1.0 + 0.05 * cos(2.0 * M_PI * s.m.wavenumber[i] / 45.0);
        s.m.single_beam[i] *= window;
        s.m.reference[i] *= window;
    }
    assert_outcome(shapes_run(&s, check), PELLET_PASS, PELLET_SAYS_WITHIN);
    assert_near(own_thickness(&s.m), 0.3, 0.002);
    shapes_close(&s);
}

/* 0.055 mm make eleven waves in the window; a broad band as high as they are makes none. */
static void test_few_waves(void **state)
{
    (void)state;
    for (int broad = 0; broad < 2; broad++) {
        struct shapes s;
        shapes_open(&s, 400.0, 4000.0, 1.0);
        s.m.basis = PELLET_AGAINST_OPEN_BEAM;
        for (size_t i = 0; i < s.m.n; i++)
            s.m.absorbance[i] = broad ? 0.05 * exp(-pow((s.m.wavenumber[i] - 2420.0) / 35.0, 2.0)) : 0.0;
        if (!broad)
            add_fringes(&s, s.m.absorbance, 0.02, 0.055);
        shapes_run(&s, check);
        const double thickness = own_thickness(&s.m);
        if (broad)
            assert_true(isnan(thickness));
        else
            assert_near(thickness, 0.055, 0.0005);
        shapes_close(&s);
    }
}

/*
 * At 4 cm-1 the longest path difference is 0.25 cm and 70 % of it make 0.57 mm of KBr (the thickest whose
 * fringes show at all is 0.81 mm).
 */
static void test_too_fine(void **state)
{
    (void)state;
    struct shapes s;
    shapes_open(&s, 400.0, 4000.0, 1.0);
    s.m.basis = PELLET_AGAINST_OPEN_BEAM;
    add_fringes(&s, s.m.absorbance, 0.03, 0.60);
    assert_not_checked(shapes_run(&s, check), PELLET_SAYS_RIPPLE_TOO_FINE);
    s.m.resolution = 2.0;
    assert_outcome(shapes_run(&s, check), PELLET_NOTE, PELLET_SAYS_RIPPLE);
    assert_near(s.finding.number[1], 0.60, 0.006);
    s.m.resolution = NAN;
    assert_outcome(shapes_run(&s, check), PELLET_NOTE, PELLET_SAYS_RIPPLE);
    shapes_close(&s);

    /* Nothing seen, and 300 mg on 13 mm (0.82 mm) could not show: that is not "none". */
    shapes_open(&s, 400.0, 4000.0, 1.0);
    s.inputs.row = &s.row;
    s.row = (struct pellet_worksheet_row){.pressed_mg = 300.0, .die_mm = 13.0};
    assert_not_checked(shapes_run(&s, check), PELLET_SAYS_RIPPLE_TOO_FINE);
    s.row.pressed_mg = 150.0;
    assert_outcome(shapes_run(&s, check), PELLET_PASS, PELLET_SAYS_WITHIN);
    shapes_close(&s);
}

static void test_not_checked(void **state)
{
    (void)state;
    struct shapes s;
    shapes_open(&s, 400.0, 4000.0, 1.0);
    shapes_band(&s, 2200.0, 0.5, 200.0);
    assert_not_checked(shapes_run(&s, check), PELLET_SAYS_NO_CLEAR_WINDOW);
    shapes_mark(&s, 2300.0, 2430.0, PELLET_POINT_UNUSABLE);
    assert_not_checked(shapes_run(&s, check), PELLET_SAYS_TOO_FEW_POINTS);
    s.m.role = PELLET_BLANK;
    s.m.basis = PELLET_AGAINST_NOTHING;
    assert_not_checked(shapes_run(&s, check), PELLET_SAYS_NEEDS_OPEN_BEAM);
    shapes_close(&s);
}

/* Seeded noise of 0.001 A, ten times: no ripple is reported beyond the limit. */
static void test_noise_is_no_ripple(void **state)
{
    (void)state;
    uint64_t seed = 20260304;
    for (size_t k = 0; k < 10; k++) {
        struct shapes s;
        shapes_open(&s, 1800.0, 2600.0, 1.0);
        for (size_t i = 0; i < s.m.n; i++) {
            double sum = 0.0; /* of twelve uniforms: a variance of one */
            for (size_t j = 0; j < 12; j++)
                sum += shapes_random(&seed);
            s.m.absorbance[i] = 0.001 * (sum - 6.0);
        }
        assert_outcome(shapes_run(&s, check), PELLET_PASS, PELLET_SAYS_WITHIN);
        assert_true(s.finding.value < 0.001);
        shapes_close(&s);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_published),
        cmocka_unit_test(test_thickness_comes_back),
        cmocka_unit_test(test_limit_edges),
        cmocka_unit_test(test_band_free_points),
        cmocka_unit_test(test_owner),
        cmocka_unit_test(test_instruments_ripple),
        cmocka_unit_test(test_few_waves),
        cmocka_unit_test(test_fringes_among_the_bands),
        cmocka_unit_test(test_too_fine),
        cmocka_unit_test(test_not_checked),
        cmocka_unit_test(test_noise_is_no_ripple),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
