// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The fast numbers against strtod, bit by bit. The long form (PELLETD_LONG) tries 10^7 strings of each kind.
 */
#include "reading.h"

#include "spectrum/number.h"

#include <float.h>

#define NUMBERS_SHORT 200000
#define NUMBERS_LONG  10000000

static void same_bits(const char *text)
{
    char *end;
    const double expected = strtod(text, &end);
    double value = -1;
    const size_t n = pellet_number_scan(text, strlen(text), '.', PELLET_EXPONENT_ANY, &value);
    if (!isfinite(expected)) {
        assert_int_equal(n, 0);
        return;
    }
    if (n != (size_t)(end - text) || memcmp(&value, &expected, sizeof value) != 0)
        fail_msg("'%s': %.17g (%zu bytes), strtod %.17g (%td bytes)", text, value, n, expected, end - text);
}

static void adversarial(void **state)
{
    (void)state;
    static const char *const texts[] = {
        "0",
        "-0",
        "+0.0",
        "0e5",
        "-0e-999999",
        "1",
        "1.",
        ".5",
        "-.5e1",
        "3.996748e+002",
        "9007199254740992",
        "9007199254740993",
        "9007199254740993.0000000000000000000000001",
        "18446744073709551615",
        "18446744073709551616",
        "1e22",
        "1e23",
        "9007199254740991e22",
        "9007199254740993e-22",
        "1e-22",
        "1e-23",
        "123456789012345678",
        "12345678901234567890",
        "0.1",
        "0.3",
        "2.2250738585072011e-308",
        "2.2250738585072014e-308",
        "4.9406564584124654e-324",
        "2.4703282292062327e-324",
        "2.4703282292062328e-324",
        "1.7976931348623157e308",
        "1.7976931348623158e308",
        "1.7976931348623159e308",
        "1e308",
        "1e309",
        "1e-400",
        "0.000000000000000000000000000000000000001e39",
        "1e",
        "1e+",
        "1e-x",
        "1.5e3.5",
        "100000000000000016777215",
        "100000000000000016777216",
        "8.5e-5",
        "5e-324",
        "0.500000000000000166533453693773481063544750213623046875",
        "3.518437208883201171875e13",
        "62.5364939768271845828",
        "8.10109172351e-10",
        "1.50000000000000011102230246251565",
        "6929001713869936e+236",
        "1e+0000000000000000000000000000000000000022",
        "1e99999999999999999999",
        "0."
        "0000000000000000000000000000000000000000000000000000000000000000000000000000000000000000000000000001"
        "e100",
    };
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++)
        same_bits(texts[i]);
}

static void no_number(void **state)
{
    (void)state;
    static const char *const texts[] = {"",    "+",    "-",    ".",   "e5", "-.e5", "nan",
                                        "inf", "-inf", "0x10", "1,5", "1 ", "1e5x"};
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        double value = 7;
        assert_false(pellet_number_whole(texts[i], strlen(texts[i]), '.', &value));
        assert_true(value == 7);
    }
}

static void exponents_as_allowed(void **state)
{
    (void)state;
    double value;
    assert_int_equal(pellet_number_scan("1.5E+02", 7, '.', PELLET_EXPONENT_SIGNED, &value), 7);
    assert_true(value == 150);
    assert_int_equal(pellet_number_scan("4833E115", 8, '.', PELLET_EXPONENT_SIGNED, &value), 4);
    assert_true(value == 4833);
    assert_int_equal(pellet_number_scan("1e+5", 4, '.', PELLET_EXPONENT_NONE, &value), 1);
    assert_int_equal(pellet_number_scan("1D3", 3, '.', PELLET_EXPONENT_ANY, &value), 3);
    assert_true(value == 1000);
    assert_true(pellet_number_whole("-1,25d-1", 8, ',', &value));
    assert_true(value == -0.125);
}

static void random_digits(uint64_t *seed, char **at, unsigned most)
{
    for (unsigned n = (unsigned)(reading_random(seed) % (most + 1)); n > 0; n--)
        *(*at)++ = (char)('0' + reading_random(seed) % 10);
}

static void random_text(uint64_t *seed, char out[96])
{
    char *at = out;
    static const char *const signs[] = {"", "", "-", "+"};
    at += sprintf(at, "%s", signs[reading_random(seed) % 4]);
    *at++ = (char)('0' + reading_random(seed) % 10);
    random_digits(seed, &at, reading_random(seed) % 4 == 0 ? 25 : 8);
    if (reading_random(seed) % 4 > 0) {
        *at++ = '.';
        random_digits(seed, &at, reading_random(seed) % 4 == 0 ? 25 : 10);
    }
    const unsigned range = reading_random(seed) % 4 == 0 ? 680 : 50;
    if (reading_random(seed) % 2 == 0)
        at += sprintf(at, "e%d", (int)(reading_random(seed) % range) - (int)range / 2);
    *at = 0;
}

/* A double's own 17 digits, and one digit beside them: the values where rounding is hardest. */
static void random_bits(uint64_t *seed, char out[96])
{
    double value;
    do {
        const uint64_t bits = reading_random(seed);
        memcpy(&value, &bits, sizeof value);
    } while (!isfinite(value));
    static const char *const formats[] = {"%.17g", "%.16g", "%.15g", "%.6e", "%.25g"};
    snprintf(out, 96, formats[reading_random(seed) % 5], value);
}

static long how_many(void)
{
    return getenv("PELLETD_LONG") ? NUMBERS_LONG : NUMBERS_SHORT;
}

static void random_against_strtod(void **state)
{
    (void)state;
    const long count = how_many();
    uint64_t seed = 20260304;
    char text[96];
    for (long i = 0; i < count; i++) {
        if (i % 2)
            random_text(&seed, text);
        else
            random_bits(&seed, text);
        same_bits(text);
    }
    print_message("%ld random strings agree with strtod\n", count);
}

/* ---------------------------------------------------------------- where rounding is decided by the last
 * digit */

#define HALFWAY_MAX 400 /* digits of a number halfway between two doubles, for the exponents below */

/*
 * The decimal expansion, whole or cut to fewer digits, of the value halfway between two neighbouring doubles.
 * A long double of 64 bits or more holds that value exactly, and printf writes it exactly.
 */
static void halfway(uint64_t *seed, char out[HALFWAY_MAX])
{
    const double power = (double)(reading_random(seed) % 300) - 150;
    const double value = ldexp(1 + (double)(reading_random(seed) >> 12) * 0x1p-52, (int)power);
    const long double middle = (long double)value + ((long double)nextafter(value, INFINITY) - value) / 2;
    static const int digits[] = {16, 17, 18, 19, 20, 25, 40, 250};
    snprintf(out, HALFWAY_MAX, "%.*Le", digits[reading_random(seed) % 8], middle);
}

/* The last digit of the mantissa one up or down, where that is one digit still. */
static void nudge(char *text, int by)
{
    char *last = strchr(text, 'e') - 1;
    if (*last + by >= '0' && *last + by <= '9')
        *last = (char)(*last + by);
}

static void halfway_cases(void **state)
{
    (void)state;
    if (LDBL_MANT_DIG < 64) {
        print_message("skipped: long double is no wider than double here\n");
        skip();
    }
    const long count = how_many();
    uint64_t seed = 20260305;
    char text[HALFWAY_MAX];
    for (long i = 0; i < count; i++) {
        halfway(&seed, text);
        nudge(text, (int)(i % 3) - 1);
        same_bits(text);
    }
    print_message("%ld strings at or beside a half agree with strtod\n", count);
}

/*
 * What the fast path takes: up to 2^53 and powers of ten up to 22, at and beside both limits. Few digits, as
 * instruments write them.
 */
static void limits_of_the_fast_path(void **state)
{
    (void)state;
    const long count = how_many();
    uint64_t seed = 20260306;
    char text[64];
    for (long i = 0; i < count; i++) {
        const uint64_t near_limit = (UINT64_C(1) << 53) - 500 + reading_random(&seed) % 1000;
        const uint64_t few = reading_random(&seed) % UINT64_C(10000000);
        const int power = (int)(reading_random(&seed) % 52) - 26;
        snprintf(text, sizeof text, "%s%juE%+d", i % 3 ? "" : "-", (uintmax_t)(i % 2 ? near_limit : few),
                 power);
        same_bits(text);
    }
    print_message("%ld strings about the limits of the fast path agree with strtod\n", count);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(adversarial),          cmocka_unit_test(no_number),
        cmocka_unit_test(exponents_as_allowed), cmocka_unit_test(random_against_strtod),
        cmocka_unit_test(halfway_cases),        cmocka_unit_test(limits_of_the_fast_path),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
