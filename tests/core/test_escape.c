// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/random.h"
#include "pellet/core.h"
#include "testing.h"

#include <string.h>

typedef void (*add_function)(struct pellet_text *text, const char *bytes, size_t n);

static void check(add_function add, const char *bytes, size_t n, const char *expected)
{
    struct pellet_text text = {0};
    add(&text, bytes, n);
    assert_string_equal(pellet_text_string(&text), expected);
    pellet_text_free(&text);
}

/* What each writer makes of one byte of ASCII, from the rules alone. */
static void expected_of_byte(add_function add, unsigned char byte, char out[32])
{
    const bool control = byte < 0x20 || byte >= 0x7F; /* alone, a byte from 0x80 up is not UTF-8 */
    const bool quoted = add == pellet_text_add_csv || add == pellet_text_add_json;
    char middle[16];
    if (add == pellet_text_add_uri && strchr("-._~/", byte) == NULL && !(byte >= '0' && byte <= '9') &&
        !(byte >= 'A' && byte <= 'Z') && !(byte >= 'a' && byte <= 'z'))
        snprintf(middle, sizeof middle, "%%%02X", byte);
    else if (add == pellet_text_add_json && byte >= 0x80)
        snprintf(middle, sizeof middle, "\\\\x%02X", byte);
    else if (add == pellet_text_add_json && control)
        snprintf(middle, sizeof middle, "\\u%04X", byte);
    else if (add == pellet_text_add_json && (byte == '"' || byte == '\\'))
        snprintf(middle, sizeof middle, "\\%c", byte);
    else if (control)
        snprintf(middle, sizeof middle, "\\x%02X", byte);
    else if (add == pellet_text_add_csv && byte == '"')
        snprintf(middle, sizeof middle, "\"\"");
    else if (add == pellet_text_add_csv && (byte == '=' || byte == '+' || byte == '-' || byte == '@'))
        snprintf(middle, sizeof middle, "'%c", byte);
    else if (add == pellet_text_add_html && byte == '&')
        snprintf(middle, sizeof middle, "&amp;");
    else if (add == pellet_text_add_html && byte == '<')
        snprintf(middle, sizeof middle, "&lt;");
    else if (add == pellet_text_add_html && byte == '>')
        snprintf(middle, sizeof middle, "&gt;");
    else if (add == pellet_text_add_html && byte == '"')
        snprintf(middle, sizeof middle, "&quot;");
    else if (add == pellet_text_add_html && byte == '\'')
        snprintf(middle, sizeof middle, "&#39;");
    else
        snprintf(middle, sizeof middle, "%c", byte);
    snprintf(out, 32, quoted ? "\"%s\"" : "%s", middle);
}

static const add_function writers[] = {pellet_text_add_visible, pellet_text_add_html, pellet_text_add_uri,
                                       pellet_text_add_csv, pellet_text_add_json};

static void every_byte_alone(void **state)
{
    (void)state;
    for (size_t w = 0; w < sizeof writers / sizeof *writers; w++)
        for (int byte = 0; byte <= 0xFF; byte++) {
            /* strchr finds the end of its list too: NUL is control everywhere, and %00 in a URI. */
            char expected[32];
            const char c = (char)byte;
            if (byte == 0 && writers[w] == pellet_text_add_uri)
                snprintf(expected, sizeof expected, "%%00");
            else
                expected_of_byte(writers[w], (unsigned char)byte, expected);
            check(writers[w], &c, 1, expected);
        }
}

static void known_strings(void **state)
{
    (void)state;
    static const char name[] = "\xc2\xb5g <a href=\"x\">&'\x1b\xff";
    check(pellet_text_add_visible, name, strlen(name), "\xc2\xb5g <a href=\"x\">&'\\x1B\\xFF");
    check(pellet_text_add_html, name, strlen(name),
          "\xc2\xb5g &lt;a href=&quot;x&quot;&gt;&amp;&#39;\\x1B\\xFF");
    check(pellet_text_add_uri, "a b/\xc3\xa9?.csv", 11, "a%20b/%C3%A9%3F.csv");
    check(pellet_text_add_csv, "=SUM(A1),\"x\"", 12, "\"'=SUM(A1),\"\"x\"\"\"");
    check(pellet_text_add_csv, "a=b", 3, "\"a=b\"");
    check(pellet_text_add_csv, "", 0, "\"\"");
    check(pellet_text_add_json, "a\"\\\n\xc3\xa9\xc3", 7, "\"a\\\"\\\\\\u000A\xc3\xa9\\\\xC3\"");
    check(pellet_text_add_json, "", 0, "\"\"");
    /* Marks that turn the reading direction can make a name look like another one. */
    check(pellet_text_add_visible,
          "a\xe2\x80\xae"
          "b",
          5,
          "a\\xE2\\x80\\xAE"
          "b");
    check(pellet_text_add_json, "\xe2\x80\xae", 3, "\"\\u202E\"");
}

/* Whatever comes in, what comes out is valid UTF-8 without control characters. */
static void random_bytes_come_out_clean(void **state)
{
    (void)state;
    uint64_t seed = 7;
    for (int round = 0; round < 20000; round++) {
        char bytes[24];
        const size_t n = random_below(&seed, sizeof bytes + 1);
        for (size_t i = 0; i < n; i++)
            bytes[i] = (char)random_next(&seed);
        for (size_t w = 0; w < sizeof writers / sizeof *writers; w++) {
            struct pellet_text text = {0};
            writers[w](&text, bytes, n);
            assert_true(pellet_utf8_valid(pellet_text_string(&text), text.length));
            for (size_t i = 0; i < text.length; i++)
                assert_true((unsigned char)text.data[i] >= 0x20 && text.data[i] != 0x7F);
            pellet_text_free(&text);
        }
    }
}

static int hex_digit(char c)
{
    return c <= '9' ? c - '0' : c - 'A' + 10;
}

static void a_uri_decodes_to_the_same_bytes(void **state)
{
    (void)state;
    uint64_t seed = 11;
    for (int round = 0; round < 5000; round++) {
        char bytes[40], decoded[40];
        const size_t n = random_below(&seed, sizeof bytes + 1);
        for (size_t i = 0; i < n; i++)
            bytes[i] = (char)random_next(&seed);
        struct pellet_text text = {0};
        pellet_text_add_uri(&text, bytes, n);
        size_t m = 0;
        for (size_t i = 0; i < text.length; i++) {
            if (text.data[i] == '%') {
                decoded[m++] = (char)(hex_digit(text.data[i + 1]) * 16 + hex_digit(text.data[i + 2]));
                i += 2;
            } else {
                decoded[m++] = text.data[i];
            }
        }
        assert_int_equal(m, n);
        assert_memory_equal(decoded, bytes, n);
        pellet_text_free(&text);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_byte_alone),
        cmocka_unit_test(known_strings),
        cmocka_unit_test(random_bytes_come_out_clean),
        cmocka_unit_test(a_uri_decodes_to_the_same_bytes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
