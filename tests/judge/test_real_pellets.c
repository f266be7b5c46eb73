// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Eleven real KBr pellets of dental calculus: B. P. Bartholdy and S. Gur-Arieh, 4TU.ResearchData,
 * doi 10.4121/466b2588-9689-4d84-a8a0-5216aa39e40b.v1 (CC0). What the authors say of each (too much, the same
 * pressed again with less, little sample) must come out, and the width of the phosphate band near 1035 cm-1
 * must follow theirs (ftir_calculus-grind-curve.csv there) as the powder is ground. Their exact baselines are
 * not published; straight ones give widths up to 15 % below theirs, so the order is tested strictly, the
 * digits to that much. Bands of apatite: phosphate near 1035, 603 and 563, carbonate near 1415 (textbooks,
 * from memory).
 */
#include "judge/fixture.h"

#define WIDTH_ERROR 0.15
#define BASELINE_A  0.44 /* of F16.2D2 at 2000 cm-1, where nothing absorbs; its baseline is flat */

struct pellet {
    const char *file;
    const char *fault;     /* the check that sends it back; NULL: fit for use */
    double published_fwhm; /* 0 where the authors give none */
};

static const struct pellet pellets[] = {
    {"F24.1D3_grind_a.CSV", NULL, 158.15459},
    {"F24.1D3_grind_b.CSV", "saturation", 140.85728},
    {"F24.1D3_grind_c.CSV", NULL, 130.26314},
    {"F24.1D3_grind_d.CSV", NULL, 117.8717},
    {"F24.1D3_grind_e.CSV", NULL, 111.98055},
    {"F24.1D3_grind_f.CSV", "saturation", 108.37574},
    {"F16.1B2.CSV", NULL, 0},
    {"F16.2D2.CSV", "saturation", 0},
    {"F16.2D2_b.CSV", NULL, 0},
    {"F7.2D1.CSV", "weak", 0},
    {"modern-ref_1.csv", NULL, 0},
};

/* Ratioed already, nobody says against what. False where the file is not here. */
static bool judge_real(const char *file, struct pellet_verdict *v)
{
    char below[256], path[4096];
    struct pellet_read_options options = {.ordinate = PELLET_ORDINATE_ABSORBANCE};
    struct pellet_spectra spectra = {0};
    struct pellet_error error = {0};
    struct fixture f;

    snprintf(below, sizeof below, "data/kbr/%s", file);
    if (testing_shared(below, path, sizeof path) == NULL)
        return false;
    FILE *stream = fopen(path, "rb");
    assert_non_null(stream);
    char *bytes = malloc(1 << 20);
    assert_non_null(bytes);
    const size_t n = fread(bytes, 1, 1 << 20, stream);
    fclose(stream);
    assert_int_equal(pellet_spectra_read(bytes, n, &options, &spectra, &error), PELLET_OK);
    free(bytes);
    fixture_init(&f, &spectra.item[0], NULL);
    assert_int_equal(pellet_judge(&f.inputs, v, NULL, NULL), PELLET_OK);
    fixture_clear(&f);
    pellet_spectra_clear(&spectra);
    return true;
}

/* The band nearest to `wavenumber`, which must lie within `off` of it. */
static const struct pellet_rendered_band *band_near(const struct pellet_verdict *v, double wavenumber,
                                                    double off)
{
    for (size_t i = 0; i < v->band_count; i++) {
        if (fabs(v->band[i].at_cm1 - wavenumber) <= off)
            return &v->band[i];
    }
    fail_msg("%s: no band near %g cm-1", v->file, wavenumber);
    return NULL;
}

static void test_verdicts(void **state)
{
    (void)state;

    for (size_t i = 0; i < sizeof pellets / sizeof pellets[0]; i++) {
        const struct pellet *p = &pellets[i];
        struct pellet_verdict v;

        if (!judge_real(p->file, &v))
            skip();
        print_message("%-20s %-7s %s\n", p->file, pellet_outcome_id(v.outcome), v.summary);
        assert_int_equal(v.outcome, p->fault != NULL ? PELLET_REMAKE : PELLET_PASS);
        if (p->fault != NULL)
            assert_string_equal(v.reason[0].check->id, p->fault);
        pellet_verdict_clear(&v);
    }
}

static void test_bands_of_apatite(void **state)
{
    (void)state;
    double before = INFINITY;

    for (size_t i = 0; i < sizeof pellets / sizeof pellets[0]; i++) {
        const struct pellet *p = &pellets[i];
        struct pellet_verdict v;

        if (p->fault != NULL && strcmp(p->fault, "weak") == 0) /* mostly organic */
            continue;
        if (!judge_real(p->file, &v))
            skip();
        const struct pellet_rendered_band *phosphate = band_near(&v, 1038.0, 10.0);
        print_message("%-20s %8.2f cm-1, %.3f A high, %.1f cm-1 wide (published %.1f)\n", p->file,
                      phosphate->at_cm1, phosphate->height, phosphate->width_cm1, p->published_fwhm);
        band_near(&v, 603.0, 6.0);
        band_near(&v, 564.0, 6.0);
        band_near(&v, 1415.0, 15.0);
        if (p->published_fwhm > 0.0) {
            assert_near(phosphate->width_cm1 / p->published_fwhm, 1.0, WIDTH_ERROR);
            assert_true(phosphate->width_cm1 < before);
            before = phosphate->width_cm1;
        }
        pellet_verdict_clear(&v);
    }
}

/* "The same sample pressed again with less": every band falls by about the same factor. */
static void test_pressed_again_with_less(void **state)
{
    (void)state;
    static const double at_cm1[] = {1653.0, 566.0, 604.0, 1044.0};
    double share[sizeof at_cm1 / sizeof at_cm1[0]];
    struct pellet_verdict much, less;

    if (!judge_real("F16.2D2.CSV", &much) || !judge_real("F16.2D2_b.CSV", &less))
        skip();
    for (size_t i = 0; i < sizeof at_cm1 / sizeof at_cm1[0]; i++) {
        share[i] = band_near(&less, at_cm1[i], 8.0)->height / band_near(&much, at_cm1[i], 8.0)->height;
        print_message("%6.0f cm-1: %.3f of the height\n", at_cm1[i], share[i]);
        assert_near(share[i] / share[0], 1.0, 0.15);
    }
    /* Its top at 1044 cm-1 is off scale; what the flanks say of it holds what the weaker bands say. */
    const double true_height = band_near(&less, 1044.0, 8.0)->height / (0.5 * (share[1] + share[2]));
    print_message("  1044 cm-1: %.2f A by the weaker bands, %.2f to %.2f A by the flanks\n",
                  true_height + BASELINE_A, much.found.true_absorbance_low, much.found.true_absorbance_high);
    assert_true(much.found.true_absorbance_low <= true_height + BASELINE_A);
    assert_true(much.found.true_absorbance_high >= true_height + BASELINE_A);
    pellet_verdict_clear(&much);
    pellet_verdict_clear(&less);
}

/* Its baseline of CO2 points the wrong way: -0.0232 A at 2361 below the line from 2300 to 2400. */
static void test_overcompensated_carbon_dioxide(void **state)
{
    (void)state;
    struct pellet_verdict v;

    if (!judge_real("modern-ref_1.csv", &v))
        skip();
    const struct pellet_finding *f = fixture_check(&v, "carbon_dioxide");
    assert_non_null(f);
    assert_near(f->value, -0.0232, 0.005);
    pellet_verdict_clear(&v);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_verdicts),
        cmocka_unit_test(test_bands_of_apatite),
        cmocka_unit_test(test_pressed_again_with_less),
        cmocka_unit_test(test_overcompensated_carbon_dioxide),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
