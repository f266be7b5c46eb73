// SPDX-License-Identifier: GPL-3.0-or-later
/* What is written reads back, and is what any reader of JCAMP-DX takes. */
#include "reading.h"

#include <math.h>

#define POINTS 3601

static struct pellet_spectrum made(bool even, uint64_t seed)
{
    struct pellet_spectrum s = {.n = POINTS, .ordinate = PELLET_ORDINATE_ABSORBANCE, .resolution = 4};
    s.wavenumber = malloc(POINTS * sizeof(double));
    s.y = malloc(POINTS * sizeof(double));
    assert_true(s.wavenumber && s.y);
    for (size_t i = 0; i < POINTS; i++) {
        const double shake = even ? 0 : 0.3 * (double)(reading_random(&seed) % 1000) / 1000;
        s.wavenumber[i] = 399.6748 + 0.9643 * ((double)i + shake);
        s.y[i] = sin((double)i / 200) + (double)(reading_random(&seed) % 100000) * 1e-6;
    }
    s.measured = INT64_C(1772619151) * PELLET_NS_PER_S;
    s.title = strdup("caff\xC3\xA9ine $$ p1\n##END=");
    s.setting[PELLET_SETTING_INSTRUMENT] = strdup("an instrument");
    return s;
}

static void reads_back(bool even, enum pellet_ordinate ordinate)
{
    struct pellet_spectrum s = made(even, 99);
    struct pellet_text text = {0};
    struct pellet_spectra back;
    struct pellet_error error = {0};
    s.ordinate = ordinate;
    s.y[17] = NAN;
    assert_int_equal(pellet_jcamp_write(&s, "tests", &text, &error), PELLET_OK);
    assert_non_null(strstr(text.data, even ? "##XYDATA= (X++(Y..Y))\n" : "##XYPOINTS= (XY..XY)\n"));
    reading_ok(pellet_spectra_read, text.data, text.length, NULL, &back);
    const struct pellet_spectrum *b = back.item;
    assert_int_equal(b->n, POINTS);
    assert_int_equal(b->ordinate, ordinate);
    assert_null(b->warnings);
    assert_true(b->measured == s.measured);
    assert_near(b->resolution, 4, 0);
    assert_string_equal(b->title, "caff?ine $ $ p1 ##END=");
    assert_string_equal(b->setting[PELLET_SETTING_INSTRUMENT], "an instrument");
    for (size_t i = 0; i < POINTS; i++) {
        assert_near(b->wavenumber[i], s.wavenumber[i], 1e-9);
        if (i == 17)
            assert_true(isnan(b->y[i]));
        else
            assert_near(b->y[i], s.y[i], 0.51e-8);
    }
    pellet_spectra_clear(&back);
    pellet_text_free(&text);
    pellet_spectrum_clear(&s);
}

static void every_ordinate_both_forms(void **state)
{
    (void)state;
    for (int even = 0; even < 2; even++)
        for (int i = 0; i < PELLET_ORDINATE_COUNT; i++)
            reads_back(even != 0, (enum pellet_ordinate)i);
}

static void lines_are_short_and_plain(void **state)
{
    (void)state;
    struct pellet_spectrum s = made(true, 5);
    struct pellet_text text = {0};
    assert_int_equal(pellet_jcamp_write(&s, "tests", &text, NULL), PELLET_OK);
    size_t length = 0;
    for (size_t i = 0; i < text.length; i++) {
        const unsigned char c = (unsigned char)text.data[i];
        assert_true(c == '\n' || (c >= ' ' && c < 0x7F));
        length = c == '\n' ? 0 : length + 1;
        assert_true(length <= 80);
    }
    pellet_text_free(&text);
    pellet_spectrum_clear(&s);
}

/* From 1e-200 to 1e200 the ordinates come back to nine digits of the highest. */
static void any_size(void **state)
{
    (void)state;
    for (int power = -200; power <= 200; power += 50) {
        struct pellet_spectrum s = made(true, 3);
        struct pellet_text text = {0};
        struct pellet_spectra back;
        const double scale = pow(10, power);
        for (size_t i = 0; i < s.n; i++)
            s.y[i] *= scale;
        assert_int_equal(pellet_jcamp_write(&s, "tests", &text, NULL), PELLET_OK);
        reading_ok(pellet_spectra_read, text.data, text.length, NULL, &back);
        for (size_t i = 0; i < s.n; i++)
            assert_near(back.item->y[i] / scale, s.y[i] / scale, 0.51e-8);
        pellet_spectra_clear(&back);
        pellet_text_free(&text);
        pellet_spectrum_clear(&s);
    }
}

static void refused(void **state)
{
    (void)state;
    struct pellet_spectrum s = made(true, 1);
    struct pellet_text text = {0};
    struct pellet_error error = {0};
    s.y[2] = INFINITY;
    assert_int_equal(pellet_jcamp_write(&s, "tests", &text, &error), PELLET_E_RANGE);
    s.y[2] = 0;
    s.wavenumber[5] = s.wavenumber[4];
    assert_int_equal(pellet_jcamp_write(&s, "tests", &text, &error), PELLET_E_RANGE);
    s.n = 1;
    assert_int_equal(pellet_jcamp_write(&s, "tests", &text, &error), PELLET_E_SHORT);
    assert_int_equal(text.length, 0);
    pellet_spectrum_clear(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_ordinate_both_forms),
        cmocka_unit_test(lines_are_short_and_plain),
        cmocka_unit_test(any_size),
        cmocka_unit_test(refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
