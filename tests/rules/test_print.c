// SPDX-License-Identifier: GPL-3.0-or-later
#include "testing.h"

#include "pellet/checks.h"
#include "pellet/rules.h"

#include <string.h>

static char *print(const char *yaml)
{
    struct pellet_rules rules = {0};
    struct pellet_error error = {0};
    struct pellet_text out = {0};
    if (pellet_rules_read(yaml, strlen(yaml), "mine.yaml", &rules, &error) != PELLET_OK)
        fail_msg("%zu:%zu: %s", error.line, error.column, error.message);
    pellet_rules_print(&rules, &out);
    pellet_rules_clear(&rules);
    assert_int_equal(pellet_text_status(&out), PELLET_OK);
    return out.data;
}

static void every_line_is_bounded(const char *text)
{
    for (const char *line = text; *line != '\0';) {
        const size_t n = strcspn(line, "\n");
        assert_true(n <= 96);
        assert_true(n == 0 || line[n - 1] != ' ');
        line += n + (line[n] == '\n');
    }
}

static void everything_is_there(void **state)
{
    (void)state;
    char *text = print("format: 1\nname: mine\nchecks: {fringes: off, noise: {required: true}}\n");
    for (size_t i = 0; i < pellet_check_count(); i++) {
        const struct pellet_check *check = pellet_check_at(i);
        char start[64];
        snprintf(start, sizeof start, "\n%s ", check->id);
        assert_non_null(strstr(text, start));
        for (size_t p = 0; p < PELLET_PARAMETERS_MAX && check->parameter[p].key != NULL; p++)
            assert_non_null(strstr(text, check->parameter[p].key));
    }
    assert_non_null(strstr(text, "\nfringes               off "));
    assert_non_null(strstr(text, "\nnoise                 rescan, required "));
    assert_non_null(strstr(text, "  limit               0.002 A "));
    assert_non_null(strstr(text, "  window              2000..2200 cm-1 "));
    assert_non_null(strstr(text, "  blank.max_age       60 min "));
    every_line_is_bounded(text);
    free(text);
}

static void windows_are_listed(void **state)
{
    (void)state;
    char *text =
        print("format: 1\nchecks:\n  windows:\n    list:\n      - {name: nitrile, range: 2200..2280 cm-1, "
              "lowest: 0.1 A, highest: 1 A, outcome: remake, source: SOP 7}\n");
    assert_non_null(strstr(text, "  nitrile             2200..2280 cm-1     highest 1 A, lowest 0.1 A, else "
                                 "remake; source: SOP"));
    free(text);
}

/* Names, titles and sources come from a file: what would move a cursor is shown, not sent. */
static void hostile_texts_are_visible(void **state)
{
    (void)state;
    char *text =
        print("format: 1\nname: \"\\e[2J\"\ntitle: \"a\\nb\"\nchecks:\n  tilt: {source: \"\\e]0;x\\a\"}\n"
              "  windows:\n    list:\n      - {name: \"\\e[31m\", range: 2200..2280 cm-1, highest: 1 A}\n");
    assert_null(strchr(text, '\x1b'));
    assert_null(strchr(text, '\a'));
    assert_non_null(strstr(text, "\\x1B[2J"));
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(everything_is_there),
        cmocka_unit_test(windows_are_listed),
        cmocka_unit_test(hostile_texts_are_visible),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
