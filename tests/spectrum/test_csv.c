// SPDX-License-Identifier: GPL-3.0-or-later
/* CSV as laboratories export it: every dialect gives the same spectrum. */
#include "reading.h"

#define POINTS 60

/* One spectrum, written in many ways: x = 4000 - 10 i, y = 0.5 + i / 8 (exact in decimal and binary). */
struct form {
    const char *name;
    const char *heading;
    const char *delimiter;
    char decimal;
    const char *line_end;
    const char *after; /* behind the last cell of each row */
    const char *quote; /* round each cell */
    const char *x_format;
    bool rising;
};

static size_t write_rows(const struct form *form, char *out)
{
    char x[40], y[40], *at = out;
    for (int i = 0; i < POINTS; i++) {
        const int k = form->rising ? POINTS - 1 - i : i;
        snprintf(x, sizeof x, form->x_format ? form->x_format : "%.1f", 4000.0 - 10 * k);
        snprintf(y, sizeof y, "%.3f", 0.5 + k / 8.0);
        for (char *c = x; *c; c++)
            *c = *c == '.' ? form->decimal : *c;
        for (char *c = y; *c; c++)
            *c = *c == '.' ? form->decimal : *c;
        const char *q = form->quote ? form->quote : "";
        at += sprintf(at, "%s%s%s%s%s%s%s%s%s", q, x, q, form->delimiter, q, y, q,
                      form->after ? form->after : "", form->line_end ? form->line_end : "\n");
    }
    return (size_t)(at - out);
}

static void check_spectrum(const struct pellet_spectrum *spectrum)
{
    assert_int_equal(spectrum->n, POINTS);
    for (int i = 0; i < POINTS; i++) {
        const int k = POINTS - 1 - i;
        assert_near(spectrum->wavenumber[i], 4000.0 - 10 * k, 0);
        assert_near(spectrum->y[i], 0.5 + k / 8.0, 0);
    }
}

static void dialects(void **state)
{
    (void)state;
    static const struct form forms[] = {
        {.name = "comma", .delimiter = ",", .decimal = '.'},
        {.name = "comma and blank", .delimiter = ", ", .decimal = '.'},
        {.name = "semicolon", .delimiter = ";", .decimal = '.'},
        {.name = "semicolon, decimal comma", .delimiter = ";", .decimal = ','},
        {.name = "tab", .delimiter = "\t", .decimal = '.'},
        {.name = "tab, decimal comma", .delimiter = "\t", .decimal = ','},
        {.name = "blank", .delimiter = " ", .decimal = '.'},
        {.name = "blanks, decimal comma", .delimiter = "    ", .decimal = ',', .x_format = "  %.1f"},
        {.name = "CR LF", .delimiter = ",", .decimal = '.', .line_end = "\r\n"},
        {.name = "CR", .delimiter = ";", .decimal = ',', .line_end = "\r"},
        {.name = "trailing delimiter", .delimiter = ",", .decimal = '.', .after = ","},
        {.name = "trailing semicolons", .delimiter = ";", .decimal = ',', .after = ";;"},
        {.name = "quoted", .delimiter = ",", .decimal = '.', .quote = "\""},
        {.name = "quoted, rising", .delimiter = ",", .decimal = '.', .quote = "\"", .rising = true},
        {.name = "quoted, decimal comma", .delimiter = ",", .decimal = ',', .quote = "\""},
        {.name = "blank lines between", .delimiter = ",", .decimal = '.', .line_end = "\n\n"},
        {.name = "rising", .delimiter = ",", .decimal = '.', .rising = true},
        {.name = "e exponent", .delimiter = ",", .decimal = '.', .x_format = "%.6e"},
        {.name = "E exponent", .delimiter = "\t", .decimal = ',', .x_format = "%.6E"},
        {.name = "heading", .heading = "wavenumber,absorbance\n", .delimiter = ",", .decimal = '.'},
        {.name = "byte order mark",
         .heading = "\xEF\xBB\xBF"
                    "cm-1;A\n",
         .delimiter = ";",
         .decimal = ','},
        {.name = "a lone quote above",
         .heading = "\"die 13 mm\n7\" press\n",
         .delimiter = ",",
         .decimal = '.'},
    };
    for (size_t i = 0; i < sizeof forms / sizeof *forms; i++) {
        char text[8192];
        struct pellet_spectra spectra;
        print_message("%s\n", forms[i].name);
        size_t n = (size_t)sprintf(text, "%s", forms[i].heading ? forms[i].heading : "");
        n += write_rows(&forms[i], text + n);
        reading_ok(pellet_spectra_read, text, n, NULL, &spectra);
        assert_int_equal(spectra.n, 1);
        check_spectrum(spectra.item);
        assert_null(spectra.item->warnings);
        pellet_spectra_clear(&spectra);
    }
}

static const struct form plain = {.delimiter = ",", .decimal = '.'};

static void d_exponents(void **state)
{
    (void)state;
    char text[8192] = "";
    struct pellet_spectra spectra;
    for (int i = 0; i < POINTS; i++)
        sprintf(text + strlen(text), "%d.0D+00 %dd-1\n", 1000 + i, i + 1);
    reading_ok(pellet_csv_read, text, strlen(text), NULL, &spectra);
    assert_near(spectra.item->wavenumber[0], 1000, 0);
    assert_near(spectra.item->y[POINTS - 1], 6, 1e-15);
    pellet_spectra_clear(&spectra);
}

static void thousands_of_lines_above(void **state)
{
    (void)state;
    char *text = malloc(1 << 20), *at = text;
    struct pellet_spectra spectra;
    assert_non_null(text);
    for (int i = 0; i < 5000; i++)
        at += sprintf(at, "parameter %d: value, number %d, and more of the kind\n", i, i * i);
    at += write_rows(&plain, at);
    reading_ok(pellet_csv_read, text, (size_t)(at - text), NULL, &spectra);
    check_spectrum(spectra.item);
    pellet_spectra_clear(&spectra);
    free(text);
}

/* Every byte of a UTF-16 text is one of the same text in Latin-1 and a NUL. */
static void utf16_both_ways(void **state)
{
    (void)state;
    char text[8192] = "Probe: M\xFCsli\nWellenzahl;Absorbanz\n", wide[2 * 8192 + 2];
    struct pellet_spectra spectra;
    const struct form form = {.delimiter = ";", .decimal = ',', .line_end = "\r\n"};
    const size_t head = strlen(text), n = head + write_rows(&form, text + head);
    for (int big = 0; big < 2; big++) {
        wide[0] = (char)(big ? 0xFE : 0xFF);
        wide[1] = (char)(big ? 0xFF : 0xFE);
        for (size_t i = 0; i < n; i++) {
            wide[2 + 2 * i + (size_t)big] = text[i];
            wide[3 + 2 * i - (size_t)big] = 0;
        }
        reading_ok(pellet_spectra_read, wide, 2 * n + 2, NULL, &spectra);
        check_spectrum(spectra.item);
        assert_string_equal(spectra.item->title, "M\xC3\xBCsli");
        assert_int_equal(spectra.item->ordinate, PELLET_ORDINATE_ABSORBANCE);
        pellet_spectra_clear(&spectra);
        reading_refused(pellet_spectra_read, wide, 2 * n + 1, NULL, PELLET_E_FORMAT, POINTS + 2, "cut short");
    }
    reading_ok(pellet_spectra_read, text, n, NULL, &spectra); /* Latin-1 */
    assert_string_equal(spectra.item->title, "M\xC3\xBCsli");
    pellet_spectra_clear(&spectra);
}

static void facts_from_the_lines_above(void **state)
{
    (void)state;
    char text[8192] = "# Title: caffeine p1\n"
                      "Date;2026-03-04\n"
                      "Time;10:12:31\n"
                      "Resolution (cm-1) = 4,0\n"
                      "Number of scans: 32\n"
                      "\"Detector\";\"DTGS\"\n"
                      "Apodization;Happ-Genzel;\n"
                      "Wavenumber [cm-1];Transmittance [%]\n";
    struct pellet_spectra spectra;
    const struct form form = {.delimiter = ";", .decimal = ','};
    const struct pellet_read_options options = {.timezone = "UTC", .ordinate = PELLET_ORDINATE_ABSORBANCE};
    const size_t head = strlen(text), n = head + write_rows(&form, text + head);
    reading_ok(pellet_csv_read, text, n, &options, &spectra);
    const struct pellet_spectrum *s = spectra.item;
    assert_string_equal(s->title, "caffeine p1");
    assert_true(s->measured ==
                INT64_C(1772619151) * PELLET_NS_PER_S); /* date -u -d '2026-03-04 10:12:31' +%s */
    assert_near(s->resolution, 4, 0);
    assert_string_equal(s->setting[PELLET_SETTING_SCANS], "32");
    assert_string_equal(s->setting[PELLET_SETTING_DETECTOR], "DTGS");
    assert_string_equal(s->setting[PELLET_SETTING_APODISATION], "Happ-Genzel");
    assert_null(s->setting[PELLET_SETTING_GAIN]);
    assert_int_equal(s->ordinate, PELLET_ORDINATE_TRANSMITTANCE); /* the file's word beats the station's */
    assert_near(s->y[POINTS - 1], 0.005, 1e-15);
    pellet_spectra_clear(&spectra);
}

static void wavelengths_become_wavenumbers(void **state)
{
    (void)state;
    static const struct {
        const char *heading;
        double first, step, factor;
    } rows[] = {
        {"Wavelength (\xC2\xB5m),A\n", 2.5, 0.25, 1e4},
        {"nanometers,A\n", 2500, 250, 1e7},
        {"XUNITS: MICROMETERS\n", 2.5, 0.25, 1e4},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char text[8192];
        struct pellet_spectra spectra;
        strcpy(text, rows[i].heading);
        for (int k = 0; k < POINTS; k++)
            sprintf(text + strlen(text), "%.4f,%d\n", rows[i].first + k * rows[i].step, k);
        reading_ok(pellet_csv_read, text, strlen(text), NULL, &spectra);
        for (int k = 0; k < POINTS; k++) {
            const double x = rows[i].first + (POINTS - 1 - k) * rows[i].step;
            assert_near(spectra.item->wavenumber[k], rows[i].factor / x, 1e-9);
            assert_near(spectra.item->y[k], POINTS - 1 - k, 0);
        }
        pellet_spectra_clear(&spectra);
    }
}

/* Names that hold the delimiter, in quotes; an index column without a name; metadata parted by
 * another mark. */
static void headings_as_spreadsheets_write_them(void **state)
{
    (void)state;
    static const struct {
        const char *heading, *delimiter, *column;
    } rows[] = {
        {"\"Wavenumber, cm-1\",\"T, %\"\n", ",", NULL},
        {"# \"Wavenumber, cm-1\",\"T, %\"\n", ",", NULL},
        {"sep=;\n\"cm-1\";\"T; %\"\n", ";", NULL},
        {"Scans;32\nDate,2026-03-04\nTime\t10:12:31\ncm-1,%T\n", ",", NULL},
        {",cm-1,%T\n", ",", "%T"},
        {"\tcm-1\t%T\n", "\t", "%T"},
        {";cm-1;%T\n", ";", "%T"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char text[8192];
        struct pellet_spectra spectra;
        const struct pellet_read_options options = {.column = rows[i].column};
        strcpy(text, rows[i].heading);
        for (int k = 0; k < POINTS; k++) {
            if (rows[i].column)
                sprintf(text + strlen(text), "%d%s", k, rows[i].delimiter);
            sprintf(text + strlen(text), "%d%s50\n", 1000 + k, rows[i].delimiter);
        }
        print_message("%s", rows[i].heading);
        reading_ok(pellet_csv_read, text, strlen(text), &options, &spectra);
        assert_int_equal(spectra.item->ordinate, PELLET_ORDINATE_TRANSMITTANCE);
        assert_near(spectra.item->wavenumber[0], 1000, 0);
        assert_near(spectra.item->y[0], 0.5, 0);
        if (strstr(rows[i].heading, "Date")) {
            assert_string_equal(spectra.item->setting[PELLET_SETTING_SCANS], "32");
            assert_true(spectra.item->measured == INT64_C(1772619151) * PELLET_NS_PER_S);
        }
        pellet_spectra_clear(&spectra);
    }
}

/* Columns apart by blanks, names with blanks in them. */
static void names_apart_by_blanks(void **state)
{
    (void)state;
    static const char *const headings[] = {"Wavenumber (cm-1)   Transmittance (%)\n", "cm-1 %T\n",
                                           "  wave number   single\n    1/cm          %T\n"};
    const struct form form = {.delimiter = "     ", .decimal = '.'};
    for (size_t i = 0; i < sizeof headings / sizeof *headings; i++) {
        char text[8192];
        struct pellet_spectra spectra;
        const size_t head = (size_t)sprintf(text, "%s", headings[i]),
                     n = head + write_rows(&form, text + head);
        print_message("%s", headings[i]);
        reading_ok(pellet_csv_read, text, n, NULL, &spectra);
        assert_int_equal(spectra.item->ordinate, PELLET_ORDINATE_TRANSMITTANCE);
        assert_near(spectra.item->y[POINTS - 1], 0.005, 1e-15);
        pellet_spectra_clear(&spectra);
    }
}

static void several_ordinates(void **state)
{
    (void)state;
    char text[8192] = "No,Wavenumber (cm-1),blank,caffeine p1\n";
    for (int k = 0; k < POINTS; k++)
        sprintf(text + strlen(text), "%d,%d,%d,%d.5\n", k, 1000 + k, k, k);
    struct pellet_spectra spectra;
    const struct pellet_read_options named = {.column = "Caffeine P1"}, wrong = {.column = "other"};
    reading_refused(pellet_csv_read, text, strlen(text), NULL, PELLET_E_FORMAT, 2,
                    "3 ordinate columns ('No', 'blank', 'caffeine p1')");
    reading_refused(pellet_csv_read, text, strlen(text), &wrong, PELLET_E_FORMAT, 2, "'caffeine p1'");
    reading_ok(pellet_csv_read, text, strlen(text), &named, &spectra);
    assert_near(spectra.item->wavenumber[3], 1003, 0);
    assert_near(spectra.item->y[3], 3.5, 0);
    pellet_spectra_clear(&spectra);
}

/* A name that two columns have names neither. */
static void two_of_one_name(void **state)
{
    (void)state;
    char text[8192] = "cm-1,A,A\n";
    const struct pellet_read_options named = {.column = "A"};
    for (int k = 0; k < POINTS; k++)
        sprintf(text + strlen(text), "%d,%d,%d.5\n", 1000 + k, k, k);
    reading_refused(pellet_csv_read, text, strlen(text), &named, PELLET_E_FORMAT, 2,
                    "2 ordinate columns ('A', 'A')");
}

static void several_ordinates_without_names(void **state)
{
    (void)state;
    char text[8192] = "";
    struct pellet_spectra spectra;
    const struct pellet_read_options third = {.column = "column 3"};
    for (int k = 0; k < POINTS; k++)
        sprintf(text + strlen(text), "%d,%d,%d.5\n", 1000 + k, k, k);
    reading_refused(pellet_csv_read, text, strlen(text), NULL, PELLET_E_FORMAT, 1, "decimal marks");
    reading_ok(pellet_csv_read, text, strlen(text), &third, &spectra);
    assert_near(spectra.item->y[3], 3.5, 0);
    pellet_spectra_clear(&spectra);
}

static void percent_and_fraction(void **state)
{
    (void)state;
    static const struct {
        const char *heading;
        double high, expected;
        bool station_percent, warned;
    } rows[] = {
        {"cm-1,%T\n", 1.5, 0.015, false, false},
        {"cm-1,transmittance\n", 0.9, 0.9, false, false},
        {"cm-1,transmittance\n", 90, 0.9, false, true},
        {"cm-1,transmittance\n", 1.5, 0.015, true, false},
        {"", 1.5, 0.015, true, false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char text[8192];
        struct pellet_spectra spectra;
        const struct pellet_read_options options = {
            .ordinate = rows[i].station_percent ? PELLET_ORDINATE_TRANSMITTANCE : PELLET_ORDINATE_UNKNOWN,
            .ordinate_percent = rows[i].station_percent};
        strcpy(text, rows[i].heading);
        for (int k = 0; k < POINTS; k++)
            sprintf(text + strlen(text), "%d,%.3f\n", 1000 + k, rows[i].high);
        reading_ok(pellet_csv_read, text, strlen(text), &options, &spectra);
        assert_near(spectra.item->y[5], rows[i].expected, 1e-15);
        assert_int_equal(spectra.item->warnings != NULL, rows[i].warned);
        pellet_spectra_clear(&spectra);
    }
}

/* An exact 0 beside a smooth 0.42 is an artefact; a band that runs down to 0 is not, nor is a 0 elsewhere. */
static void zeros_at_the_ends(void **state)
{
    (void)state;
    static const struct {
        double first, slope;
        enum pellet_ordinate ordinate;
        bool artefact;
    } rows[] = {
        {0.42, 0.001, PELLET_ORDINATE_ABSORBANCE, true},
        {0.42, 0.001, PELLET_ORDINATE_SINGLE_BEAM, true},
        {0.42, 0.001, PELLET_ORDINATE_TRANSMITTANCE, false},
        {0.42, 0.001, PELLET_ORDINATE_UNKNOWN, false},
        {0.001, 0.001, PELLET_ORDINATE_ABSORBANCE, false},
        {0.005, 0.001, PELLET_ORDINATE_ABSORBANCE, false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        for (int end = 0; end < 2; end++) {
            char text[8192] = "";
            struct pellet_spectra spectra;
            const struct pellet_read_options options = {.ordinate = rows[i].ordinate};
            for (int k = 0; k < POINTS; k++) {
                const int m = end ? POINTS - 1 - k : k;
                sprintf(text + strlen(text), "%d,%.4f\n", 1000 + k,
                        m == 0 ? 0 : rows[i].first + m * rows[i].slope);
            }
            reading_ok(pellet_csv_read, text, strlen(text), &options, &spectra);
            assert_int_equal(spectra.item->n, POINTS);
            const double y = spectra.item->y[end ? POINTS - 1 : 0];
            assert_int_equal(isnan(y) != 0, rows[i].artefact);
            assert_int_equal(spectra.item->warnings != NULL, rows[i].artefact);
            pellet_spectra_clear(&spectra);
        }
    }
}

static void text_below_the_table(void **state)
{
    (void)state;
    char text[8192];
    struct pellet_spectra spectra;
    size_t n = write_rows(&plain, text);
    n += (size_t)sprintf(text + n, "\nend of data\n");
    reading_ok(pellet_csv_read, text, n, NULL, &spectra);
    check_spectrum(spectra.item);
    assert_non_null(strstr(spectra.item->warnings, "from line 62 on"));
    pellet_spectra_clear(&spectra);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(dialects),
        cmocka_unit_test(d_exponents),
        cmocka_unit_test(thousands_of_lines_above),
        cmocka_unit_test(utf16_both_ways),
        cmocka_unit_test(facts_from_the_lines_above),
        cmocka_unit_test(wavelengths_become_wavenumbers),
        cmocka_unit_test(headings_as_spreadsheets_write_them),
        cmocka_unit_test(names_apart_by_blanks),
        cmocka_unit_test(several_ordinates),
        cmocka_unit_test(two_of_one_name),
        cmocka_unit_test(several_ordinates_without_names),
        cmocka_unit_test(percent_and_fraction),
        cmocka_unit_test(zeros_at_the_ends),
        cmocka_unit_test(text_below_the_table),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
