// SPDX-License-Identifier: GPL-3.0-or-later
/* Clearing and copying, and which reader a file goes to. */
#include "reading.h"

static void copies_are_deep(void **state)
{
    (void)state;
    double x[] = {1, 2, 3}, y[] = {4, NAN, 6};
    char title[] = "t", warnings[] = "w", scans[] = "32";
    const struct pellet_spectrum from = {.n = 3,
                                         .wavenumber = x,
                                         .y = y,
                                         .ordinate = PELLET_ORDINATE_TRANSMITTANCE,
                                         .resolution = 4,
                                         .measured = 77,
                                         .title = title,
                                         .warnings = warnings,
                                         .setting[PELLET_SETTING_SCANS] = scans};
    struct pellet_spectrum to = {0};
    assert_int_equal(pellet_spectrum_copy(&from, &to), PELLET_OK);
    assert_int_equal(to.n, 3);
    assert_memory_equal(to.wavenumber, x, sizeof x);
    assert_memory_equal(to.y, y, sizeof y);
    assert_true(to.wavenumber != x && to.y != y && to.title != title);
    assert_int_equal(to.ordinate, from.ordinate);
    assert_true(to.resolution == 4 && to.measured == 77);
    assert_string_equal(to.title, "t");
    assert_string_equal(to.warnings, "w");
    assert_string_equal(to.setting[PELLET_SETTING_SCANS], "32");
    assert_null(to.setting[PELLET_SETTING_GAIN]);
    pellet_spectrum_clear(&to);
    assert_null(to.y);
    assert_int_equal(to.n, 0);
    pellet_spectrum_clear(&to);
    pellet_spectrum_clear(NULL);
    pellet_spectra_clear(NULL);
}

static void told_by_content(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        bool jcamp;
    } rows[] = {
        {"##TITLE= a\n##END=\n", true}, {"\xEF\xBB\xBF\r\n $$ comment\n\n ## title= a\n##END=\n", true},
        {"$$ only a comment", false},   {"# Title: a\n", false},
        {"##OWNER= a\n", false},        {"", false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct pellet_error by_content = {0}, by_jcamp = {0}, by_csv = {0};
        struct pellet_spectra spectra = {0};
        const size_t n = strlen(rows[i].text);
        reading_exact(pellet_spectra_read, rows[i].text, n, NULL, &spectra, &by_content);
        reading_exact(pellet_jcamp_read, rows[i].text, n, NULL, &spectra, &by_jcamp);
        reading_exact(pellet_csv_read, rows[i].text, n, NULL, &spectra, &by_csv);
        assert_string_not_equal(by_jcamp.message, by_csv.message);
        assert_string_equal(by_content.message, rows[i].jcamp ? by_jcamp.message : by_csv.message);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(copies_are_deep), cmocka_unit_test(told_by_content)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
