// SPDX-License-Identifier: GPL-3.0-or-later
/* What the command line says of a station. */
#include "testing.h"

#include "command.h"
#include "override.h"

#include <string.h>

/* `arguments` as they would stand after `judge`, NULL at the end. */
static pellet_status apply(const char *const arguments[], struct pellet_arena *arena,
                           struct station_config *station, struct pellet_error *error)
{
    char *argv[OPTIONS_SET_MAX + 4] = {(char[]){"judge"}};
    struct options options = {0};
    int count = 1;
    int first = 0;
    for (size_t i = 0; arguments[i]; i++)
        argv[count++] = (char *)(uintptr_t)arguments[i];
    assert_int_equal(options_read(FOR_JUDGE, count, argv, &options, &first, error), PELLET_OK);
    assert_int_equal(first, count);
    return override_station(&options, arena, station, error);
}

static void settings_are_those_of_the_configuration(void **state)
{
    (void)state;
    static const char *const arguments[] = {"--set", "ordinate=absorbance", "--set",   "include=*.CSV",
                                            "--set", "blank=[b*, kbr*]",    "--set",   "range=4000..650 cm-1",
                                            "--set", "settle=2 s",          "--rules", "teaching",
                                            NULL};
    struct pellet_arena arena = {0};
    struct station_config station = {.rules = "routine"};
    struct pellet_error error = {0};
    assert_int_equal(apply(arguments, &arena, &station, &error), PELLET_OK);
    assert_int_equal(station.ordinate, PELLET_ORDINATE_ABSORBANCE);
    assert_int_equal(station.include.n, 1);
    assert_string_equal(station.include.pattern[0], "*.CSV");
    assert_int_equal(station.blank.n, 2);
    assert_near(station.range_low, 650, 0);
    assert_near(station.settle_s, 2, 0);
    assert_string_equal(station.rules, "teaching");
    pellet_arena_free(&arena);
}

static void what_cannot_be_set_is_said(void **state)
{
    (void)state;
    static const struct {
        const char *assignment, *says;
    } cases[] = {
        {"ordinate", "KEY=VALUE"},
        {"=absorbance", "KEY=VALUE"},
        {"folder=/elsewhere", "not the folder"},
        {"settle=1\nfolder: /elsewhere", "one key"},
        {"ordinat=absorbance", "there is no such key"},
        {"ordinate=absorbence", "allowed is"},
        {"range=[", "YAML"},
        {"settle=-1", "settle"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const char *const arguments[] = {"--set", cases[i].assignment, NULL};
        struct pellet_arena arena = {0};
        struct station_config station = {0};
        struct pellet_error error = {0};
        assert_int_not_equal(apply(arguments, &arena, &station, &error), PELLET_OK);
        if (!strstr(error.message, cases[i].says))
            fail_msg("%s: %s", cases[i].assignment, error.message);
        assert_null(station.folder);
        pellet_arena_free(&arena);
    }
}

static void more_than_can_be_kept_is_refused(void **state)
{
    (void)state;
    char option[] = "--set";
    char assignment[] = "depth=1";
    char *argv[2 * (OPTIONS_SET_MAX + 1) + 2] = {(char[]){"judge"}};
    int count = 1;
    for (int i = 0; i <= OPTIONS_SET_MAX; i++) {
        argv[count++] = option;
        argv[count++] = assignment;
    }
    struct options options = {0};
    struct pellet_error error = {0};
    int first = 0;
    assert_int_equal(options_read(FOR_JUDGE, count, argv, &options, &first, &error), PELLET_E_USAGE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(settings_are_those_of_the_configuration),
        cmocka_unit_test(what_cannot_be_set_is_said),
        cmocka_unit_test(more_than_can_be_kept_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
