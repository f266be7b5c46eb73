// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/random.h"
#include "core/zone.h"
#include "testing.h"

#include <string.h>
#include <time.h>

static void rules_are_read(void **state)
{
    (void)state;
    struct pellet_zone_rule rule;
    assert_int_equal(pellet_zone_rule_parse("CET-1CEST,M3.5.0,M10.5.0/3", &rule), PELLET_OK);
    assert_int_equal(rule.standard.offset, 3600);
    assert_string_equal(rule.standard.name, "CET");
    assert_int_equal(rule.summer.offset, 7200);
    assert_string_equal(rule.summer.name, "CEST");
    assert_int_equal(rule.begin.month, 3);
    assert_int_equal(rule.begin.time, 7200);
    assert_int_equal(rule.end.time, 10800);

    assert_int_equal(pellet_zone_rule_parse("<-03>3", &rule), PELLET_OK);
    assert_int_equal(rule.standard.offset, -3 * 3600);
    assert_string_equal(rule.standard.name, "-03");
    assert_false(rule.has_summer);
    assert_int_equal(pellet_zone_rule_parse("XXX+5:30:15", &rule), PELLET_OK);
    assert_int_equal(rule.standard.offset, -(5 * 3600 + 30 * 60 + 15));
    assert_int_equal(pellet_zone_rule_parse("IST-1GMT0,M10.5.0,M3.5.0/1", &rule), PELLET_OK);
    assert_int_equal(rule.summer.offset, 0);
    assert_int_equal(pellet_zone_rule_parse("<-02>2<-01>,M3.5.0/-1,M10.5.0/0", &rule), PELLET_OK);
    assert_int_equal(rule.begin.time, -3600);
}

static void wrong_rules_are_refused(void **state)
{
    (void)state;
    static const char *const cases[] = {
        "",
        "C",
        "CE-1",
        "CET",
        "CET-",
        "CET-25",
        "CET-1:60",
        "CET-1CEST",
        "CET-1CEST,M3.5.0",
        "CET-1CEST,M13.5.0,M1.1.0",
        "CET-1CEST,M3.6.0,M10.5.0",
        "CET-1CEST,M3.5.7,M10.5.0",
        "CET-1CEST,J0,J100",
        "CET-1CEST,J366,J100",
        "CET-1CEST,366,100",
        "CET-1CEST,M3.5.0/168,M10.5.0",
        "CET-1CEST,M3.5.0,M10.5.0x",
        "<CET-1",
        "CET 1",
        "ABCDEFGHIJKLMNOPQRSTUVWXYZ1",
        "CET-1CEST,M3.5.0,M10.5.0,",
        "CET-99999999999999999999",
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct pellet_zone_rule rule = {.standard = {.offset = 99}};
        if (pellet_zone_rule_parse(cases[i], &rule) != PELLET_E_FORMAT)
            fail_msg("\"%s\" was taken", cases[i]);
        assert_int_equal(rule.standard.offset, 99);
    }
}

/* The C library reads the same rules from TZ. */
static void rules_agree_with_the_library(void **state)
{
    (void)state;
    static const char *const rules[] = {
        "CET-1CEST,M3.5.0,M10.5.0/3",
        "EST5EDT,M3.2.0,M11.1.0",
        "AEST-10AEDT,M10.1.0,M4.1.0/3",
        "AAA3BBB,J60/1,J300",
        "AAA-5BBB,59,299/4",
        "NST3:30NDT,M3.2.0,M11.1.0",
        "<+1030>-10:30<+11>-11,M10.1.0,M4.1.0",
        "UTC0",
        "AAA2BBB,M2.4.3/0,M12.1.6/23:59:59",
    };
    uint64_t seed = 31;
    for (size_t i = 0; i < sizeof rules / sizeof *rules; i++) {
        struct pellet_zone_rule rule;
        assert_int_equal(pellet_zone_rule_parse(rules[i], &rule), PELLET_OK);
        setenv("TZ", rules[i], 1);
        tzset();
        for (int round = 0; round < 5000; round++) {
            const time_t time = (time_t)random_below(&seed, 4102444800); /* until 2100 */
            struct pellet_zone_type type;
            struct tm tm;
            localtime_r(&time, &tm);
            pellet_zone_rule_at(&rule, time, &type);
            if (tm.tm_gmtoff != type.offset || (tm.tm_isdst > 0) != type.summer)
                fail_msg("%s at %lld: %d, expected %ld", rules[i], (long long)time, type.offset,
                         tm.tm_gmtoff);
        }
    }
    unsetenv("TZ");
    tzset();
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rules_are_read),
        cmocka_unit_test(wrong_rules_are_refused),
        cmocka_unit_test(rules_agree_with_the_library),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
