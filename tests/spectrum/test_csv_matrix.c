// SPDX-License-Identifier: GPL-3.0-or-later
/* Every way a CSV file may be written, with every other: thousands of files, and in each the same
 * spectrum. */
#include "reading.h"

#define POINTS PELLET_POINTS_MIN

/* How one file is written. */
struct way {
    const char *delimiter;
    char decimal;
    const char *line_end;
    const char *encoding;
    char exponent; /* 0: none */
    bool quoted, trailing;
};

static const char *const delimiters[] = {",", ";", "\t", " ", "    "};
static const char decimals[] = {'.', ','};
static const char *const line_ends[] = {"\n", "\r\n", "\r"};
static const char *const encodings[] = {"Latin-1", "UTF-8", "UTF-8 with BOM", "UTF-16LE", "UTF-16BE"};
static const char exponents[] = {0, 'e', 'E', 'D', 'd'};

static const struct {
    const char *label; /* in Latin-1 */
    double first, step, factor;
} abscissas[] = {{"cm-1", 4000, -10, 0}, {"Wellenl\xE4nge/\xB5m", 2.5, 0.25, 1e4}, {"nm", 2500, 250, 1e7}};

#define COUNT(array) (sizeof(array) / sizeof *(array))

/* ---------------------------------------------------------------- writing */

static void add_number(const struct way *way, double value, struct pellet_text *out)
{
    char number[40];
    snprintf(number, sizeof number, way->exponent ? "%.6e" : "%.4f", value);
    pellet_text_adds(out, way->quoted ? "\"" : "");
    for (const char *c = number; *c; c++)
        pellet_text_addc(out, *c == '.' ? way->decimal : *c == 'e' ? way->exponent : *c);
    pellet_text_adds(out, way->quoted ? "\"" : "");
}

/* The text in Latin-1. */
static void add_text(const struct way *way, size_t abscissa, struct pellet_text *out)
{
    pellet_text_addf(out, "# Probe: M\xFCsli%s", way->line_end);
    pellet_text_addf(out, "%s%s%s%s", abscissas[abscissa].label, way->delimiter, "Absorbanz", way->line_end);
    for (int i = 0; i < POINTS; i++) {
        add_number(way, abscissas[abscissa].first + i * abscissas[abscissa].step, out);
        pellet_text_adds(out, way->delimiter);
        add_number(way, 0.5 + i / 8.0, out);
        pellet_text_adds(out, way->trailing ? way->delimiter : "");
        pellet_text_adds(out, way->line_end);
    }
}

/* Every code point of Latin-1 is its byte. */
static void encode(const struct pellet_text *text, const char *encoding, struct pellet_text *out)
{
    const bool wide = strncmp(encoding, "UTF-16", 6) == 0, big = strcmp(encoding, "UTF-16BE") == 0;
    const bool latin1 = strcmp(encoding, "Latin-1") == 0;
    if (strcmp(encoding, "UTF-8 with BOM") == 0)
        pellet_text_adds(out, "\xEF\xBB\xBF");
    if (wide)
        pellet_text_adds(out, big ? "\xFE\xFF" : "\xFF\xFE");
    for (size_t i = 0; i < text->length; i++) {
        const unsigned char c = (unsigned char)text->data[i];
        if (wide && big)
            pellet_text_addc(out, 0);
        if (c >= 0x80 && !wide && !latin1)
            pellet_text_addc(out, (char)(0xC0 | c >> 6));
        pellet_text_addc(out, (char)(c >= 0x80 && !wide && !latin1 ? 0x80 | (c & 0x3F) : c));
        if (wide && !big)
            pellet_text_addc(out, 0);
    }
}

/* ---------------------------------------------------------------- reading */

static void check(const struct pellet_spectrum *s, size_t abscissa)
{
    assert_int_equal(s->n, POINTS);
    assert_string_equal(s->title, "M\xC3\xBCsli");
    assert_int_equal(s->ordinate, PELLET_ORDINATE_ABSORBANCE);
    assert_null(s->warnings);
    for (int i = 0; i < POINTS; i++) {
        const double x = abscissas[abscissa].first + i * abscissas[abscissa].step;
        const double factor = abscissas[abscissa].factor;
        assert_near(s->wavenumber[POINTS - 1 - i], factor > 0 ? factor / x : x, 0);
        assert_near(s->y[POINTS - 1 - i], 0.5 + i / 8.0, 0);
    }
}

static void read_one(const struct way *way, size_t abscissa)
{
    struct pellet_text text = {0}, encoded = {0};
    struct pellet_spectra spectra = {0};
    struct pellet_error error = {0};
    add_text(way, abscissa, &text);
    encode(&text, way->encoding, &encoded);
    if (pellet_spectra_read(encoded.data, encoded.length, NULL, &spectra, &error) != PELLET_OK)
        fail_msg("'%s' '%c' %s %s %s%s%s: line %zu: %s", way->delimiter, way->decimal, way->encoding,
                 abscissas[abscissa].label, way->exponent ? "exponents " : "", way->quoted ? "quoted " : "",
                 way->trailing ? "trailing" : "", error.line, error.message);
    check(spectra.item, abscissa);
    pellet_spectra_clear(&spectra);
    pellet_text_free(&text);
    pellet_text_free(&encoded);
}

/* A comma between numbers and within them is a misprint, unless quotes tell the two apart. */
static bool is_possible(const struct way *way)
{
    return *way->delimiter != way->decimal || way->quoted;
}

/* All that can be said of a file's cells, in one number: a digit for each of the lists above. */
static struct way way_of(size_t number)
{
    struct way way = {0};
    way.delimiter = delimiters[number % COUNT(delimiters)];
    number /= COUNT(delimiters);
    way.decimal = decimals[number % COUNT(decimals)];
    number /= COUNT(decimals);
    way.line_end = line_ends[number % COUNT(line_ends)];
    number /= COUNT(line_ends);
    way.encoding = encodings[number % COUNT(encodings)];
    number /= COUNT(encodings);
    way.exponent = exponents[number % COUNT(exponents)];
    number /= COUNT(exponents);
    way.quoted = number % 2 == 1;
    way.trailing = number / 2 == 1;
    return way;
}

static void every_way(void **state)
{
    (void)state;
    const size_t ways =
        COUNT(delimiters) * COUNT(decimals) * COUNT(line_ends) * COUNT(encodings) * COUNT(exponents) * 2 * 2;
    size_t count = 0;
    for (size_t i = 0; i < ways; i++) {
        const struct way way = way_of(i);
        for (size_t abscissa = 0; is_possible(&way) && abscissa < COUNT(abscissas); abscissa++) {
            read_one(&way, abscissa);
            count++;
        }
    }
    print_message("%zu files gave the same spectrum\n", count);
    assert_int_equal(count, 3 * (ways - ways / 20)); /* comma with comma unquoted: 1 of 5 x 2 x 2 left out */
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_way)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
