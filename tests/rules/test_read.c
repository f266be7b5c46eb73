// SPDX-License-Identifier: GPL-3.0-or-later
#include "testing.h"

#include "pellet/checks.h"
#include "pellet/rules.h"
#include "rules/shipped.h"

#include <string.h>

static pellet_status read_rules(const char *yaml, struct pellet_rules *rules, struct pellet_error *error)
{
    return pellet_rules_read(yaml, strlen(yaml), "mine.yaml", rules, error);
}

static const struct pellet_rule *rule_of(const struct pellet_rules *rules, const char *id)
{
    return &rules->rule[pellet_check_index(pellet_check_find(id))];
}

static size_t parameter_of(const char *id, const char *key)
{
    const struct pellet_check *check = pellet_check_find(id);
    size_t i = 0;
    while (strcmp(check->parameter[i].key, key) != 0)
        i++;
    return i;
}

static struct pellet_limit limit_of(const struct pellet_rules *rules, const char *id, const char *key)
{
    return rule_of(rules, id)->parameter[parameter_of(id, key)];
}

/* A text that says nothing but its format is the table's standards. */
static void silence_means_the_standards(void **state)
{
    (void)state;
    struct pellet_rules rules = {0};
    struct pellet_error error = {0};
    assert_int_equal(read_rules("format: 1\n", &rules, &error), PELLET_OK);
    assert_string_equal(rules.name, "mine.yaml");
    assert_string_equal(rules.title, "");
    assert_int_equal(strlen(rules.sha256), 64);
    assert_int_equal(rules.rule_count, pellet_check_count());
    for (size_t i = 0; i < rules.rule_count; i++) {
        const struct pellet_check *check = pellet_check_at(i);
        struct pellet_rule standard;
        pellet_rule_standard(check, &standard);
        assert_true(rules.rule[i].on);
        assert_false(rules.rule[i].required);
        assert_int_equal(rules.rule[i].outcome, check->outcome);
        assert_non_null(rules.rule[i].source);
        assert_memory_equal(rules.rule[i].parameter, standard.parameter, sizeof standard.parameter);
    }
    assert_int_equal(rules.window_count, 0);
    assert_near(rules.session_gap_h, 3, 0);
    assert_near(rules.blank_max_age_min, 60, 0);
    assert_near(rules.blank_look_ahead_min, 15, 0);
    assert_false(rules.blank_accept_any);
    assert_near(rules.open_beam_max_age_h, 24, 0);
    assert_near(rules.target_absorbance, 0.7, 0);
    assert_near(rules.target_thickness_mm.low, 0.25, 0);
    assert_near(rules.target_thickness_mm.high, 0.8, 0);
    assert_near(rules.balance_min_mg, 2, 0);
    assert_near(rules.pressure_max_mpa, 740, 0);
    assert_false(rules.explain);
    pellet_rules_clear(&rules);
    assert_null(rules.rule);
    pellet_rules_clear(NULL);
}

static void everything_can_be_set(void **state)
{
    (void)state;
    static const char yaml[] =
        "format: 1\nname: mine\ntitle: \"A title\"\n"
        "session: {gap: 90 min}\n"
        "blank: {max_age: 2 h, look_ahead: 0 min, accept: any}\n"
        "open_beam: {max_age: 2 d}\n"
        "advice: {target: 0.5 A, thickness: 1.0..0.3 mm, balance_min: 0.5 mg, pressure_max: 500 MPa}\n"
        "explain: yes\n"
        "checks:\n"
        "  fringes: off\n"
        "  noise: {limit: 0.004 A, window: 2100..2000 cm-1, required: true}\n"
        "  opacity: {against_open_beam: 55.5 %, outcome: note, source: 'our SOP'}\n"
        "  tilt: {limit: 0.3 A, on: false}\n"
        "  windows:\n"
        "    outcome: remake\n"
        "    source: of all\n"
        "    list:\n"
        "      - {name: nitrile, range: 2200..2280 cm-1, lowest: 0.1 A, source: 'SOP 7'}\n"
        "      - {name: oil, range: 2840..2970 cm-1, highest: 0.02 A, outcome: note}\n";
    struct pellet_rules rules = {0};
    struct pellet_error error = {0};
    assert_int_equal(read_rules(yaml, &rules, &error), PELLET_OK);
    assert_string_equal(rules.name, "mine");
    assert_string_equal(rules.title, "A title");
    assert_near(rules.session_gap_h, 1.5, 1e-12);
    assert_near(rules.blank_max_age_min, 120, 0);
    assert_near(rules.blank_look_ahead_min, 0, 0);
    assert_true(rules.blank_accept_any);
    assert_near(rules.open_beam_max_age_h, 48, 0);
    assert_near(rules.target_absorbance, 0.5, 0);
    assert_near(rules.target_thickness_mm.low, 0.3, 0);
    assert_near(rules.target_thickness_mm.high, 1.0, 0);
    assert_near(rules.balance_min_mg, 0.5, 0);
    assert_near(rules.pressure_max_mpa, 500, 0);
    assert_true(rules.explain);
    assert_false(rule_of(&rules, "fringes")->on);
    assert_false(rule_of(&rules, "tilt")->on);
    assert_near(limit_of(&rules, "tilt", "limit").high, 0.3, 0);
    assert_true(rule_of(&rules, "noise")->required);
    assert_near(limit_of(&rules, "noise", "limit").low, 0.004, 0);
    assert_near(limit_of(&rules, "noise", "limit").high, 0.004, 0);
    assert_near(limit_of(&rules, "noise", "window").low, 2000, 0);
    assert_near(limit_of(&rules, "noise", "window").high, 2100, 0);
    assert_near(limit_of(&rules, "opacity", "against_open_beam").high, 55.5, 0);
    assert_int_equal(rule_of(&rules, "opacity")->outcome, PELLET_NOTE);
    assert_string_equal(rule_of(&rules, "opacity")->source, "our SOP");
    assert_int_equal(rules.window_count, 2);
    assert_string_equal(rules.window[0].name, "nitrile");
    assert_near(rules.window[0].low_cm1, 2200, 0);
    assert_near(rules.window[0].high_cm1, 2280, 0);
    assert_near(rules.window[0].lowest, 0.1, 0);
    assert_true(isnan(rules.window[0].highest));
    assert_int_equal(rules.window[0].outcome, PELLET_REMAKE);
    assert_string_equal(rules.window[0].source, "SOP 7");
    assert_near(rules.window[1].highest, 0.02, 0);
    assert_true(isnan(rules.window[1].lowest));
    assert_int_equal(rules.window[1].outcome, PELLET_NOTE);
    assert_string_equal(rules.window[1].source, "of all");
    pellet_rules_clear(&rules);
}

static void bad_rule_sets_are_refused(void **state)
{
    (void)state;
    static const struct {
        const char *yaml;
        pellet_status status;
        size_t line, column;
        const char *says; /* a part of the message: what was found or what is allowed */
    } cases[] = {
        {"", PELLET_E_FORMAT, 1, 1, "nothing"},
        {"[1]\n", PELLET_E_FORMAT, 1, 1, "found a list, allowed is a mapping"},
        {"name: x\n", PELLET_E_FORMAT, 1, 1, "\"format\" is missing"},
        {"format: 2\n", PELLET_E_LIMIT, 1, 9, "up to 1"},
        {"format: one\n", PELLET_E_NUMBER, 1, 9, "whole number"},
        {"format: 1\nsesion: {}\n", PELLET_E_FORMAT, 2, 1, "session, blank, open_beam"},
        {"format: 1\nname: ''\n", PELLET_E_RANGE, 2, 7, "1 to 64"},
        {"format: 1\nname: [a]\n", PELLET_E_FORMAT, 2, 7, "a text"},
        {"format: 1\nexplain: maybe\n", PELLET_E_FORMAT, 2, 10, "true or false"},
        {"format: 1\nsession: 3 h\n", PELLET_E_FORMAT, 2, 10, "a mapping"},
        {"format: 1\nsession: {gap: 3}\n", PELLET_E_UNIT, 2, 16, "s, min, h or d"},
        {"format: 1\nsession: {gap: 3 A}\n", PELLET_E_UNIT, 2, 16, "s, min, h or d"},
        {"format: 1\nsession: {gap: long}\n", PELLET_E_NUMBER, 2, 16, "not a number"},
        {"format: 1\nsession: {gap: 1 s}\n", PELLET_E_RANGE, 2, 16, "0.1 h to 168 h"},
        {"format: 1\nsession: {gap: 3 h, gap: 4 h}\n", PELLET_E_FORMAT, 2, 21, "twice"},
        {"format: 1\nsession: {max_age: 3 h}\n", PELLET_E_FORMAT, 2, 11, "allowed is gap"},
        {"format: 1\nblank: {accept: some}\n", PELLET_E_FORMAT, 2, 17, "pass or any"},
        {"format: 1\nadvice: {thickness: 0.3 mm}\n", PELLET_E_FORMAT, 2, 21, "range"},
        {"format: 1\nchecks: [noise]\n", PELLET_E_FORMAT, 2, 9, "a mapping"},
        {"format: 1\nchecks:\n  noize: {}\n", PELLET_E_FORMAT, 3, 3, "blank, span, noise"},
        {"format: 1\nchecks:\n  noise: {limit: 0.002}\n", PELLET_E_UNIT, 3, 18, "write A"},
        {"format: 1\nchecks:\n  noise: {limit: 2 %}\n", PELLET_E_UNIT, 3, 18, "write A"},
        {"format: 1\nchecks:\n  noise: {limit: .nan}\n", PELLET_E_NUMBER, 3, 18, "not a number"},
        {"format: 1\nchecks:\n  noise: {limit: 99 A}\n", PELLET_E_RANGE, 3, 18, "1.0e-05 A to 0.5 A"},
        {"format: 1\nchecks:\n  noise: {limit: -1 A}\n", PELLET_E_RANGE, 3, 18, "A to 0.5 A"},
        {"format: 1\nchecks:\n  noise: {window: 100..2200 cm-1}\n", PELLET_E_RANGE, 3, 19, "400 cm-1"},
        {"format: 1\nchecks:\n  noise: {windows: 1}\n", PELLET_E_FORMAT, 3, 11, "limit, blank_limit, window"},
        {"format: 1\nchecks:\n  noise: {outcome: pass}\n", PELLET_E_FORMAT, 3, 20, "wait, rescan or remake"},
        {"format: 1\nchecks:\n  noise: {outcome: not_checked}\n", PELLET_E_FORMAT, 3, 20, "note, wait"},
        {"format: 1\nchecks:\n  noise: {required: 1}\n", PELLET_E_FORMAT, 3, 21, "true or false"},
        {"format: 1\nchecks:\n  noise: {on: no, required: yes}\n", PELLET_E_FORMAT, 3, 10, "no pellet"},
        {"format: 1\nchecks:\n  noise: maybe\n", PELLET_E_FORMAT, 3, 10, "true or false"},
        {"format: 1\nchecks:\n  noise: {source: }\n", PELLET_E_FORMAT, 3, 19, "a text"},
        {"format: 1\nchecks:\n  noise: {limit: [1 A]}\n", PELLET_E_FORMAT, 3, 18, "one value"},
        {"format: 1\nchecks:\n  blank: {limit: 60 min}\n", PELLET_E_FORMAT, 3, 11, "no such key"},
        {"format: 1\nchecks:\n  tilt: {list: []}\n", PELLET_E_FORMAT, 3, 10, "no such key"},
        {"format: 1\nchecks:\n  windows: {list: {}}\n", PELLET_E_FORMAT, 3, 19, "a list"},
        {"format: 1\nchecks:\n  windows: {list: [x]}\n", PELLET_E_FORMAT, 3, 20, "a mapping"},
        {"format: 1\nchecks:\n  windows:\n    list:\n      - {name: x, highest: 1 A}\n", PELLET_E_FORMAT, 5,
         9, "\"range\" is missing"},
        {"format: 1\nchecks:\n  windows:\n    list:\n      - {range: 1..2 cm-1, highest: 1 A}\n",
         PELLET_E_FORMAT, 5, 9, "\"name\" is missing"},
        {"format: 1\nchecks:\n  windows:\n    list:\n      - {name: x, range: 1900..2000 cm-1}\n",
         PELLET_E_FORMAT, 5, 9, "\"highest\" and \"lowest\""},
        {"format: 1\nchecks:\n  windows:\n    list:\n      - {name: x, range: 2000..2000 cm-1, highest: 1 "
         "A}\n",
         PELLET_E_RANGE, 5, 26, "no width"},
        {"format: 1\nchecks:\n  windows:\n    list:\n      - {name: x, range: 1..2000 cm-1, highest: 1 A}\n",
         PELLET_E_RANGE, 5, 26, "200 cm-1"},
        {"format: 1\nchecks:\n  windows:\n    list:\n"
         "      - {name: x, range: 1900..2000 cm-1, highest: 0.1 A, lowest: 0.2 A}\n",
         PELLET_E_RANGE, 5, 9, "nothing could pass"},
        {"format: 1\nchecks: &c {}\n", PELLET_E_FORMAT, 2, 9, "anchors"},
        {"format: 1\nchecks: *c\n", PELLET_E_FORMAT, 2, 9, "aliases"},
        {"format: 1\nchecks: !x {}\n", PELLET_E_FORMAT, 2, 9, "tags"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct pellet_rules rules;
        struct pellet_rules before;
        memset(&rules, 0x5a, sizeof rules);
        memcpy(&before, &rules, sizeof rules);
        struct pellet_error error = {0};
        const pellet_status status = read_rules(cases[i].yaml, &rules, &error);
        if (status != cases[i].status || error.line != cases[i].line || error.column != cases[i].column ||
            strstr(error.message, cases[i].says) == NULL)
            fail_msg("case %zu: %s at %zu:%zu: %s", i, pellet_status_id(status), error.line, error.column,
                     error.message);
        assert_string_equal(error.file, "mine.yaml");
        assert_memory_equal(&rules, &before, sizeof rules);
        assert_int_equal(pellet_rules_read(cases[i].yaml, strlen(cases[i].yaml), "m", &rules, NULL),
                         cases[i].status);
    }
}

static void windows_have_a_limit(void **state)
{
    (void)state;
    struct pellet_text yaml = {0};
    struct pellet_rules rules = {0};
    struct pellet_error error = {0};
    pellet_text_adds(&yaml, "format: 1\nchecks:\n  windows:\n    list:\n");
    for (int i = 0; i < 64; i++)
        pellet_text_addf(&yaml, "      - {name: w%d, range: 1900..2000 cm-1, highest: 0.1 A}\n", i);
    assert_int_equal(read_rules(yaml.data, &rules, &error), PELLET_OK);
    assert_int_equal(rules.window_count, 64);
    pellet_rules_clear(&rules);
    pellet_text_adds(&yaml, "      - {name: w64, range: 1900..2000 cm-1, highest: 0.1 A}\n");
    assert_int_equal(read_rules(yaml.data, &rules, &error), PELLET_E_LIMIT);
    pellet_text_free(&yaml);
}

/* Every parameter of the table can be set from a rule set at both its ends, and no further. */
static void parameters_reach_their_ends(void **state)
{
    (void)state;
    for (size_t i = 0; i < pellet_check_count(); i++) {
        const struct pellet_check *check = pellet_check_at(i);
        for (size_t p = 0; p < PELLET_PARAMETERS_MAX && check->parameter[p].key != NULL; p++) {
            const struct pellet_parameter *parameter = &check->parameter[p];
            if (parameter->kind != PELLET_PARAMETER_QUANTITY)
                continue;
            const double beyond = 1e-3 * (parameter->highest - parameter->lowest);
            const struct {
                double value;
                pellet_status status;
            } cases[] = {{parameter->lowest, PELLET_OK},
                         {parameter->highest, PELLET_OK},
                         {parameter->lowest - beyond, PELLET_E_RANGE},
                         {parameter->highest + beyond, PELLET_E_RANGE}};
            for (size_t c = 0; c < 4; c++) {
                char yaml[200];
                char number[32];
                struct pellet_rules rules = {0};
                pellet_number_format(cases[c].value, number);
                snprintf(yaml, sizeof yaml, "format: 1\nchecks: {%s: {%s: %s %s}}\n", check->id,
                         parameter->key, number, pellet_unit_name(parameter->unit));
                assert_int_equal(read_rules(yaml, &rules, NULL), cases[c].status);
                if (cases[c].status == PELLET_OK)
                    assert_near(rules.rule[i].parameter[p].high, cases[c].value, 0);
                pellet_rules_clear(&rules);
            }
        }
    }
}

/* Cut anywhere, a rule set is read or refused, never worse. */
static void truncated_anywhere(void **state)
{
    (void)state;
    const char *yaml = pellet_shipped_rules[0].yaml;
    for (size_t n = 0; n < pellet_shipped_rules[0].n; n++) {
        struct pellet_rules rules = {0};
        struct pellet_error error = {0};
        if (pellet_rules_read(yaml, n, "cut", &rules, &error) != PELLET_OK)
            assert_true(error.message[0] != '\0');
        pellet_rules_clear(&rules);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(silence_means_the_standards), cmocka_unit_test(everything_can_be_set),
        cmocka_unit_test(bad_rule_sets_are_refused),   cmocka_unit_test(windows_have_a_limit),
        cmocka_unit_test(parameters_reach_their_ends), cmocka_unit_test(truncated_anywhere),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
