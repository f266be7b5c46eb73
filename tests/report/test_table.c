// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/session_fixture.h"

/* Fields of one line; RFC 4180, without line ends within quotes. */
static size_t fields_of(const char *line, const char *end)
{
    size_t count = 1;
    bool quoted = false;

    for (; line < end; line++) {
        quoted ^= *line == '"';
        count += *line == ',' && !quoted;
    }
    assert_false(quoted);
    return count;
}

/* The head; two checks of the blank, three of a_p1, and a line each for the other four. */
static void test_a_row_for_each_check(void **state)
{
    (void)state;
    struct fixture_session s;
    size_t lines = 0, columns = 0;

    fixture_session_init(&s);
    char *csv = fixture_page(pellet_report_table, &s.report);
    for (const char *line = csv, *end; (end = strstr(line, "\r\n")) != NULL; line = end + 2) {
        const size_t fields = fields_of(line, end);
        if (lines++ == 0)
            columns = fields;
        assert_int_equal(fields, columns);
    }
    assert_int_equal(lines, 1 + 2 + 3 + 4);
    assert_non_null(strstr(csv, "\"saturation\",\"remake\",\"absorbance\",,2.41,1.5,\"A\","));
    assert_non_null(strstr(csv, "\"moisture\",\"pass\","));
    assert_non_null(strstr(csv, ",-2.373,30,\"ug/cm2\","));
    assert_non_null(strstr(csv, "2026-03-04T10:12:31Z"));
    free(csv);
}

/* No cell begins with = + - @ but the numbers, which are ours. */
static void test_cells_are_defused(void **state)
{
    (void)state;
    struct fixture_session s;

    fixture_session_init(&s);
    char *csv = fixture_page(pellet_report_table, &s.report);
    assert_int_equal(fixture_count(csv, "\"=1+1"), 0);
    assert_non_null(strstr(csv, "\"'=1+1<script>"));
    assert_int_equal(fixture_count(csv, "\"@<"), 0);
    assert_non_null(strstr(csv, "\"'@<script>"));
    free(csv);
}

static void test_the_table_repeats(void **state)
{
    (void)state;
    struct fixture_session s;

    fixture_session_init(&s);
    char *once = fixture_page(pellet_report_table, &s.report),
         *twice = fixture_page(pellet_report_table, &s.report);
    assert_string_equal(once, twice);
    free(once);
    free(twice);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_row_for_each_check),
        cmocka_unit_test(test_cells_are_defused),
        cmocka_unit_test(test_the_table_repeats),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
