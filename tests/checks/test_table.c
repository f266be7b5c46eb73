// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/measurement.h"

/* The order in which verdicts list the checks is part of the contract. */
static void the_checks_come_in_the_order_of_the_design(void **state)
{
    static const char *const ids[] = {
        "blank",          "span",       "noise",   "leak",    "overcompensation", "inverted",  "vapour",
        "carbon_dioxide", "saturation", "weak",    "opacity", "moisture",         "tilt",      "asymmetry",
        "fringes",        "thickness",  "residue", "purity",  "windows",          "wavenumber"};

    (void)state;
    assert_int_equal(pellet_check_count(), sizeof ids / sizeof ids[0]);
    for (size_t i = 0; i < sizeof ids / sizeof ids[0]; i++) {
        assert_string_equal(pellet_check_at(i)->id, ids[i]);
        assert_ptr_equal(pellet_check_find(ids[i]), pellet_check_at(i));
        assert_int_equal(pellet_check_index(pellet_check_at(i)), i);
    }
    assert_null(pellet_check_at(pellet_check_count()));
    assert_null(pellet_check_find("identity"));
}

static void every_row_is_complete(void **state)
{
    (void)state;
    for (size_t i = 0; i < pellet_check_count(); i++) {
        const struct pellet_check *check = pellet_check_at(i);
        assert_true(check->bench_word[0] && check->quantity[0] && check->meaning[0] && check->source[0]);
        assert_non_null(check->run);
        assert_true(check->roles != 0);
        assert_true(check->outcome > PELLET_PASS && check->outcome < PELLET_NOT_CHECKED);
        for (size_t p = 0; p < PELLET_PARAMETERS_MAX && check->parameter[p].key != NULL; p++) {
            const struct pellet_parameter *parameter = &check->parameter[p];
            assert_true(parameter->meaning[0] != '\0');
            assert_true(parameter->lowest < parameter->highest);
            assert_true(parameter->standard.low >= parameter->lowest);
            assert_true(parameter->standard.high <= parameter->highest);
            assert_true(parameter->standard.low <= parameter->standard.high);
            assert_true(parameter->kind == PELLET_PARAMETER_RANGE ||
                        !(parameter->standard.low < parameter->standard.high));
        }
    }
}

/* The limits and outcomes of the design's table, one row for each number in it. */
static void the_standards_are_the_routine_limits(void **state)
{
    static const struct {
        const char *id, *key;
        double low, high;
        enum pellet_outcome outcome;
    } rows[] = {
        {"span", "margin", 50, 50, PELLET_RESCAN},
        {"noise", "limit", 0.002, 0.002, PELLET_RESCAN},
        {"noise", "blank_limit", 0.001, 0.001, PELLET_RESCAN},
        {"noise", "window", 2000, 2200, PELLET_RESCAN},
        {"noise", "second_window", 2500, 2700, PELLET_RESCAN},
        {"leak", "limit", 0.02, 0.02, PELLET_RESCAN},
        {"overcompensation", "limit", 1.05, 1.05, PELLET_WAIT},
        {"overcompensation", "empty_beam", 1.07, 1.11, PELLET_WAIT},
        {"inverted", "limit", 0.02, 0.02, PELLET_WAIT},
        {"inverted", "width", 60, 60, PELLET_WAIT},
        {"vapour", "limit", 0.02, 0.02, PELLET_RESCAN},
        {"carbon_dioxide", "limit", 0.05, 0.05, PELLET_NOTE},
        {"saturation", "limit", 1.5, 1.5, PELLET_REMAKE},
        {"weak", "limit", 0.2, 0.2, PELLET_REMAKE},
        {"weak", "no_sample", 0.03, 0.03, PELLET_REMAKE},
        {"opacity", "against_open_beam", 60, 60, PELLET_REMAKE},
        {"opacity", "against_blank", 65.6, 65.6, PELLET_REMAKE},
        {"opacity", "blank_pellet", 75, 75, PELLET_REMAKE},
        {"opacity", "window", 1950, 2050, PELLET_REMAKE},
        {"opacity", "second_window", 1900, 2150, PELLET_REMAKE},
        {"moisture", "limit", 30, 30, PELLET_REMAKE},
        {"tilt", "limit", 0.2, 0.2, PELLET_REMAKE},
        {"tilt", "blank_limit", 0.1, 0.1, PELLET_REMAKE},
        {"asymmetry", "limit", 0.35, 0.35, PELLET_REMAKE},
        {"fringes", "limit", 0.02, 0.02, PELLET_NOTE},
        {"thickness", "usual", 0.1, 1.2, PELLET_NOTE},
        {"residue", "limit", 0.02, 0.02, PELLET_REMAKE},
        {"residue", "match", 0.9, 0.9, PELLET_REMAKE},
        {"purity", "limit", 0.02, 0.02, PELLET_REMAKE},
        {"wavenumber", "above_1900", 1.5, 1.5, PELLET_RESCAN},
        {"wavenumber", "below_1900", 1.0, 1.0, PELLET_RESCAN},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        const struct pellet_check *check = pellet_check_find(rows[i].id);
        const struct pellet_parameter *parameter = check->parameter;
        while (parameter->key != NULL && strcmp(parameter->key, rows[i].key) != 0)
            parameter++;
        assert_non_null(parameter->key);
        assert_near(parameter->standard.low, rows[i].low, 0.0);
        assert_near(parameter->standard.high, rows[i].high, 0.0);
        assert_int_equal(check->outcome, rows[i].outcome);
    }
}

/* Which checks judge a blank is listed in the design. */
static void blanks_are_judged_by_their_own_list(void **state)
{
    static const char *const ids[] = {"span",     "noise",  "leak",    "vapour",  "tilt",   "opacity",
                                      "moisture", "purity", "residue", "fringes", "windows"};
    size_t count = 0;

    (void)state;
    for (size_t i = 0; i < sizeof ids / sizeof ids[0]; i++)
        assert_true(pellet_check_find(ids[i])->roles & PELLET_FOR(PELLET_BLANK));
    for (size_t i = 0; i < pellet_check_count(); i++)
        count += (pellet_check_at(i)->roles & PELLET_FOR(PELLET_BLANK)) != 0;
    assert_int_equal(count, sizeof ids / sizeof ids[0]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_checks_come_in_the_order_of_the_design),
        cmocka_unit_test(every_row_is_complete),
        cmocka_unit_test(the_standards_are_the_routine_limits),
        cmocka_unit_test(blanks_are_judged_by_their_own_list),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
