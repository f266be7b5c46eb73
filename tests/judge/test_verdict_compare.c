// SPDX-License-Identifier: GPL-3.0-or-later
#include "testing.h"

#include "judge/random_verdict.h"

static size_t compare(const struct pellet_verdict *a, const struct pellet_verdict *b, char *lines,
                      size_t size)
{
    struct pellet_text out = {0};
    const size_t n = pellet_verdict_compare(a, b, &out);
    snprintf(lines, size, "%s", pellet_text_string(&out));
    pellet_text_free(&out);
    return n;
}

static void assert_differs(const struct pellet_verdict *a, const struct pellet_verdict *b, const char *lines)
{
    char found[4096];
    size_t expected = 0;
    for (const char *at = lines; *at != '\0'; at++)
        expected += *at == '\n';
    const size_t n = compare(a, b, found, sizeof found);
    if (n != expected)
        fail_msg("%zu differences, expected %zu:\n%s", n, expected, found);
    assert_string_equal(found, lines);
}

/* A verdict equals itself, and what was read back from its file. */
static void equal_to_its_file(void **state)
{
    (void)state;
    uint64_t seed = 11;
    for (int i = 0; i < 200; i++) {
        struct pellet_verdict v = random_verdict(&seed);
        struct pellet_text yaml = {0};
        struct pellet_verdict read = {0};
        assert_int_equal(pellet_verdict_write(&v, &yaml), PELLET_OK);
        assert_int_equal(pellet_verdict_read(yaml.data, yaml.length, &read, NULL), PELLET_OK);
        assert_differs(&v, &v, "");
        assert_differs(&v, &read, "");
        assert_differs(&read, &v, "");
        pellet_text_free(&yaml);
        pellet_verdict_clear(&v);
        pellet_verdict_clear(&read);
    }
}

static void each_difference_has_a_line(void **state)
{
    (void)state;
    struct pellet_finding checks[2];
    const char *warnings[] = {"clock", "late"};
    pellet_finding_init(pellet_check_find("noise"), &checks[0]);
    pellet_finding_init(pellet_check_find("saturation"), &checks[1]);
    checks[1].value = 2.41;
    checks[1].outcome = PELLET_REMAKE;
    struct pellet_verdict then = {.format = 1,
                                  .outcome = PELLET_REMAKE,
                                  .summary = "a",
                                  .instruction = "",
                                  .file = "f",
                                  .by = "pelletd 0.1.0",
                                  .rules_name = "r",
                                  .check_count = 2,
                                  .check = checks,
                                  .warning_count = 1,
                                  .warning = warnings};
    struct pellet_verdict now = then;
    struct pellet_finding now_checks[2] = {checks[0], checks[1]};
    now.check = now_checks;
    now_checks[1].value = 2.38;
    assert_differs(&then, &now, "saturation.value: 2.41, now 2.38\n");
    now_checks[1].value = NAN;
    assert_differs(&then, &now,
                   "saturation.quantity: absorbance, now absent\nsaturation.value: 2.41, now absent\n"
                   "saturation.unit: A, now absent\n");
    now = then;
    now.outcome = PELLET_PASS;
    now.summary = "b\n";
    now.sample = "s";
    now.advice.dry = true;
    assert_differs(&then, &now,
                   "verdict: remake, now pass\nsummary: a, now b\\x0A\nadvice.dry: false, now true\n"
                   "sample: absent, now s\n");
    now = then;
    now.warning_count = 2;
    assert_differs(&then, &now, "warnings[2]: absent, now late\n");
    now = then;
    now.check_count = 1;
    char lines[4096];
    assert_int_equal(compare(&then, &now, lines, sizeof lines), 5);
    assert_non_null(strstr(lines, "saturation.outcome: remake, now absent\n"));
}

/* When, by which program and after what it was judged is no part of the judgement. */
static void some_keys_stand_outside(void **state)
{
    (void)state;
    uint64_t seed = 12;
    struct pellet_verdict then = random_verdict(&seed);
    struct pellet_verdict now = then;
    now.judged = 5;
    now.by = "pelletd 9.9.9";
    now.mtime_ns = 17;
    now.previous_count = 0;
    assert_differs(&then, &now, "");
    now.previous = pellet_arena_alloc(&then.arena, 9 * sizeof *now.previous);
    for (now.previous_count = 0; now.previous_count < 9; now.previous_count++)
        now.previous[now.previous_count].summary = "other";
    assert_differs(&then, &now, "");
    pellet_verdict_clear(&then);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(equal_to_its_file),
        cmocka_unit_test(each_difference_has_a_line),
        cmocka_unit_test(some_keys_stand_outside),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
