// SPDX-License-Identifier: GPL-3.0-or-later
#include "testing.h"

#include "pellet/checks.h"
#include "pellet/rules.h"
#include "rules/shipped.h"

#include <string.h>

static const struct pellet_rules *shipped(const char *name, struct pellet_rules *rules)
{
    struct pellet_error error = {0};
    if (pellet_rules_shipped(name, rules, &error) != PELLET_OK)
        fail_msg("%s:%zu:%zu: %s", error.file, error.line, error.column, error.message);
    return rules;
}

static double limit_of(const struct pellet_rules *rules, const char *id, const char *key)
{
    const struct pellet_check *check = pellet_check_find(id);
    for (size_t p = 0; p < PELLET_PARAMETERS_MAX && check->parameter[p].key != NULL; p++) {
        if (strcmp(check->parameter[p].key, key) == 0)
            return rules->rule[pellet_check_index(check)].parameter[p].high;
    }
    fail_msg("%s has no %s", id, key);
    return NAN;
}

static void the_names(void **state)
{
    (void)state;
    static const char *const wanted[] = {"pharmacopoeial", "routine", "teaching"};
    for (size_t i = 0; i < 3; i++)
        assert_string_equal(pellet_rules_shipped_name(i), wanted[i]);
    assert_null(pellet_rules_shipped_name(3));
    assert_null(pellet_rules_shipped_name(99));
    struct pellet_rules rules = {.rule_count = 77};
    struct pellet_error error = {0};
    assert_int_equal(pellet_rules_shipped("strict", &rules, &error), PELLET_E_MISSING);
    assert_non_null(strstr(error.message, "pharmacopoeial, routine, teaching"));
    assert_int_equal(rules.rule_count, 77);
}

/* Each names itself as its file is called, lists every check, and gives each a source. */
static void each_is_complete(void **state)
{
    (void)state;
    const char *name;
    for (size_t i = 0; (name = pellet_rules_shipped_name(i)) != NULL; i++) {
        struct pellet_rules rules = {0};
        shipped(name, &rules);
        assert_string_equal(rules.name, name);
        assert_true(rules.title[0] != '\0');
        for (size_t c = 0; c < pellet_check_count(); c++) {
            char line[64];
            snprintf(line, sizeof line, "\n  %s:\n", pellet_check_at(c)->id);
            assert_non_null(strstr(pellet_shipped_rules[i].yaml, line));
            assert_true(rules.rule[c].on);
            assert_true(rules.rule[c].source[0] != '\0');
        }
        assert_int_equal(rules.window_count, 4);
        pellet_rules_clear(&rules);
    }
}

/* The limits that the design names for everyday work. */
static void routine_limits(void **state)
{
    (void)state;
    static const struct {
        const char *id, *key;
        double limit;
    } cases[] = {
        {"span", "margin", 50},
        {"noise", "limit", 0.002},
        {"noise", "blank_limit", 0.001},
        {"leak", "limit", 0.02},
        {"overcompensation", "limit", 1.05},
        {"inverted", "limit", 0.02},
        {"vapour", "limit", 0.02},
        {"carbon_dioxide", "limit", 0.05},
        {"saturation", "limit", 1.5},
        {"weak", "limit", 0.2},
        {"weak", "no_sample", 0.03},
        {"opacity", "against_open_beam", 60},
        {"opacity", "against_blank", 65.6},
        {"opacity", "blank_pellet", 75},
        {"moisture", "limit", 30},
        {"tilt", "limit", 0.2},
        {"tilt", "blank_limit", 0.1},
        {"asymmetry", "limit", 0.35},
        {"fringes", "limit", 0.02},
        {"thickness", "usual", 1.2},
        {"residue", "limit", 0.02},
        {"residue", "match", 0.9},
        {"residue", "strong_match", 0.95},
        {"purity", "limit", 0.02},
        {"wavenumber", "above_1900", 1.5},
        {"wavenumber", "below_1900", 1.0},
    };
    struct pellet_rules rules = {0};
    shipped("routine", &rules);
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        assert_near(limit_of(&rules, cases[i].id, cases[i].key), cases[i].limit, 0);
    assert_near(rules.blank_max_age_min, 60, 0);
    assert_false(rules.blank_accept_any);
    pellet_rules_clear(&rules);
}

/* The routine set says in full what the table of checks holds where a rule set is silent. */
static void routine_is_the_standard(void **state)
{
    (void)state;
    struct pellet_rules rules = {0};
    shipped("routine", &rules);
    for (size_t i = 0; i < rules.rule_count; i++) {
        struct pellet_rule standard;
        pellet_rule_standard(pellet_check_at(i), &standard);
        assert_int_equal(rules.rule[i].outcome, standard.outcome);
        assert_memory_equal(rules.rule[i].parameter, standard.parameter, sizeof standard.parameter);
    }
    pellet_rules_clear(&rules);
}

/*
 * 5 % transmittance is 1.301 A (A = -log10 T). 400 mg of KBr (2.75 g/cm3) on a 10 mm die, the smallest that
 * Ph. Eur. 2.2.24 names (from memory), are 1.85 mm and must not be called too thick.
 */
static void pharmacopoeial_limits(void **state)
{
    (void)state;
    struct pellet_rules rules = {0};
    shipped("pharmacopoeial", &rules);
    assert_near(limit_of(&rules, "saturation", "limit"), -log10(0.05), 5e-4);
    assert_near(limit_of(&rules, "opacity", "against_open_beam"), 60, 0);
    const double thickest_mm = 10 * 0.4 / (2.75 * M_PI * 0.5 * 0.5);
    assert_near(thickest_mm, 1.85, 0.005);
    assert_true(limit_of(&rules, "thickness", "usual") > thickest_mm);
    pellet_rules_clear(&rules);
}

static void teaching_limits(void **state)
{
    (void)state;
    struct pellet_rules rules = {0};
    shipped("teaching", &rules);
    assert_near(limit_of(&rules, "saturation", "limit"), 2.0, 0);
    assert_near(limit_of(&rules, "weak", "limit"), 0.10, 0);
    assert_near(limit_of(&rules, "moisture", "limit"), 60, 0);
    assert_near(limit_of(&rules, "tilt", "limit"), 0.40, 0);
    assert_true(rules.blank_accept_any);
    assert_true(rules.explain);
    pellet_rules_clear(&rules);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_names),
        cmocka_unit_test(each_is_complete),
        cmocka_unit_test(routine_limits),
        cmocka_unit_test(routine_is_the_standard),
        cmocka_unit_test(pharmacopoeial_limits),
        cmocka_unit_test(teaching_limits),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
