// SPDX-License-Identifier: GPL-3.0-or-later
/* Lines with every kind of end, against a slow, obvious splitter. */
#include "reading.h"

#include "spectrum/lines.h"

static void kinds_of_ends(void **state)
{
    (void)state;
    static const char text[] = "a\nbc\r\n\rd\n\r\re";
    static const char *const expected[] = {"a", "bc", "", "d", "", "", "e"};
    struct pellet_lines lines;
    size_t i = 0;
    pellet_lines_begin(&lines, text, strlen(text));
    while (pellet_lines_next(&lines)) {
        assert_int_equal(lines.n, strlen(expected[i]));
        assert_memory_equal(lines.line, expected[i], lines.n);
        assert_int_equal(lines.number, ++i);
        assert_int_equal(lines.ended, i < 7);
    }
    assert_int_equal(i, 7);
}

static void nothing(void **state)
{
    (void)state;
    struct pellet_lines lines;
    pellet_lines_begin(&lines, "", 0);
    assert_false(pellet_lines_next(&lines));
    pellet_lines_begin(&lines, "\n", 1);
    assert_true(pellet_lines_next(&lines));
    assert_false(pellet_lines_next(&lines));
}

static void against_one_byte_at_a_time(void **state)
{
    (void)state;
    uint64_t seed = 11;
    for (int round = 0; round < 2000; round++) {
        char text[40];
        const size_t n = reading_random(&seed) % sizeof text;
        struct pellet_lines lines;
        size_t at = 0;
        for (size_t i = 0; i < n; i++)
            text[i] = "ab\n\r"[reading_random(&seed) % 4];
        pellet_lines_begin(&lines, text, n);
        while (pellet_lines_next(&lines)) {
            assert_ptr_equal(lines.line, text + at);
            while (at < n && text[at] != '\n' && text[at] != '\r')
                at++;
            assert_ptr_equal(lines.line + lines.n, text + at);
            assert_int_equal(lines.ended, at < n);
            at += at + 1 < n && text[at] == '\r' && text[at + 1] == '\n' ? 2 : at < n ? 1 : 0;
        }
        assert_int_equal(at, n);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(kinds_of_ends), cmocka_unit_test(nothing),
                                       cmocka_unit_test(against_one_byte_at_a_time)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
