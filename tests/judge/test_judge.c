// SPDX-License-Identifier: GPL-3.0-or-later
#include "judge/fixture.h"

static const double one = 1.0, half = 0.5;

static void test_unreadable_file_is_a_verdict(void **state)
{
    (void)state;
    const struct pellet_error error = {
        .status = PELLET_E_NUMBER, .line = 7, .message = "'abc' is not a number"};
    struct pellet_verdict v;
    struct fixture f;

    fixture_init(&f, NULL, NULL);
    f.inputs.read_error = &error;
    assert_int_equal(pellet_judge(&f.inputs, &v, NULL, NULL), PELLET_OK);
    assert_int_equal(v.outcome, PELLET_RESCAN);
    assert_int_equal(v.reason_count, 1);
    assert_string_equal(v.reason[0].check->id, "read");
    assert_string_equal(v.reason[0].says, "line 7: 'abc' is not a number");
    assert_int_equal(v.check_count, 0);
    assert_true(strlen(v.instruction) > 0);
    pellet_verdict_clear(&v);
    fixture_clear(&f);
}

/* Nothing is guessed from the numbers alone: the verdict names the setting that is missing. */
static void test_unknown_ordinate(void **state)
{
    (void)state;
    struct pellet_spectrum s = fixture_spectrum(PELLET_ORDINATE_UNKNOWN, fixture_constant, &half, 1e-4);
    struct pellet_verdict v;
    struct fixture f;

    fixture_init(&f, &s, NULL);
    assert_int_equal(pellet_judge(&f.inputs, &v, NULL, NULL), PELLET_OK);
    assert_int_equal(v.outcome, PELLET_RESCAN);
    assert_non_null(strstr(v.reason[0].says, "ordinate"));
    assert_non_null(strstr(v.instruction, "have 'ordinate' set"));
    pellet_verdict_clear(&v);
    s.ordinate = PELLET_ORDINATE_OTHER;
    assert_int_equal(pellet_judge(&f.inputs, &v, NULL, NULL), PELLET_OK);
    assert_int_equal(v.outcome, PELLET_RESCAN);
    pellet_verdict_clear(&v);
    fixture_clear(&f);
    pellet_spectrum_clear(&s);
}

/* Without a blank a single beam waits; when nothing more can come it is to be measured again, for the same
 * reason. */
static void test_wait_and_its_end(void **state)
{
    (void)state;
    struct pellet_spectrum s = fixture_spectrum(PELLET_ORDINATE_SINGLE_BEAM, fixture_constant, &half, 1e-4);
    struct pellet_verdict v;
    struct fixture f;

    fixture_init(&f, &s, NULL);
    assert_int_equal(pellet_judge(&f.inputs, &v, NULL, NULL), PELLET_OK);
    assert_int_equal(v.outcome, PELLET_WAIT);
    assert_string_equal(v.reason[0].check->id, "blank");
    assert_true(pellet_verdict_waits_for_blank(&v));
    assert_int_equal(fixture_check(&v, "saturation")->outcome, PELLET_NOT_CHECKED);
    pellet_verdict_clear(&v);

    f.inputs.wait_over = true;
    assert_int_equal(pellet_judge(&f.inputs, &v, NULL, NULL), PELLET_OK);
    assert_int_equal(v.outcome, PELLET_RESCAN);
    assert_string_equal(v.reason[0].check->id, "blank");
    assert_false(pellet_verdict_waits_for_blank(&v));
    assert_true(v.wait_over);
    pellet_verdict_clear(&v);
    fixture_clear(&f);
    pellet_spectrum_clear(&s);
}

static void test_settings_conflict_is_a_rescan(void **state)
{
    (void)state;
    struct pellet_spectrum blank =
        fixture_spectrum(PELLET_ORDINATE_SINGLE_BEAM, fixture_constant, &one, 1e-4);
    struct pellet_spectrum s = fixture_spectrum(PELLET_ORDINATE_SINGLE_BEAM, fixture_constant, &half, 1e-4);
    struct pellet_verdict v;
    struct fixture f;

    blank.resolution = 4.0;
    s.resolution = 2.0;
    fixture_init(&f, &s, &blank);
    assert_int_equal(pellet_judge(&f.inputs, &v, NULL, NULL), PELLET_OK);
    assert_int_equal(v.outcome, PELLET_RESCAN);
    assert_non_null(strstr(v.reason[0].says, "resolution 2 and 4"));
    pellet_verdict_clear(&v);
    fixture_clear(&f);
    pellet_spectrum_clear(&s);
    pellet_spectrum_clear(&blank);
}

static void test_required_check_that_cannot_be_made(void **state)
{
    (void)state;
    struct pellet_spectrum s = fixture_spectrum(PELLET_ORDINATE_ABSORBANCE, fixture_constant, &half, 1e-4);
    const size_t opacity = pellet_check_index(pellet_check_find("opacity"));
    struct pellet_verdict v;
    struct fixture f;

    fixture_init(&f, &s, NULL); /* ratioed against what is not known: opacity cannot be checked */
    f.rules.rule[opacity].required = true;
    assert_int_equal(pellet_judge(&f.inputs, &v, NULL, NULL), PELLET_OK);
    assert_int_equal(fixture_check(&v, "opacity")->outcome, PELLET_WAIT);
    pellet_verdict_clear(&v);
    fixture_clear(&f);
    pellet_spectrum_clear(&s);
}

static double noisy_and_strong(double wavenumber, const void *with)
{
    const uint32_t seed = (uint32_t)wavenumber * 2654435761u;
    const double x = (wavenumber - 1100.0) / 15.0;

    (void)with;
    return 3.0 / (1.0 + x * x) + 0.02 * ((double)(seed >> 8) / 8388608.0 - 1.0);
}

/* Noise refuses the measurement, so nothing may be said of the pellet: rescan, not remake. */
static void test_trust_first(void **state)
{
    (void)state;
    struct pellet_spectrum s = fixture_spectrum(PELLET_ORDINATE_ABSORBANCE, noisy_and_strong, NULL, 0.0);
    struct pellet_verdict v;
    struct fixture f;

    fixture_init(&f, &s, NULL);
    f.settings.ratioed_against = PELLET_RATIOED_BLANK;
    assert_int_equal(pellet_judge(&f.inputs, &v, NULL, NULL), PELLET_OK);
    assert_int_equal(fixture_check(&v, "noise")->outcome, PELLET_RESCAN);
    assert_int_equal(fixture_check(&v, "saturation")->outcome, PELLET_NOT_CHECKED);
    assert_int_equal(fixture_check(&v, "saturation")->phrase, PELLET_SAYS_MEASURE_AGAIN);
    assert_int_equal(v.outcome, PELLET_RESCAN);
    pellet_verdict_clear(&v);
    fixture_clear(&f);
    pellet_spectrum_clear(&s);
}

/* A beam that falls to a hundredth below 480 cm-1. */
static double falling_beam(double nu, const void *with)
{
    (void)with;
    return exp(-fmax(480.0 - nu, 0.0) / 18.0);
}

/* The same through a blank with nitrate. */
static double blank_with_nitrate(double nu, const void *with)
{
    const double u = (nu - 1384.0) / 14.0;
    return falling_beam(nu, with) * pow(10.0, -0.04 - 0.035 * exp(-4.0 * M_LN2 * u * u));
}

/* The bands are held against the noise of their own place: a beam's loud end neither makes bands of its own
 * nor hides those elsewhere. */
static void test_a_loud_end_hides_no_band(void **state)
{
    (void)state;
    struct pellet_spectrum open = fixture_spectrum(PELLET_ORDINATE_SINGLE_BEAM, falling_beam, NULL, 0.0);
    struct pellet_spectrum s = fixture_spectrum(PELLET_ORDINATE_SINGLE_BEAM, blank_with_nitrate, NULL, 1e-3);
    struct pellet_verdict v;
    struct fixture f;

    fixture_init(&f, &s, NULL);
    f.open_beam = (struct pellet_source){.file = "open.csv", .role = PELLET_OPEN_BEAM, .spectrum = &open};
    f.inputs.open_beam = &f.open_beam;
    f.inputs.subject.role = PELLET_BLANK;
    assert_int_equal(pellet_judge(&f.inputs, &v, NULL, NULL), PELLET_OK);
    const struct pellet_finding *purity = fixture_check(&v, "purity");
    assert_non_null(purity);
    assert_int_equal(purity->outcome, PELLET_REMAKE);
    assert_near(purity->at_cm1, 1384.0, 1.0);
    assert_near(purity->value, 0.035, 0.003);
    assert_int_equal(v.band_count, 1);
    pellet_verdict_clear(&v);
    fixture_clear(&f);
    pellet_spectrum_clear(&s);
    pellet_spectrum_clear(&open);
}

/* The same inputs give the same bytes, however often. */
static void test_reproducible(void **state)
{
    (void)state;
    struct pellet_spectrum blank =
        fixture_spectrum(PELLET_ORDINATE_SINGLE_BEAM, fixture_constant, &one, 1e-4);
    struct pellet_spectrum s = fixture_spectrum(PELLET_ORDINATE_SINGLE_BEAM, fixture_constant, &half, 1e-4);
    struct pellet_text first = {0}, again = {0};
    struct pellet_verdict v;
    struct fixture f;

    fixture_init(&f, &s, &blank);
    assert_int_equal(pellet_judge(&f.inputs, &v, NULL, NULL), PELLET_OK);
    assert_int_equal(pellet_verdict_write(&v, &first), PELLET_OK);
    pellet_verdict_clear(&v);
    assert_int_equal(pellet_judge(&f.inputs, &v, NULL, NULL), PELLET_OK);
    assert_int_equal(pellet_verdict_write(&v, &again), PELLET_OK);
    assert_string_equal(pellet_text_string(&first), pellet_text_string(&again));
    pellet_verdict_clear(&v);
    pellet_text_free(&first);
    pellet_text_free(&again);
    fixture_clear(&f);
    pellet_spectrum_clear(&s);
    pellet_spectrum_clear(&blank);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_unreadable_file_is_a_verdict),
        cmocka_unit_test(test_unknown_ordinate),
        cmocka_unit_test(test_wait_and_its_end),
        cmocka_unit_test(test_settings_conflict_is_a_rescan),
        cmocka_unit_test(test_required_check_that_cannot_be_made),
        cmocka_unit_test(test_trust_first),
        cmocka_unit_test(test_a_loud_end_hides_no_band),
        cmocka_unit_test(test_reproducible),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
