// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/random.h"
#include "core/utf8.h"
#include "pellet/core.h"
#include "testing.h"

#include <string.h>

/* The Unicode Standard 15.0, table 3-7: well-formed UTF-8 byte sequences, row by row. */
static const struct {
    size_t length;
    unsigned char low[4], high[4];
} well_formed[] = {
    {1, {0x00}, {0x7F}},
    {2, {0xC2, 0x80}, {0xDF, 0xBF}},
    {3, {0xE0, 0xA0, 0x80}, {0xE0, 0xBF, 0xBF}},
    {3, {0xE1, 0x80, 0x80}, {0xEC, 0xBF, 0xBF}},
    {3, {0xED, 0x80, 0x80}, {0xED, 0x9F, 0xBF}},
    {3, {0xEE, 0x80, 0x80}, {0xEF, 0xBF, 0xBF}},
    {4, {0xF0, 0x90, 0x80, 0x80}, {0xF0, 0xBF, 0xBF, 0xBF}},
    {4, {0xF1, 0x80, 0x80, 0x80}, {0xF3, 0xBF, 0xBF, 0xBF}},
    {4, {0xF4, 0x80, 0x80, 0x80}, {0xF4, 0x8F, 0xBF, 0xBF}},
};

static size_t slow_length(const unsigned char *bytes, size_t n)
{
    for (size_t row = 0; row < sizeof well_formed / sizeof *well_formed; row++) {
        size_t i = 0;
        while (i < well_formed[row].length && i < n && bytes[i] >= well_formed[row].low[i] &&
               bytes[i] <= well_formed[row].high[i])
            i++;
        if (i == well_formed[row].length)
            return i;
    }
    return 0;
}

static void check_against_table(const unsigned char *bytes, size_t n)
{
    uint32_t code = 0x12345678;
    const size_t expected = slow_length(bytes, n);
    assert_int_equal(pellet_utf8_decode((const char *)bytes, n, &code), expected);
    if (expected == 0)
        assert_int_equal(code, 0x12345678);
}

static void decode_agrees_with_the_table(void **state)
{
    (void)state;
    unsigned char bytes[4];
    for (unsigned pair = 0; pair <= 0xFFFF; pair++) {
        static const unsigned char tails[][2] = {
            {0x80, 0x80}, {0xBF, 0xBF}, {0x80, 0x41}, {0xC0, 0x80}, {0x7F, 0}};
        bytes[0] = (unsigned char)(pair >> 8);
        bytes[1] = (unsigned char)pair;
        for (size_t t = 0; t < sizeof tails / sizeof *tails; t++) {
            memcpy(bytes + 2, tails[t], 2);
            for (size_t n = 0; n <= 4; n++)
                check_against_table(bytes, n);
        }
    }
}

static void every_character_comes_back(void **state)
{
    (void)state;
    for (uint32_t code = 0; code <= 0x10FFFF; code++) {
        char bytes[4];
        size_t n;
        if (code < 0x80) {
            bytes[0] = (char)code;
            n = 1;
        } else if (code < 0x800) {
            bytes[0] = (char)(0xC0 | code >> 6);
            n = 2;
        } else if (code < 0x10000) {
            bytes[0] = (char)(0xE0 | code >> 12);
            n = 3;
        } else {
            bytes[0] = (char)(0xF0 | code >> 18);
            n = 4;
        }
        for (size_t i = 1; i < n; i++)
            bytes[i] = (char)(0x80 | (code >> 6 * (n - 1 - i) & 0x3F));
        uint32_t read = 0;
        const bool surrogate = code >= 0xD800 && code <= 0xDFFF;
        if (pellet_utf8_decode(bytes, n, &read) != (surrogate ? 0 : n) || (!surrogate && read != code))
            fail_msg("U+%04X", (unsigned)code);
    }
}

static void valid_agrees_with_the_table_on_random_bytes(void **state)
{
    (void)state;
    static const unsigned char likely[] = {'a',  0x80, 0xBF, 0xC2, 0xC3, 0xE0, 0xA0,
                                           0xED, 0x9F, 0xF0, 0x90, 0xF4, 0x8F};
    uint64_t seed = 20260304;
    size_t valid = 0;
    for (int round = 0; round < 200000; round++) {
        unsigned char bytes[8];
        const size_t n = random_below(&seed, sizeof bytes + 1);
        for (size_t i = 0; i < n; i++)
            bytes[i] = likely[random_below(&seed, sizeof likely)];
        size_t at = 0, length = 1;
        while (at < n && (length = slow_length(bytes + at, n - at)) > 0)
            at += length;
        assert_int_equal(pellet_utf8_valid((const char *)bytes, n), at == n);
        valid += at == n;
    }
    assert_in_range(valid, 10000, 190000); /* both answers were tried often */
}

static void what_moves_the_cursor_is_not_visible(void **state)
{
    (void)state;
    static const uint32_t hidden[] = {0,      0x09,   0x0A,   0x1B,   0x7F,   0x85,   0x9B,
                                      0x2028, 0x2029, 0x202A, 0x202E, 0x2066, 0x2069, 0x200F};
    static const uint32_t visible[] = {' ', '~', 0xA0, 0xB5, 0x20AC, 0x1F600};
    for (size_t i = 0; i < sizeof hidden / sizeof *hidden; i++)
        assert_false(pellet_utf8_visible(hidden[i]));
    for (size_t i = 0; i < sizeof visible / sizeof *visible; i++)
        assert_true(pellet_utf8_visible(visible[i]));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(decode_agrees_with_the_table),
        cmocka_unit_test(every_character_comes_back),
        cmocka_unit_test(valid_agrees_with_the_table_on_random_bytes),
        cmocka_unit_test(what_moves_the_cursor_is_not_visible),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
