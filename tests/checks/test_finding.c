// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/measurement.h"

static const struct pellet_check check = {
    .id = "invented",
    .unit = PELLET_UNIT_ABSORBANCE,
    .outcome = PELLET_REMAKE,
    .source = "nobody",
    .parameter = {PELLET_QUANTITY("limit", ABSORBANCE, 1.5, 0, 4, "a limit"),
                  PELLET_RANGE("window", WAVENUMBER, 2000, 2200, 400, 4000, "a window")},
};

static void a_finding_starts_without_numbers(void **state)
{
    struct pellet_finding finding;

    (void)state;
    pellet_finding_init(&check, &finding);
    assert_ptr_equal(finding.check, &check);
    assert_int_equal(finding.outcome, PELLET_NOT_CHECKED);
    assert_int_equal(finding.unit, PELLET_UNIT_ABSORBANCE);
    assert_true(isnan(finding.value) && isnan(finding.limit) && isnan(finding.at_cm1));
    assert_true(isnan(finding.from_cm1) && isnan(finding.to_cm1) && isnan(finding.number[2]));
    assert_near(finding.rests_low, 0.0, 0.0);
    assert_true(isinf(finding.rests_high));
    assert_int_equal(finding.distrust_count, 0);
}

static void a_standard_rule_holds_the_row(void **state)
{
    struct pellet_rule rule;

    (void)state;
    pellet_rule_standard(&check, &rule);
    assert_true(rule.on);
    assert_false(rule.required);
    assert_int_equal(rule.outcome, PELLET_REMAKE);
    assert_string_equal(rule.source, "nobody");
    assert_near(rule.parameter[0].low, 1.5, 0.0);
    assert_near(rule.parameter[0].high, 1.5, 0.0);
    assert_near(rule.parameter[1].low, 2000.0, 0.0);
    assert_near(rule.parameter[1].high, 2200.0, 0.0);
    assert_near(rule.parameter[2].high, 0.0, 0.0);
}

/* Limits compare the value as written, four digits: 1.50004 is written 1.5 and is within 1.5. */
static void a_limit_compares_the_value_as_written(void **state)
{
    static const struct {
        double value, written;
        bool above, below; /* of the limit 1.5 */
    } rows[] = {
        {1.5, 1.5, false, false},      {1.50004, 1.5, false, false},
        {1.50049, 1.5, false, false},  {1.50051, 1.501, true, false},
        {1.501, 1.501, true, false},   {1.49996, 1.5, false, false},
        {1.4994, 1.499, false, true},  {-1.5, -1.5, false, true},
        {2.41234, 2.412, true, false}, {0.000123456, 0.0001235, false, true},
    };
    struct pellet_rule rule;
    struct pellet_finding finding;

    (void)state;
    pellet_rule_standard(&check, &rule);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        pellet_finding_init(&check, &finding);
        pellet_finding_above(&finding, &rule, rows[i].value, 1.5, PELLET_SAYS_TOO_STRONG);
        assert_near(finding.value, rows[i].written, 1e-15);
        assert_near(finding.limit, 1.5, 0.0);
        assert_int_equal(finding.outcome, rows[i].above ? PELLET_REMAKE : PELLET_PASS);
        assert_int_equal(finding.phrase, rows[i].above ? PELLET_SAYS_TOO_STRONG : PELLET_SAYS_WITHIN);
        pellet_finding_below(&finding, &rule, rows[i].value, 1.5, PELLET_SAYS_TOO_FAINT);
        assert_int_equal(finding.outcome, rows[i].below ? PELLET_REMAKE : PELLET_PASS);
        assert_int_equal(finding.phrase, rows[i].below ? PELLET_SAYS_TOO_FAINT : PELLET_SAYS_WITHIN);
    }
}

static void the_rule_decides_the_outcome(void **state)
{
    struct pellet_rule rule;
    struct pellet_finding finding;

    (void)state;
    pellet_rule_standard(&check, &rule);
    rule.outcome = PELLET_NOTE;
    pellet_finding_init(&check, &finding);
    pellet_finding_above(&finding, &rule, 2.0, 1.5, PELLET_SAYS_TOO_STRONG);
    assert_int_equal(finding.outcome, PELLET_NOTE);
    assert_false(pellet_finding_refuses(&finding));
    rule.outcome = PELLET_WAIT;
    pellet_finding_above(&finding, &rule, 2.0, 1.5, PELLET_SAYS_TOO_STRONG);
    assert_true(pellet_finding_refuses(&finding));
}

static void a_signed_value_compares_by_size(void **state)
{
    struct pellet_rule rule;
    struct pellet_finding finding;

    (void)state;
    pellet_rule_standard(&check, &rule);
    pellet_finding_init(&check, &finding);
    pellet_finding_either_sign(&finding, &rule, -1.50051, 1.5, PELLET_SAYS_TOO_STRONG);
    assert_near(finding.value, -1.501, 1e-15);
    assert_int_equal(finding.outcome, PELLET_REMAKE);
    pellet_finding_either_sign(&finding, &rule, -1.5, 1.5, PELLET_SAYS_TOO_STRONG);
    assert_int_equal(finding.outcome, PELLET_PASS);
}

static void what_is_unusable_says_why(void **state)
{
    static const struct {
        pellet_status status;
        enum pellet_phrase phrase;
    } rows[] = {{PELLET_E_RANGE, PELLET_SAYS_OUT_OF_RANGE},
                {PELLET_E_SHORT, PELLET_SAYS_TOO_FEW_POINTS},
                {PELLET_E_MEMORY, PELLET_SAYS_NO_MEMORY},
                {PELLET_E_FIT, PELLET_SAYS_NO_FIT}};
    struct pellet_finding finding;

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        pellet_finding_init(&check, &finding);
        finding.outcome = PELLET_PASS;
        pellet_finding_unusable(&finding, rows[i].status, 2000.0, 2200.0);
        assert_int_equal(finding.outcome, PELLET_NOT_CHECKED);
        assert_int_equal(finding.phrase, rows[i].phrase);
        assert_near(finding.from_cm1, 2000.0, 0.0);
        assert_near(finding.rests_high, 2200.0, 0.0);
    }
}

static void distrust_has_room_for_four(void **state)
{
    struct pellet_finding finding;

    (void)state;
    pellet_finding_init(&check, &finding);
    for (int i = 0; i < 6; i++)
        pellet_finding_distrust(&finding, i, i + 1);
    assert_int_equal(finding.distrust_count, PELLET_DISTRUST_MAX);
    assert_near(finding.distrust[3].high, 4.0, 0.0);
}

/* A word that is too long is cut before a character of two bytes, not inside it. */
static void a_long_word_is_cut_at_a_character(void **state)
{
    struct pellet_finding finding;
    char word[200];

    (void)state;
    memset(word, 'x', sizeof word);
    word[158] = '\xC3';
    word[159] = '\xB6';
    word[199] = '\0';
    pellet_finding_word(&finding, word);
    assert_int_equal(strlen(finding.word), 158);
    pellet_finding_word(&finding, "nitrate");
    assert_string_equal(finding.word, "nitrate");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_finding_starts_without_numbers),
        cmocka_unit_test(a_standard_rule_holds_the_row),
        cmocka_unit_test(a_limit_compares_the_value_as_written),
        cmocka_unit_test(the_rule_decides_the_outcome),
        cmocka_unit_test(a_signed_value_compares_by_size),
        cmocka_unit_test(what_is_unusable_says_why),
        cmocka_unit_test(distrust_has_room_for_four),
        cmocka_unit_test(a_long_word_is_cut_at_a_character),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
