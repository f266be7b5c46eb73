// SPDX-License-Identifier: GPL-3.0-or-later
#include "testing.h"

#include "worksheet.h"

#include <string.h>

static struct worksheet read_good(const char *text, struct pellet_text *problems)
{
    struct worksheet worksheet = {0};
    struct pellet_error error = {0};
    if (worksheet_read(text, strlen(text), &worksheet, problems, &error) != PELLET_OK)
        fail_msg("%s", error.message);
    return worksheet;
}

static void all_columns(void **state)
{
    (void)state;
    struct pellet_text problems = {0};
    struct worksheet w = read_good("pellet,sample,operator,sample_mg,kbr_mg,pressed_mg,powder_left_mg,die_mm,"
                                   "load_t,kbr_lot,decision,decided_by,decision_reason\r\n"
                                   "2,caffeine,Ada,1.2,200,198.5,3,13,8,L-7,use,Grace,\"fine, for now\"\r\n",
                                   &problems);
    assert_int_equal(w.n, 1);
    const struct pellet_worksheet_row *row = &w.row[0];
    assert_string_equal(row->sample, "caffeine");
    assert_int_equal(row->pellet, 2);
    assert_string_equal(row->operator_name, "Ada");
    assert_near(row->sample_mg, 1.2, 0);
    assert_near(row->kbr_mg, 200, 0);
    assert_near(row->pressed_mg, 198.5, 0);
    assert_near(row->powder_left_mg, 3, 0);
    assert_near(row->die_mm, 13, 0);
    assert_near(row->load_t, 8, 0);
    assert_string_equal(row->kbr_lot, "L-7");
    assert_string_equal(row->decision_reason, "fine, for now");
    assert_int_equal(row->line, 2);
    assert_int_equal(problems.length, 0);
    worksheet_clear(&w);
    pellet_text_free(&problems);
}

/* Semicolons bring decimal commas; a BOM, empty lines, unknown columns and missing cells are no trouble. */
static void as_spreadsheets_save_it(void **state)
{
    (void)state;
    struct pellet_text problems = {0};
    struct worksheet w = read_good(
        "\xEF\xBB\xBFSample;colour;sample_mg\n\ncaffeine;white;1,25\n\nsugar;;\n;blue;3\n", &problems);
    assert_int_equal(w.n, 2);
    assert_near(w.row[0].sample_mg, 1.25, 0);
    assert_string_equal(w.row[1].sample, "sugar");
    assert_true(isnan(w.row[1].sample_mg));
    assert_null(w.row[1].kbr_lot);
    assert_string_equal(problems.data, "line 6: no sample is named; the row is left out\n");
    pellet_text_free(&problems);
    worksheet_clear(&w);
    /* The last line may lack its end. */
    w = read_good("sample\tload_t\nx\t2,5", &problems);
    assert_int_equal(w.n, 1);
    assert_near(w.row[0].load_t, 2.5, 0);
    worksheet_clear(&w);
}

/* A slip of the pen costs its own cell, and is told. */
static void bad_cells(void **state)
{
    (void)state;
    struct pellet_text problems = {0};
    struct worksheet w = read_good("sample,pellet,sample_mg\na,one,2\nb,1,-3\nc,1.5,1e9\n", &problems);
    assert_int_equal(w.n, 3);
    assert_int_equal(w.row[0].pellet, 0);
    assert_near(w.row[0].sample_mg, 2, 0);
    assert_true(isnan(w.row[1].sample_mg));
    assert_true(isnan(w.row[2].sample_mg));
    assert_non_null(strstr(problems.data, "line 2, pellet: 'one'"));
    assert_non_null(strstr(problems.data, "line 3, sample_mg: '-3'"));
    assert_non_null(strstr(problems.data, "line 4, pellet: '1.5'"));
    worksheet_clear(&w);
    pellet_text_free(&problems);
}

/* Rows that nobody can find, or that another one overrules, are told by their lines. */
static void bad_rows(void **state)
{
    (void)state;
    struct pellet_text problems = {0};
    struct worksheet w = read_good(
        "sample,pellet,sample_mg,die_mm\n,1,2,13\na,1,2,13\n,,,\na,1,3,13\nb,1,2,1300\n", &problems);
    assert_int_equal(w.n, 3);
    assert_non_null(strstr(problems.data, "line 2: no sample is named"));
    assert_null(strstr(problems.data, "line 4:"));
    assert_non_null(strstr(problems.data, "line 3: line 5 is for the same pellet"));
    assert_non_null(strstr(problems.data, "line 6, die_mm: '1300'"));
    assert_true(isnan(w.row[2].die_mm));
    assert_near(worksheet_find(&w, "a", 1)->sample_mg, 3, 0);
    worksheet_clear(&w);
    pellet_text_free(&problems);
}

/* What can change a verdict is the masses, the die and the load; a decision or a name cannot. */
static void what_changes_a_verdict(void **state)
{
    (void)state;
    struct pellet_text problems = {0};
    struct worksheet w = read_good("sample,pellet,operator,sample_mg,load_t,decision\n"
                                   "a,1,Ada,2,8,\na,2,Ben,2,8,use\na,3,Ada,2.1,8,\na,4,Ada,2,,\n",
                                   &problems);
    assert_false(worksheet_rows_differ(&w.row[0], &w.row[0]));
    assert_false(worksheet_rows_differ(&w.row[0], &w.row[1]));
    assert_true(worksheet_rows_differ(&w.row[0], &w.row[2]));
    assert_true(worksheet_rows_differ(&w.row[0], &w.row[3]));
    assert_true(worksheet_rows_differ(&w.row[0], NULL));
    assert_false(worksheet_rows_differ(NULL, NULL));
    worksheet_clear(&w);
    pellet_text_free(&problems);
}

static void refused_as_a_whole(void **state)
{
    (void)state;
    static const char *const texts[] = {"", "\n\n", "pellet,sample_mg\n1,2\n"};
    struct pellet_text problems = {0};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        struct worksheet w = {.n = 77};
        struct pellet_error error = {0};
        assert_int_equal(worksheet_read(texts[i], strlen(texts[i]), &w, &problems, &error), PELLET_E_FORMAT);
        assert_int_equal(w.n, 77);
        assert_non_null(strstr(error.message, "sample"));
    }
    pellet_text_free(&problems);
}

static void too_many_rows(void **state)
{
    (void)state;
    struct pellet_text text = {0};
    struct pellet_text problems = {0};
    struct worksheet w = {.n = 77};
    pellet_text_adds(&text, "sample\n");
    for (int i = 0; i < 3 * WORKSHEET_ROWS_MAX; i++)
        pellet_text_adds(&text, "x\n");
    assert_int_equal(worksheet_read(text.data, text.length, &w, &problems, NULL), PELLET_E_LIMIT);
    assert_int_equal(w.n, 77);
    pellet_text_free(&text);
    pellet_text_free(&problems);
}

static void finding_a_row(void **state)
{
    (void)state;
    struct pellet_text problems = {0};
    struct worksheet w = read_good("sample,pellet,load_t\na,,1\na,1,2\na,2,3\na,2,4\nb,1,5\n", &problems);
    assert_near(worksheet_find(&w, "a", 1)->load_t, 2, 0);
    /* The last word counts. */
    assert_near(worksheet_find(&w, "a", 2)->load_t, 4, 0);
    assert_near(worksheet_find(&w, "a", 3)->load_t, 1, 0);
    assert_null(worksheet_find(&w, "b", 2));
    assert_null(worksheet_find(&w, "A", 1));
    worksheet_clear(&w);
    pellet_text_free(&problems);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(all_columns),   cmocka_unit_test(as_spreadsheets_save_it),
        cmocka_unit_test(bad_cells),     cmocka_unit_test(refused_as_a_whole),
        cmocka_unit_test(bad_rows),      cmocka_unit_test(what_changes_a_verdict),
        cmocka_unit_test(too_many_rows), cmocka_unit_test(finding_a_row),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
