// SPDX-License-Identifier: GPL-3.0-or-later
/* Files that are no spectrum: each refused with line, cause and remedy, and nothing touched. */
#include "reading.h"

#define ROWS 60

/* ROWS good rows, one of them (counted from 1; 0 for none) replaced by `bad`. */
static size_t rows(char *out, int count, int at, const char *bad)
{
    char *end = out;
    for (int i = 1; i <= count; i++) {
        if (i == at)
            end += sprintf(end, "%s\n", bad);
        else
            end += sprintf(end, "%d,%d.5\n", 1000 + 2 * i, i);
    }
    return (size_t)(end - out);
}

static void broken_rows(void **state)
{
    (void)state;
    static const struct {
        const char *name, *bad;
        int at;
        pellet_status status;
        const char *words;
    } cases[] = {
        {"NaN", "1040,NaN", 20, PELLET_E_NUMBER, "'NaN'"},
        {"infinity", "1040,inf", 20, PELLET_E_NUMBER, "'inf'"},
        {"beyond a double", "1040,1e999", 20, PELLET_E_NUMBER, "'1e999'"},
        {"a word", "1040,abc", 20, PELLET_E_NUMBER, "'abc'"},
        {"a word in the first row", "1002,abc", 1, PELLET_E_NUMBER, "'abc'"},
        {"a word in the second row", "1004,abc", 2, PELLET_E_NUMBER, "'abc'"},
        {"a word in the last row", "1120,abc", 60, PELLET_E_NUMBER, "'abc'"},
        {"an abscissa that is none", "abc,0.5", 20, PELLET_E_NUMBER, "'abc'"},
        {"hexadecimal", "1040,0x10", 20, PELLET_E_NUMBER, "'0x10'"},
        {"two points", "1040,1.2.3", 20, PELLET_E_NUMBER, "'1.2.3'"},
        {"an empty ordinate", "1040,", 20, PELLET_E_FORMAT, "1 columns here, 2 above"},
        {"no ordinate", "1040", 20, PELLET_E_FORMAT, "1 columns here, 2 above"},
        {"one column more", "1040,1,2", 20, PELLET_E_FORMAT, "3 columns here, 2 above"},
        {"an empty abscissa", ",0.5", 20, PELLET_E_NUMBER, "''"},
        {"repeated abscissa", "1038,1", 20, PELLET_E_FORMAT, "1038 is repeated"},
        {"falling abscissa", "1030,1", 20, PELLET_E_FORMAT, "turns back at 1030"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char text[4096];
        print_message("%s\n", cases[i].name);
        const size_t n = rows(text, ROWS, cases[i].at, cases[i].bad);
        reading_refused(pellet_spectra_read, text, n, NULL, cases[i].status, (size_t)cases[i].at,
                        cases[i].words);
    }
}

static void no_spectrum_at_all(void **state)
{
    (void)state;
    static const struct {
        const char *name, *text;
        pellet_status status;
        size_t line;
        const char *words;
    } cases[] = {
        {"empty", "", PELLET_E_SHORT, 0, "empty"},
        {"a byte order mark", "\xEF\xBB\xBF", PELLET_E_SHORT, 0, "empty"},
        {"text", "The pellet broke.\nPress again.\n", PELLET_E_FORMAT, 1, "no table of numbers"},
        {"blank lines", "\n\n\n", PELLET_E_FORMAT, 1, "no table of numbers"},
        {"one column", "absorbance\n0.1\n0.2\n0.3\n", PELLET_E_FORMAT, 2, "one column of numbers"},
        {"a single row", "1000,0.5\n", PELLET_E_SHORT, 1, "no two rows"},
        {"a wavelength without unit", "wavelength,A\n1000,1\n1001,2\n", PELLET_E_SHORT, 2, "only 2 points"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        print_message("%s\n", cases[i].name);
        reading_refused(pellet_spectra_read, cases[i].text, strlen(cases[i].text), NULL, cases[i].status,
                        cases[i].line, cases[i].words);
    }
}

static void too_few_points(void **state)
{
    (void)state;
    char text[4096];
    struct pellet_spectra spectra;
    size_t n = rows(text, PELLET_POINTS_MIN - 1, 0, NULL);
    reading_refused(pellet_csv_read, text, n, NULL, PELLET_E_SHORT, 1, "only 49 points");
    n = rows(text, PELLET_POINTS_MIN, 0, NULL);
    reading_ok(pellet_csv_read, text, n, NULL, &spectra);
    pellet_spectra_clear(&spectra);
}

static void abscissas_that_are_none(void **state)
{
    (void)state;
    static const struct {
        const char *heading, *format;
        pellet_status status;
        const char *words;
    } cases[] = {
        {"Raman shift (cm-1),counts\n", "%d,1\n", PELLET_E_UNIT, "Raman shift"},
        {"wavelength,A\n", "%d,1\n", PELLET_E_UNIT, "without a unit"},
        {"", "%d.5e-3,1\n", PELLET_E_UNIT, "has no unit"},
        {"cm-1,A\n", "-%d,1\n", PELLET_E_RANGE, "not above 0"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char text[4096];
        print_message("%s\n", cases[i].words);
        strcpy(text, cases[i].heading);
        for (int k = 0; k < ROWS; k++)
            sprintf(text + strlen(text), cases[i].format, 1000 + k);
        reading_refused(pellet_csv_read, text, strlen(text), NULL, cases[i].status,
                        cases[i].heading[0] ? 2 : 1, cases[i].words);
    }
}

static void binary_junk(void **state)
{
    (void)state;
    char junk[4096];
    uint64_t seed = 7;
    for (size_t i = 0; i < sizeof junk; i++)
        junk[i] = (char)reading_random(&seed);
    junk[0] = 'P'; /* no byte order mark */
    junk[1] = 0;
    reading_refused(pellet_spectra_read, junk, sizeof junk, NULL, PELLET_E_FORMAT, 1, "binary data");
}

static void limits_at_the_edge(void **state)
{
    (void)state;
    char text[4096];
    struct pellet_spectra spectra;
    const size_t n = rows(text, ROWS, 0, NULL);
    reading_ok(pellet_csv_read, text, n, &(struct pellet_read_options){.bytes_max = n}, &spectra);
    pellet_spectra_clear(&spectra);
    reading_refused(pellet_csv_read, text, n, &(struct pellet_read_options){.bytes_max = n - 1},
                    PELLET_E_LIMIT, 0, "at most");
    reading_ok(pellet_csv_read, text, n, &(struct pellet_read_options){.points_max = ROWS}, &spectra);
    pellet_spectra_clear(&spectra);
    reading_refused(pellet_csv_read, text, n, &(struct pellet_read_options){.points_max = ROWS - 1},
                    PELLET_E_LIMIT, 60, "more than the 59 points");
    reading_ok(pellet_csv_read, text, n, &(struct pellet_read_options){.line_max = 9}, &spectra);
    pellet_spectra_clear(&spectra);
    reading_refused(pellet_csv_read, text, n, &(struct pellet_read_options){.line_max = 8}, PELLET_E_LIMIT,
                    10, "a line of 9 bytes");
}

/* Whatever the bytes, with a NUL among them or not, with a JCAMP-DX label before them or not: a cause, no
 * harm. */
static void junk_of_many_seeds(void **state)
{
    (void)state;
    uint64_t seed = 11;
    for (int i = 0; i < 2000; i++) {
        char junk[600] = "##TITLE= a\n##DATA TYPE= INFRARED SPECTRUM\n##XYDATA= (X++(Y..Y))\n";
        struct pellet_spectra spectra = {0};
        struct pellet_error error = {0};
        for (size_t k = i % 2 ? strlen(junk) : 0; k < sizeof junk; k++)
            junk[k] = (char)(i % 4 < 2 ? reading_random(&seed) : 1 + reading_random(&seed) % 255);
        assert_int_not_equal(reading_exact(pellet_spectra_read, junk, sizeof junk, NULL, &spectra, &error),
                             PELLET_OK);
        assert_true(error.line > 0 && error.message[0] != 0);
    }
}

/*
 * 100 MB of digits in one line: refused by its length, whatever the size limit allows, and as a number that
 * is too large where the station's limits allow that too.
 */
static void one_endless_line(void **state)
{
    (void)state;
    const size_t n = (size_t)100 << 20;
    char *digits = malloc(n);
    struct pellet_spectra spectra = {0};
    struct pellet_error error = {0};
    assert_non_null(digits);
    memset(digits, '7', n);
    assert_int_equal(pellet_spectra_read(digits, n, NULL, &spectra, &error), PELLET_E_LIMIT);
    const struct pellet_read_options options = {.bytes_max = n};
    assert_int_equal(pellet_spectra_read(digits, n, &options, &spectra, &error), PELLET_E_LIMIT);
    assert_int_equal(error.line, 1);
    const struct pellet_read_options all = {.bytes_max = n, .line_max = n};
    assert_int_equal(pellet_spectra_read(digits, n, &all, &spectra, &error), PELLET_E_FORMAT);
    assert_int_equal(error.line, 1);
    memcpy(digits, "1000,1\n1001,1\n1002,", 19);
    assert_int_equal(pellet_spectra_read(digits, n, &all, &spectra, &error), PELLET_E_NUMBER);
    assert_int_equal(error.line, 3);
    assert_non_null(strstr(error.message, "'1002,777"));
    memset(digits, '7', n);
    memcpy(digits, "##TITLE=", 8);
    assert_int_equal(pellet_spectra_read(digits, n, &options, &spectra, &error), PELLET_E_LIMIT);
    assert_int_equal(error.line, 1);
    free(digits);
}

/*
 * Cut at every byte. What comes out is an error, a warning, or a true beginning of the spectrum: whole rows,
 * and of the last one at most trailing digits lost where the row is no shorter than the one above.
 */
static void cut_at_every_byte(void **state)
{
    (void)state;
    char text[4096], fixed[4096], *end = fixed;
    struct pellet_spectra whole;
    for (int i = 1; i <= ROWS; i++)
        end += sprintf(end, "%.6e,%.6e\n", 1000.0 + 2 * i, i + 0.123456);
    const size_t n = (size_t)(end - fixed);
    memcpy(text, fixed, n);
    reading_ok(pellet_csv_read, text, n, NULL, &whole);
    size_t clean = 0;
    for (size_t cut = 0; cut < n; cut++) {
        struct pellet_spectra spectra = {0};
        struct pellet_error error = {0};
        if (reading_exact(pellet_csv_read, text, cut, NULL, &spectra, &error) != PELLET_OK) {
            assert_true(error.message[0] != 0);
            continue;
        }
        if (!spectra.item->warnings) {
            clean++;
            assert_memory_equal(spectra.item->y, whole.item->y, spectra.item->n * sizeof(double));
        }
        pellet_spectra_clear(&spectra);
    }
    assert_int_equal(clean,
                     2 * (ROWS - PELLET_POINTS_MIN) + 1); /* before and behind the ends of whole rows */
    pellet_spectra_clear(&whole);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(broken_rows),        cmocka_unit_test(no_spectrum_at_all),
        cmocka_unit_test(too_few_points),     cmocka_unit_test(abscissas_that_are_none),
        cmocka_unit_test(binary_junk),        cmocka_unit_test(junk_of_many_seeds),
        cmocka_unit_test(limits_at_the_edge), cmocka_unit_test(one_endless_line),
        cmocka_unit_test(cut_at_every_byte),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
