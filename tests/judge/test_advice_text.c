// SPDX-License-Identifier: GPL-3.0-or-later
/* What every instruction must be, whatever the faults: readable, coherent, in the order of work, and safe. */
#include "judge/fixture.h"

#include "judge/advice.h"

static const char *const checks[] = {"saturation", "weak",    "moisture", "asymmetry", "tilt",
                                     "opacity",    "residue", "vapour",   "noise"};
enum { CHECKS = sizeof checks / sizeof checks[0] };

/* The first words of the steps, in the order of work: clean, dry, grind, weigh, press, scan, beware. */
static const char *const order[] = {"Clean mortar",        "Dry the ",      "Before mixing, grind",
                                    "Make a fresh mix",    "Spread the ",   "Wait until the",
                                    "times as many scans", "Raise no dust", "No more load"};

static void advise(unsigned set, struct pellet_verdict *v)
{
    struct pellet_finding reason[CHECKS];
    struct fixture f;

    fixture_init(&f, NULL, NULL);
    *v = (struct pellet_verdict){.reason = reason};
    for (size_t i = 0; i < CHECKS; i++) {
        if (!(set & 1u << i))
            continue;
        struct pellet_finding *reason_i = &reason[v->reason_count++];
        pellet_finding_init(pellet_check_find(checks[i]), reason_i);
        reason_i->outcome = reason_i->check->outcome;
        reason_i->phrase = PELLET_SAYS_WITHIN;
        reason_i->value = 0.004;
        reason_i->limit = 0.002;
        if (reason_i->outcome > v->outcome)
            v->outcome = reason_i->outcome;
    }
    assert_int_equal(pellet_advise(&f.inputs, NULL, v), PELLET_OK);
    v->reason = NULL;
    v->reason_count = 0;
    fixture_clear(&f);
}

static size_t count(const char *text, const char *part)
{
    size_t n = 0;

    for (const char *at = strstr(text, part); at != NULL; at = strstr(at + 1, part))
        n++;
    return n;
}

static void expect_readable(const char *text)
{
    static const char *const never[] = {"{", "}", "  ", "nan", "inf", " .", " ,", ".."};
    const size_t n = strlen(text);

    assert_true(n > 0 && text[n - 1] == '.');
    assert_true(text[0] >= 'A' && text[0] <= 'Z');
    for (size_t i = 0; i < sizeof never / sizeof never[0]; i++) {
        if (strstr(text, never[i]) != NULL)
            fail_msg("'%s' in: %s", never[i], text);
    }
}

static void expect_in_order(const char *text)
{
    const char *before = text;

    for (size_t i = 0; i < sizeof order / sizeof order[0]; i++) {
        const char *at = strstr(text, order[i]);
        if (count(text, order[i]) > 1)
            fail_msg("'%s' is said twice in: %s", order[i], text);
        if (at != NULL && at < before)
            fail_msg("'%s' comes too early in: %s", order[i], text);
        before = at != NULL ? at : before;
    }
}

static void test_every_set_of_faults(void **state)
{
    (void)state;
    for (unsigned set = 1; set < 1u << CHECKS; set++) {
        struct pellet_verdict v;

        advise(set, &v);
        expect_readable(v.instruction);
        expect_in_order(v.instruction);
        /* To grind longer and less long at once is asked of nobody. */
        assert_false(strstr(v.instruction, "grind less long") &&
                     strstr(v.instruction, "Before mixing, grind"));
        /* Load is named only to say that it must not rise. */
        assert_int_equal(count(v.instruction, " load"), count(v.instruction, "No more load than before"));
        /* A pellet that is made again is not kept. */
        assert_true(v.outcome != PELLET_REMAKE || strstr(v.instruction, "Keep the pellet") == NULL);
        pellet_verdict_clear(&v);
    }
}

/* Who handles hot powder, dust or the press is told to beware. */
static void test_cautions(void **state)
{
    (void)state;
    static const struct {
        const char *check, *caution;
    } rows[] = {{"moisture", "hot out of the oven"},
                {"asymmetry", "never grind what is sensitive to shock"},
                {"opacity", "stay within the rating of die and press; local rules and trained staff"}};

    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct pellet_verdict v;
        unsigned set = 0;
        for (unsigned k = 0; k < CHECKS; k++)
            set |= strcmp(checks[k], rows[i].check) == 0 ? 1u << k : 0;
        advise(set, &v);
        assert_non_null(strstr(v.instruction, rows[i].caution));
        pellet_verdict_clear(&v);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_every_set_of_faults),
        cmocka_unit_test(test_cautions),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
