// SPDX-License-Identifier: GPL-3.0-or-later
/* UTF-8, UTF-16 and Latin-1 come out as UTF-8. */
#include "reading.h"

#include "spectrum/encoding.h"

static void decodes(void **state)
{
    (void)state;
    static const struct {
        const char *name, *bytes;
        size_t n;
        const char *expected;
    } rows[] = {
        {"ASCII", "cm-1", 4, "cm-1"},
        {"UTF-8", "\xC2\xB5m", 3, "\xC2\xB5m"},
        {"UTF-8 with a mark", "\xEF\xBB\xBF\xC2\xB5m", 6, "\xC2\xB5m"},
        {"Latin-1", "\xB5m", 2, "\xC2\xB5m"},
        {"UTF-16 little-endian", "\xFF\xFE\xB5\0m\0", 6, "\xC2\xB5m"},
        {"UTF-16 big-endian", "\xFE\xFF\0\xB5\0m", 6, "\xC2\xB5m"},
        {"UTF-16, three bytes", "\xFE\xFF\x20\xAC", 4, "\xE2\x82\xAC"},                  /* U+20AC */
        {"UTF-16, a surrogate pair", "\xFE\xFF\xD8\x3D\xDE\x00", 6, "\xF0\x9F\x98\x80"}, /* U+1F600 */
        {"nothing", "", 0, ""},
        {"only a mark", "\xFF\xFE", 2, ""},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct pellet_decoded decoded;
        print_message("%s\n", rows[i].name);
        assert_int_equal(pellet_text_decode(rows[i].bytes, rows[i].n, &decoded, NULL), PELLET_OK);
        assert_int_equal(decoded.n, strlen(rows[i].expected));
        assert_memory_equal(decoded.bytes, rows[i].expected, decoded.n);
        pellet_decoded_free(&decoded);
    }
    pellet_decoded_free(NULL);
}

static void refused(void **state)
{
    (void)state;
    static const struct {
        const char *name, *bytes;
        size_t n, line;
    } rows[] = {
        {"a NUL byte", "a\nb\n\0", 5, 3},
        {"a NUL byte between lone CRs", "a\rb\r\0", 5, 3},
        {"an odd byte", "\xFF\xFE\x61", 3, 1},
        {"a lone high surrogate", "\xFE\xFF\x00\x0A\xD8\x3D", 6, 2},
        {"a lone low surrogate", "\xFE\xFF\xDE\x00\x00\x61", 6, 1},
        {"a NUL in UTF-16", "\xFE\xFF\x00\x00", 4, 1},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct pellet_decoded decoded = {.n = 77};
        struct pellet_error error = {0};
        print_message("%s\n", rows[i].name);
        assert_int_equal(pellet_text_decode(rows[i].bytes, rows[i].n, &decoded, &error), PELLET_E_FORMAT);
        assert_int_equal(error.line, rows[i].line);
        assert_int_equal(decoded.n, 77);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(decodes), cmocka_unit_test(refused)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
