// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/number.h"
#include "core/random.h"
#include "pellet/core.h"
#include "testing.h"

#include <float.h>
#include <locale.h>
#include <string.h>

static void numbers_are_read(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        char decimal;
        double value;
    } cases[] = {
        {"0", '.', 0},
        {"42", '.', 42},
        {"-1.5", '.', -1.5},
        {"+2.25", '.', 2.25},
        {".5", '.', 0.5},
        {"5.", '.', 5},
        {"1e3", '.', 1000},
        {"1E+3", '.', 1000},
        {"1d3", '.', 1000},
        {"2.5D-1", '.', 0.25},
        {"1,5", ',', 1.5},
        {",5", ',', 0.5},
        {"3,25e2", ',', 325},
        {"0001", '.', 1},
        {"4000.000", '.', 4000},
        {"-0", '.', -0.0},
        {"1e-400", '.', 0},
        {"4.9e-324", '.', 4.9e-324},
        {"1.7976931348623157e308", '.', DBL_MAX},
        {"0.1", '.', 0.1},
        {"0e999999999999", '.', 0},
        /* Halfway between 1 and the next double, and just above it: exact reading tells them apart. */
        {"1.00000000000000011102230246251565404236316680908203125", '.', 1.0},
        {"1.00000000000000011102230246251565404236316680908203126", '.', 1.0 + DBL_EPSILON},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        double value = 99;
        assert_int_equal(pellet_number_parse(cases[i].text, strlen(cases[i].text), cases[i].decimal, &value),
                         PELLET_OK);
        assert_memory_equal(&value, &cases[i].value, sizeof value);
    }
}

static void what_is_no_number_is_refused(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        char decimal;
    } cases[] = {
        {"", '.'},        {" ", '.'},     {" 1", '.'},    {"1 ", '.'},     {".", '.'},        {"+", '.'},
        {"-.", '.'},      {"e5", '.'},    {"1e", '.'},    {"1e+", '.'},    {"1d", '.'},       {"--1", '.'},
        {"+-1", '.'},     {"1.2.3", '.'}, {"0x10", '.'},  {"0x1p3", '.'},  {"inf", '.'},      {"nan", '.'},
        {"INF", '.'},     {"-nan", '.'},  {"1e309", '.'}, {"-1e999", '.'}, {"1,5", '.'},      {"1.5", ','},
        {"1.000,5", ','}, {"1_0", '.'},   {"1e1.5", '.'}, {"1e5e5", '.'},  {"\xd9\xa1", '.'}, {"1\n", '.'},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        double value = 99;
        assert_int_equal(pellet_number_parse(cases[i].text, strlen(cases[i].text), cases[i].decimal, &value),
                         PELLET_E_NUMBER);
        assert_memory_equal(&value, &(double){99}, sizeof value);
    }
    double value = 99;
    assert_int_equal(pellet_number_parse("1\0002", 3, '.', &value), PELLET_E_NUMBER);
    assert_near(value, 99, 0);
}

/* The bytes need no end: what stands behind them is never read. */
static void only_the_given_bytes_count(void **state)
{
    (void)state;
    double value = 0;
    assert_int_equal(pellet_number_parse("123456", 2, '.', &value), PELLET_OK);
    assert_near(value, 12, 0);
    char *exact = malloc(3);
    assert_non_null(exact);
    memcpy(exact, "1e5", 3);
    for (size_t n = 1; n <= 3; n++)
        assert_int_equal(pellet_number_parse(exact, n, '.', &value), n == 2 ? PELLET_E_NUMBER : PELLET_OK);
    free(exact);
    assert_near(value, 1e5, 0);
}

static void the_length_is_limited(void **state)
{
    (void)state;
    char text[PELLET_NUMBER_BYTES_MAX + 1];
    memset(text, '0', sizeof text);
    text[PELLET_NUMBER_BYTES_MAX - 1] = '7';
    double value = 99;
    assert_int_equal(pellet_number_parse(text, PELLET_NUMBER_BYTES_MAX, '.', &value), PELLET_OK);
    assert_near(value, 7, 0);
    assert_int_equal(pellet_number_parse(text, sizeof text, '.', &value), PELLET_E_NUMBER);
    assert_near(value, 7, 0);
}

static void a_span_ends_before_a_unit(void **state)
{
    (void)state;
    assert_int_equal(pellet_number_span("5d", 2, '.'), 1);
    assert_int_equal(pellet_number_span("5 min", 5, '.'), 1);
    assert_int_equal(pellet_number_span("1.5e3 A", 7, '.'), 5);
    assert_int_equal(pellet_number_span("A", 1, '.'), 0);
    assert_int_equal(pellet_number_span("", 0, '.'), 0);
}

/* Accepts exactly what the grammar accepts, tried by a plain walk over states on random short strings. */
static bool slow_is_number(const char *s)
{
    size_t digits = 0;
    if (*s == '+' || *s == '-')
        s++;
    for (; *s >= '0' && *s <= '9'; s++)
        digits++;
    if (*s == '.')
        s++;
    for (; *s >= '0' && *s <= '9'; s++)
        digits++;
    if (digits == 0)
        return false;
    if (*s == '\0')
        return true;
    if (strchr("eEdD", *s) == NULL)
        return false;
    s++;
    if (*s == '+' || *s == '-')
        s++;
    digits = 0;
    for (; *s >= '0' && *s <= '9'; s++)
        digits++;
    return digits > 0 && *s == '\0';
}

static void random_strings_agree_with_the_slow_version(void **state)
{
    (void)state;
    static const char likely[] = "0123456789....eEdD+-x ";
    uint64_t seed = 99;
    size_t accepted = 0;
    for (int round = 0; round < 300000; round++) {
        char text[8] = "";
        const size_t n = random_below(&seed, sizeof text);
        for (size_t i = 0; i < n; i++)
            text[i] = likely[random_below(&seed, sizeof likely - 1)];
        double value = -12345;
        const pellet_status status = pellet_number_parse(text, n, '.', &value);
        char c_text[8];
        memcpy(c_text, text, sizeof text);
        for (size_t i = 0; i < n; i++)
            if (c_text[i] == 'd' || c_text[i] == 'D')
                c_text[i] = 'e';
        const bool expected = slow_is_number(text) && isfinite(strtod(c_text, NULL));
        if ((status == PELLET_OK) != expected)
            fail_msg("\"%s\"", text);
        if (expected)
            assert_near(value, strtod(c_text, NULL), 0);
        accepted += expected;
    }
    assert_in_range(accepted, 20000, 280000);
}

static void formatted_numbers_read_back_the_same(void **state)
{
    (void)state;
    uint64_t seed = 5;
    for (int round = 0; round < 300000; round++) {
        const uint64_t bits = random_next(&seed);
        double value, back = 0;
        memcpy(&value, &bits, sizeof value);
        if (round % 3 == 0)
            value = (double)(int64_t)(bits >> 44) / 1000;
        if (!isfinite(value))
            continue;
        char text[32];
        pellet_number_format(value, text);
        assert_int_equal(pellet_number_parse(text, strlen(text), '.', &back), PELLET_OK);
        assert_memory_equal(&back, &value, sizeof value);
    }
}

static void formatted_numbers_are_short(void **state)
{
    (void)state;
    static const struct {
        double value;
        const char *text;
    } cases[] = {
        {0, "0"},
        {0.1, "0.1"},
        {-2.41, "-2.41"},
        {4000, "4000"},
        {1e20, "1.0e+20"},
        {1.5e-7, "1.5e-07"},
        {1e-5, "1.0e-05"},
        {1.0 / 3, "0.3333333333333333"},
        {NAN, ".nan"},
        {INFINITY, ".inf"},
        {-INFINITY, "-.inf"},
        {DBL_MAX, "1.7976931348623157e+308"},
        {-DBL_TRUE_MIN, "-4.94065645841247e-324"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char text[32];
        pellet_number_format(cases[i].value, text);
        assert_string_equal(text, cases[i].text);
    }
}

static void rounded_numbers_are_plain(void **state)
{
    (void)state;
    static const struct {
        double value;
        int digits;
        const char *text;
    } cases[] = {
        {2.4149, 3, "2.41"},
        {1068.04, 5, "1068"},
        {1068.4, 3, "1070"},
        {1068.04, 6, "1068.04"},
        {0.002, 3, "0.002"},
        {0.00012345, 3, "0.000123"},
        {0.0000123, 3, "1.23e-05"},
        {1.5, 1, "2"},
        {9.996, 3, "10"},
        {0.99996, 4, "1"},
        {-0.5, 2, "-0.5"},
        {0, 3, "0"},
        {-0.0, 3, "0"},
        {71234, 2, "71000"},
        {1e15, 3, "1.0e+15"},
        {123456789012345, 15, "123456789012345"},
        {0.1, 99, "0.10000000000000001"},
        {7.7, 0, "8"},
        {7.7, -4, "8"},
        {NAN, 3, ".nan"},
        {-INFINITY, 3, "-.inf"},
        {999999999999999.9, 3, "1.0e+15"},
        {0.000099999, 3, "0.0001"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char text[32];
        pellet_number_round(cases[i].value, cases[i].digits, text);
        assert_string_equal(text, cases[i].text);
    }
}

static void rounding_stays_within_half_a_digit(void **state)
{
    (void)state;
    uint64_t seed = 17;
    for (int round = 0; round < 100000; round++) {
        const int digits = 1 + (int)random_below(&seed, 15);
        const int exponent = (int)random_below(&seed, 40) - 20;
        const double value =
            (1 + 9 * ((double)random_below(&seed, 1000000007) / 1000000007)) * pow(10, exponent);
        char text[32];
        double back = 0;
        pellet_number_round(value, digits, text);
        assert_int_equal(pellet_number_parse(text, strlen(text), '.', &back), PELLET_OK);
        assert_near(back, value, 0.5000001 * pow(10, floor(log10(value)) + 1 - digits) + 4e-16 * value);
    }
}

static void the_locale_does_not_matter(void **state)
{
    (void)state;
    static const char *const comma[] = {"de_DE.UTF-8", "de_DE.utf8", "fr_FR.UTF-8", "de_DE"};
    const char *found = NULL;
    for (size_t i = 0; i < sizeof comma / sizeof *comma && found == NULL; i++)
        found = setlocale(LC_ALL, comma[i]);
    if (found == NULL) {
        print_message("skipped: no locale with a decimal comma is installed\n");
        skip();
    }
    char text[32];
    double value = 0;
    pellet_number_format(0.1, text);
    const pellet_status status = pellet_number_parse("1.5", 3, '.', &value);
    char rounded[32];
    pellet_number_round(2.4149, 3, rounded);
    setlocale(LC_ALL, "C");
    assert_string_equal(text, "0.1");
    assert_string_equal(rounded, "2.41");
    assert_int_equal(status, PELLET_OK);
    assert_near(value, 1.5, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(numbers_are_read),
        cmocka_unit_test(what_is_no_number_is_refused),
        cmocka_unit_test(only_the_given_bytes_count),
        cmocka_unit_test(the_length_is_limited),
        cmocka_unit_test(a_span_ends_before_a_unit),
        cmocka_unit_test(random_strings_agree_with_the_slow_version),
        cmocka_unit_test(formatted_numbers_read_back_the_same),
        cmocka_unit_test(formatted_numbers_are_short),
        cmocka_unit_test(rounded_numbers_are_plain),
        cmocka_unit_test(rounding_stays_within_half_a_digit),
        cmocka_unit_test(the_locale_does_not_matter),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
