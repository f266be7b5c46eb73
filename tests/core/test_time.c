// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/random.h"
#include "pellet/core.h"
#include "testing.h"

#include <string.h>

static bool leap(int year)
{
    return (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
}

/* Seconds since 1970, counted day by day. */
static int64_t slow_seconds(int year, int month, int day)
{
    static const int length[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    int64_t days = day - 1;
    for (int y = 1970; y < year; y++)
        days += leap(y) ? 366 : 365;
    for (int y = year; y < 1970; y++)
        days -= leap(y) ? 366 : 365;
    for (int m = 1; m < month; m++)
        days += length[m - 1] + (m == 2 && leap(year));
    return days * 86400;
}

static void known_times(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        int64_t seconds, ns;
    } cases[] = {
        {"1970-01-01T00:00:00Z", 0, 0},
        {"2001-09-09T01:46:40Z", 1000000000, 0},
        {"2026-03-04T10:12:31Z", 1772619151, 0},
        {"1969-12-31T23:59:59Z", -1, 0},
        /* RFC 3339, section 5.8; the seconds are counted by hand from its equivalents in UTC. */
        {"1985-04-12T23:20:50.52Z", 482196050, 520000000},
        {"1996-12-19T16:39:57-08:00", 851042397, 0},
        {"1990-12-31T23:59:60Z", 662688000, 0},
        {"1990-12-31T15:59:60-08:00", 662688000, 0},
        {"1937-01-01T12:00:27.87+00:20", -1041337173, 870000000},
        {"2026-03-04t11:12:31.123456789999+0100", 1772619151, 123456789},
        {"2026-03-04 10:12:31,5z", 1772619151, 500000000},
        {"2262-04-11T23:47:16.854775807Z", 9223372036, 854775807},
        {"1677-09-21T00:12:44Z", -9223372036, 0},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        pellet_ns time = 99;
        assert_int_equal(pellet_time_parse(cases[i].text, &time), PELLET_OK);
        if (time != cases[i].seconds * PELLET_NS_PER_S + cases[i].ns)
            fail_msg("%s gave %lld", cases[i].text, (long long)time);
    }
}

static void what_is_no_time_is_refused(void **state)
{
    (void)state;
    static const char *const cases[] = {
        "",
        "2026-03-04",
        "2026-03-04T10:12:31",
        "2026-03-04T10:12Z",
        "2026-3-4T10:12:31Z",
        "2026-02-29T00:00:00Z",
        "2026-13-01T00:00:00Z",
        "2026-00-01T00:00:00Z",
        "2026-01-00T00:00:00Z",
        "2026-04-31T00:00:00Z",
        "2026-03-04T24:00:00Z",
        "2026-03-04T10:60:00Z",
        "2026-03-04T10:12:61Z",
        "2026-03-04T10:12:31.Z",
        "2026-03-04T10:12:31Z ",
        " 2026-03-04T10:12:31Z",
        "2026-03-04T10:12:31+1:00",
        "2026-03-04T10:12:31+24:00",
        "2026-03-04T10:12:31+01:60",
        "2026-03-04T10:12:31+01",
        "-026-03-04T10:12:31Z",
        "2263-01-01T00:00:00Z",
        "1677-01-01T00:00:00Z",
        "0000-01-01T00:00:00Z",
        "9999-12-31T23:59:59Z",
        "2026/03/04T10:12:31Z",
        "now",
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        pellet_ns time = 99;
        if (pellet_time_parse(cases[i], &time) != PELLET_E_FORMAT)
            fail_msg("\"%s\" was taken", cases[i]);
        assert_int_equal(time, 99);
    }
}

static void times_are_written_in_whole_seconds(void **state)
{
    (void)state;
    static const struct {
        pellet_ns time;
        const char *text;
    } cases[] = {
        {PELLET_NO_TIME, ""},
        {0, "1970-01-01T00:00:00Z"},
        {INT64_C(1772619151999999999), "2026-03-04T10:12:31Z"},
        {-1, "1969-12-31T23:59:59Z"},
        {-PELLET_NS_PER_S, "1969-12-31T23:59:59Z"},
        {INT64_MAX, "2262-04-11T23:47:16Z"},
        {INT64_MIN + 1, "1677-09-21T00:12:43Z"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char text[32];
        pellet_time_format(cases[i].time, text);
        assert_string_equal(text, cases[i].text);
    }
}

static void random_times_come_back(void **state)
{
    (void)state;
    uint64_t seed = 41;
    for (int round = 0; round < 100000; round++) {
        const pellet_ns time = (int64_t)random_next(&seed) / PELLET_NS_PER_S * PELLET_NS_PER_S;
        char text[32];
        pellet_ns back = 0;
        pellet_time_format(time, text);
        assert_int_equal(pellet_time_parse(text, &back), PELLET_OK);
        assert_int_equal(back, time);
    }
}

static void every_day_of_the_calendar(void **state)
{
    (void)state;
    for (int year = 1680; year <= 2260; year++)
        for (int month = 1; month <= 12; month++)
            for (int day = 1; day <= 31; day += 1 + (day == 1) * 26) {
                const struct pellet_civil civil = {.year = year, .month = month, .day = day, .hour = 1};
                static const int last[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
                pellet_ns time = 99;
                const pellet_status status = pellet_time_from_civil(&civil, "", &time);
                if (day > last[month - 1] + (month == 2 && leap(year))) {
                    assert_int_equal(status, PELLET_E_RANGE);
                    assert_int_equal(time, 99);
                } else {
                    assert_int_equal(status, PELLET_OK);
                    assert_int_equal(time, (slow_seconds(year, month, day) + 3600) * PELLET_NS_PER_S);
                }
            }
}

static void an_own_offset_beats_the_zone(void **state)
{
    (void)state;
    const struct pellet_civil civil = {.year = 2026,
                                       .month = 3,
                                       .day = 4,
                                       .hour = 11,
                                       .minute = 12,
                                       .second = 31.25,
                                       .has_offset = true,
                                       .offset_minutes = 60};
    pellet_ns time = 0;
    assert_int_equal(pellet_time_from_civil(&civil, "no such zone", &time), PELLET_OK);
    assert_int_equal(time, INT64_C(1772619151250000000));
}

static void impossible_civil_times_are_refused(void **state)
{
    (void)state;
    static const struct pellet_civil good = {.year = 2026, .month = 3, .day = 4, .hour = 10};
    struct pellet_civil cases[12];
    const size_t n = sizeof cases / sizeof *cases;
    for (size_t i = 0; i < n; i++)
        cases[i] = good;
    cases[0].month = 0;
    cases[1].month = 13;
    cases[2].day = 0;
    cases[3].hour = 24;
    cases[4].hour = -1;
    cases[5].minute = 60;
    cases[6].second = 61;
    cases[7].second = NAN;
    cases[8].second = -0.5;
    cases[9].year = 2263;
    cases[10].year = 1676;
    cases[11] =
        (struct pellet_civil){.year = 2026, .month = 3, .day = 4, .has_offset = true, .offset_minutes = 1440};
    for (size_t i = 0; i < n; i++) {
        pellet_ns time = 99;
        assert_int_equal(pellet_time_from_civil(&cases[i], "UTC", &time), PELLET_E_RANGE);
        assert_int_equal(time, 99);
    }
}

static void local_times_fit_or_are_refused(void **state)
{
    (void)state;
    const pellet_ns time = INT64_C(1772619151000000000);
    char out[32] = "untouched";
    assert_int_equal(pellet_time_local(time, "UTC", "%Y-%m-%d %H:%M", out, 16), PELLET_E_LIMIT);
    assert_int_equal(pellet_time_local(time, "UTC", "%Y", out, 0), PELLET_E_LIMIT);
    assert_int_equal(pellet_time_local(time, "Nowhere/Land", "%Y", out, sizeof out), PELLET_E_MISSING);
    char wide[400], long_format[300];
    memset(long_format, 'x', sizeof long_format);
    long_format[256] = '\0';
    assert_int_equal(pellet_time_local(time, "UTC", long_format, wide, sizeof wide), PELLET_E_LIMIT);
    long_format[255] = '\0';
    assert_int_equal(pellet_time_local(time, "UTC", long_format, wide, sizeof wide), PELLET_OK);
    assert_string_equal(wide, long_format);
    assert_string_equal(out, "untouched");
    assert_int_equal(pellet_time_local(time, NULL, "%Y-%m-%d %H:%M", out, 17), PELLET_OK);
    assert_string_equal(out, "2026-03-04 10:12");
    assert_int_equal(pellet_time_local(time, "UTC", "%H:%M:%S %Z %z", out, sizeof out), PELLET_OK);
    assert_string_equal(out, "10:12:31 UTC +0000");
    assert_int_equal(pellet_time_local(time, "UTC", "", out, sizeof out), PELLET_OK);
    assert_string_equal(out, "");
    assert_int_equal(pellet_time_local(PELLET_NO_TIME, "UTC", "%Y", out, sizeof out), PELLET_OK);
    assert_string_equal(out, "");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(known_times),
        cmocka_unit_test(what_is_no_time_is_refused),
        cmocka_unit_test(times_are_written_in_whole_seconds),
        cmocka_unit_test(random_times_come_back),
        cmocka_unit_test(every_day_of_the_calendar),
        cmocka_unit_test(an_own_offset_beats_the_zone),
        cmocka_unit_test(impossible_civil_times_are_refused),
        cmocka_unit_test(local_times_fit_or_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
