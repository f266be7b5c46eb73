// SPDX-License-Identifier: GPL-3.0-or-later
/* Whole measurements: what is true of the pellet comes out of the ratio, as far as the instrument lets it. */
#include "testing.h"

#include "pellet/reference.h"
#include "synth/model.h"

#include <string.h>

static struct pellet_synth *model;

static int setup(void **state)
{
    (void)state;
    struct pellet_error error = {0};
    return pellet_synth_new(&model, &error) == PELLET_OK ? 0 : -1;
}

static int teardown(void **state)
{
    (void)state;
    pellet_synth_free(model);
    pellet_synth_free(NULL);
    return 0;
}

static struct pellet_spectrum measure(const struct pellet_synth_pellet *pellet,
                                      const struct pellet_synth_instrument *instrument, unsigned long seed)
{
    struct pellet_spectrum spectrum = {0};
    struct pellet_error error = {0};
    if (pellet_synth_measure(model, pellet, instrument, seed, &spectrum, NULL, &error) != PELLET_OK)
        fail_msg("%s", error.message);
    return spectrum;
}

static double ratio_at(const struct pellet_spectrum *a, const struct pellet_spectrum *b, double wavenumber)
{
    size_t i = 0;
    while (i + 1 < a->n && a->wavenumber[i] < wavenumber)
        i++;
    return a->y[i] / b->y[i];
}

static struct pellet_synth_instrument quiet(void)
{
    struct pellet_synth_instrument instrument;
    pellet_synth_instrument_init(&instrument);
    instrument.noise = 0.0;
    instrument.vapour_cm2 = 0.0;
    instrument.carbon_dioxide_cm2 = 0.0;
    return instrument;
}

static void the_spectrum_is_as_described(void **state)
{
    (void)state;
    const struct pellet_synth_instrument instrument = quiet();
    struct pellet_spectrum open = measure(NULL, &instrument, 1);
    assert_int_equal(open.n, (size_t)floor(3600.0 / 1.928) + 1);
    assert_int_equal(open.ordinate, PELLET_ORDINATE_SINGLE_BEAM);
    assert_string_equal(open.setting[PELLET_SETTING_RESOLUTION], "4");
    assert_string_equal(open.setting[PELLET_SETTING_SCANS], "32");
    assert_near(open.resolution, 4.0, 0.0);
    assert_true(open.measured == PELLET_NO_TIME);
    double greatest = 0.0;
    for (size_t i = 0; i < open.n; i++) {
        assert_true(open.y[i] > 0.0 && (i == 0 || open.wavenumber[i] > open.wavenumber[i - 1]));
        greatest = fmax(greatest, open.y[i]);
    }
    assert_near(greatest, 1.0, 0.01);
    pellet_spectrum_clear(&open);
}

/* A clear blank against the open beam: the plate of KBr, 91.5 % at 2000 cm-1 (Li 1976). */
static void a_clear_blank_lets_the_plate_through(void **state)
{
    (void)state;
    const struct pellet_synth_instrument instrument = quiet();
    struct pellet_synth_pellet blank;
    pellet_synth_pellet_init(&blank);
    blank.haze = blank.water_ug_cm2 = blank.fringes = 0.0;
    struct pellet_spectrum open = measure(NULL, &instrument, 1), beam = measure(&blank, &instrument, 2);
    assert_near(ratio_at(&beam, &open, 2000.0), 0.915, 5e-4);
    assert_near(ratio_at(&beam, &open, 700.0), pellet_kbr_plate_transmittance(700.0), 5e-4);
    pellet_spectrum_clear(&open);
    pellet_spectrum_clear(&beam);
}

/* Wide bands keep Beer-Lambert, narrow strong ones read too low at finite resolution: intensity is
 * averaged. */
static void resolution_acts_on_intensity(void **state)
{
    (void)state;
    const struct pellet_synth_compound compound = {
        "two", "test", 1.5, 1.53, 2, {{1000.0, 2.0, 80.0, 0.0}, {3000.0, 2.0, 4.0, 0.0}}};
    struct pellet_synth_instrument instrument = quiet();
    instrument.spacing_cm1 = 0.25;
    struct pellet_synth_pellet blank, sample;
    pellet_synth_pellet_init(&blank);
    blank.fringes = 0.0;
    sample = blank;
    sample.compound = &compound;
    sample.dose_mg_cm2 = 1.0;
    sample.grain_um = 0.05;
    struct pellet_spectrum b = measure(&blank, &instrument, 1), s = measure(&sample, &instrument, 2);
    const double wide = -log10(ratio_at(&s, &b, 1000.0)), narrow = -log10(ratio_at(&s, &b, 3000.0));
    struct pellet_synth_parts at_wide;
    pellet_synth_parts_at(&sample, instrument.forward, 1000.0, &at_wide);
    assert_near(wide, at_wide.sample, 0.02);
    /* A Lorentz band of the resolution's width and 2 A: slow convolution of 10^-A with the line shape. */
    double sum = 0.0, weight = 0.0;
    for (double offset = -24.0; offset <= 24.0; offset += 0.01) {
        const double line = pellet_synth_line(instrument.apodisation, 4.0, offset);
        struct pellet_synth_parts parts;
        pellet_synth_parts_at(&sample, instrument.forward, 3000.0 + offset, &parts);
        sum += line * pow(10.0, -parts.sample);
        weight += line;
    }
    assert_near(narrow, -log10(sum / weight), 0.01);
    struct pellet_synth_parts at_narrow;
    pellet_synth_parts_at(&sample, instrument.forward, 3000.0, &at_narrow);
    assert_true(narrow < at_narrow.sample - 0.3);
    pellet_spectrum_clear(&b);
    pellet_spectrum_clear(&s);
}

/* Stray light s of the open beam: A' = -log10((T + s)/(1 + s)); 3.00 A read 1.963 at 1 % and 2.699
 * at 0.1 %. */
/* A file of a part of the range holds the same values as the part of a whole one. */
static void a_part_is_as_the_whole(void **state)
{
    (void)state;
    struct pellet_synth_instrument whole, part;
    struct pellet_synth_pellet pellet;
    pellet_synth_pellet_init(&pellet);
    pellet_synth_instrument_init(&whole);
    whole.noise = 0.0;
    whole.resolution_cm1 = 16.0;
    whole.spacing_cm1 = 4.0;
    part = whole;
    part.low_cm1 = 1400.0;
    part.high_cm1 = 1900.0;
    struct pellet_spectrum all = measure(&pellet, &whole, 1), some = measure(&pellet, &part, 1);
    for (size_t i = 0; i < some.n; i++)
        assert_near(some.y[i], all.y[i + 250], 1e-12);
    pellet_spectrum_clear(&all);
    pellet_spectrum_clear(&some);
}

static void a_false_zero_is_a_ceiling(void **state)
{
    (void)state;
    struct pellet_synth_pellet clear, black;
    pellet_synth_pellet_init(&clear);
    clear.film = true;
    clear.fringes = clear.haze = clear.water_ug_cm2 = 0.0;
    clear.thickness_mm = 0.05;
    black = clear;
    const double dose_mg_cm2 = 0.005 * 1500.0;
    const struct pellet_synth_compound compound = {
        "black", "test", 1.5, 1.53, 1, {{1650.0, 3.0 / dose_mg_cm2, 3000.0, 1.0}}};
    black.compound = &compound;
    static const double stray[] = {0.01, 0.001}, reads[] = {1.963, 2.699};
    const size_t at = 648; /* 1649.3 cm-1 */
    for (size_t i = 0; i < 2; i++) {
        struct pellet_synth_instrument instrument = quiet();
        struct pellet_spectrum plain = measure(&clear, &instrument, 1);
        instrument.false_zero = stray[i] * plain.y[at];
        struct pellet_spectrum b = measure(&clear, &instrument, 1), s = measure(&black, &instrument, 2);
        assert_near(-log10(s.y[at] / b.y[at]), reads[i], 2e-3);
        pellet_spectrum_clear(&plain);
        pellet_spectrum_clear(&b);
        pellet_spectrum_clear(&s);
    }
}

static void below_the_cutoff_there_is_only_the_false_zero(void **state)
{
    (void)state;
    struct pellet_synth_instrument instrument = quiet();
    instrument.cutoff_cm1 = 600.0;
    instrument.false_zero = 0.01;
    struct pellet_spectrum open = measure(NULL, &instrument, 1);
    for (size_t i = 0; i < open.n && open.wavenumber[i] < 570.0; i++)
        assert_near(open.y[i], 0.01, 1e-3);
    pellet_spectrum_clear(&open);
}

/* 500 ppm at 3000 cm-1 are 1.5 cm-1. */
static void a_scale_error_moves_the_bands(void **state)
{
    (void)state;
    struct pellet_synth_pellet film;
    pellet_synth_pellet_init(&film);
    film.film = true;
    film.fringes = 0.0;
    film.haze = film.water_ug_cm2 = 0.0;
    film.compound = &pellet_synth_polystyrene;
    film.thickness_mm = 0.038;
    double at[2] = {0};
    for (int wrong = 0; wrong < 2; wrong++) {
        struct pellet_synth_instrument instrument = quiet();
        instrument.spacing_cm1 = 0.25;
        instrument.scale_ppm = wrong ? 500.0 : 0.0;
        struct pellet_spectrum open = measure(NULL, &instrument, 1), s = measure(&film, &instrument, 2);
        double deepest = 1.0;
        for (size_t i = 0; i < s.n; i++) {
            if (s.wavenumber[i] < 1590.0 || s.wavenumber[i] > 1610.0)
                continue;
            if (s.y[i] / open.y[i] < deepest) {
                deepest = s.y[i] / open.y[i];
                at[wrong] = s.wavenumber[i];
            }
        }
        pellet_spectrum_clear(&open);
        pellet_spectrum_clear(&s);
    }
    assert_near(at[0], 1601.2, 0.26);
    assert_near(at[1] - at[0], 1601.2 * 500e-6, 0.26);
}

static void the_same_seed_gives_the_same_spectrum(void **state)
{
    (void)state;
    struct pellet_synth_instrument instrument;
    pellet_synth_instrument_init(&instrument);
    struct pellet_spectrum a = measure(NULL, &instrument, 5), b = measure(NULL, &instrument, 5),
                           c = measure(NULL, &instrument, 6);
    assert_memory_equal(a.y, b.y, a.n * sizeof *a.y);
    assert_memory_not_equal(a.y, c.y, a.n * sizeof *a.y);
    double square = 0.0;
    for (size_t i = 0; i < a.n; i++)
        square += (a.y[i] - c.y[i]) * (a.y[i] - c.y[i]);
    assert_near(sqrt(square / 2.0 / (double)a.n), instrument.noise, 0.1 * instrument.noise);
    pellet_spectrum_clear(&a);
    pellet_spectrum_clear(&b);
    pellet_spectrum_clear(&c);
}

/* Every number has bounds; beyond them nothing is returned. */
static void what_is_out_of_range_is_refused(void **state)
{
    (void)state;
    struct pellet_synth_instrument instrument[6];
    struct pellet_synth_pellet pellet[5];
    for (size_t i = 0; i < 6; i++)
        pellet_synth_instrument_init(&instrument[i]);
    for (size_t i = 0; i < 5; i++)
        pellet_synth_pellet_init(&pellet[i]);
    instrument[1].low_cm1 = 300.0;
    instrument[2].resolution_cm1 = 0.5;
    instrument[3].zero_fill = 0;
    instrument[4].noise = (double)NAN;
    instrument[5].spacing_cm1 = 0.0;
    pellet[1].grain_um = 0.0;
    pellet[2].thickness_mm = (double)INFINITY;
    pellet[3].leak = 1.5;
    pellet[4].impurity_count = PELLET_SYNTH_IMPURITIES_MAX + 1;
    for (size_t i = 0; i < 10; i++) {
        const struct pellet_synth_instrument *with = &instrument[i < 6 ? i : 0];
        const struct pellet_synth_pellet *of = &pellet[i < 6 ? 0 : i - 5];
        struct pellet_spectrum spectrum = {.n = 77};
        struct pellet_synth_truth truth = {.tilt = 77.0};
        struct pellet_error error = {0};
        const pellet_status status = pellet_synth_measure(model, of, with, 1, &spectrum, &truth, &error);
        if (i == 0) {
            assert_int_equal(status, PELLET_OK);
            pellet_spectrum_clear(&spectrum);
            continue;
        }
        assert_int_equal(status, PELLET_E_RANGE);
        assert_int_equal(error.status, PELLET_E_RANGE);
        assert_true(strlen(error.message) > 0);
        assert_int_equal(spectrum.n, 77);
        assert_near(truth.tilt, 77.0, 0.0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_spectrum_is_as_described),
        cmocka_unit_test(a_clear_blank_lets_the_plate_through),
        cmocka_unit_test(resolution_acts_on_intensity),
        cmocka_unit_test(a_part_is_as_the_whole),
        cmocka_unit_test(a_false_zero_is_a_ceiling),
        cmocka_unit_test(below_the_cutoff_there_is_only_the_false_zero),
        cmocka_unit_test(a_scale_error_moves_the_bands),
        cmocka_unit_test(the_same_seed_gives_the_same_spectrum),
        cmocka_unit_test(what_is_out_of_range_is_refused),
    };
    return cmocka_run_group_tests(tests, setup, teardown);
}
