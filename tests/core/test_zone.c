// SPDX-License-Identifier: GPL-3.0-or-later
/* The slow version here is the C library: one zone for the whole process, set through the environment. */
#include "core/random.h"
#include "core/zone.h"
#include "testing.h"

#include <pthread.h>
#include <string.h>
#include <time.h>

#define ZONES "/usr/share/zoneinfo"

static void skip_without_zones(void)
{
    if (access(ZONES "/Europe/Berlin", R_OK) != 0) {
        print_message("skipped: no time zones below " ZONES "\n");
        skip();
    }
}

static void check_civil(const char *zone, int month, int day, int hour, int minute, const char *utc)
{
    const struct pellet_civil civil = {
        .year = 2026, .month = month, .day = day, .hour = hour, .minute = minute};
    pellet_ns time = 0;
    char text[32];
    assert_int_equal(pellet_time_from_civil(&civil, zone, &time), PELLET_OK);
    pellet_time_format(time, text);
    assert_string_equal(text, utc);
}

/* Directive 2000/84/EC: summer time from the last Sunday of March, 01:00 UTC, to the last of October, 01:00
 * UTC. */
static void berlin_switches_by_the_directive(void **state)
{
    (void)state;
    skip_without_zones();
    check_civil("Europe/Berlin", 3, 29, 1, 59, "2026-03-29T00:59:00Z");
    check_civil("Europe/Berlin", 3, 29, 3, 0, "2026-03-29T01:00:00Z");
    check_civil("Europe/Berlin", 3, 29, 2, 30, "2026-03-29T01:30:00Z"); /* never shown */
    check_civil("Europe/Berlin", 7, 1, 12, 0, "2026-07-01T10:00:00Z");
    check_civil("Europe/Berlin", 10, 25, 1, 59, "2026-10-24T23:59:00Z");
    check_civil("Europe/Berlin", 10, 25, 2, 30, "2026-10-25T00:30:00Z"); /* shown twice: the first */
    check_civil("Europe/Berlin", 10, 25, 3, 0, "2026-10-25T02:00:00Z");
    check_civil("Asia/Kolkata", 1, 1, 5, 30, "2026-01-01T00:00:00Z");
    check_civil("Asia/Kathmandu", 1, 1, 5, 45, "2026-01-01T00:00:00Z");

    char out[64];
    assert_int_equal(pellet_time_local(INT64_C(1772619151000000000), "Europe/Berlin", "%Y-%m-%d %H:%M %Z %z",
                                       out, sizeof out),
                     PELLET_OK);
    assert_string_equal(out, "2026-03-04 11:12 CET +0100");
}

static void unknown_zones_are_an_error(void **state)
{
    (void)state;
    static const char *const names[] = {"Mars/Olympus",   "europe/berlin!", "../../../etc/localtime",
                                        "/etc/localtime", "Europe/..",      " UTC",
                                        "Europe/Berlin\n"};
    const struct pellet_civil civil = {.year = 2026, .month = 1, .day = 1};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        pellet_ns time = 99;
        assert_int_equal(pellet_time_from_civil(&civil, names[i], &time), PELLET_E_MISSING);
        assert_int_equal(time, 99);
    }
    skip_without_zones();
    pellet_ns time = 99;
    assert_int_not_equal(pellet_time_from_civil(&civil, "Europe", &time), PELLET_OK); /* a folder */
    assert_int_equal(pellet_time_from_civil(&civil, "tzdata/zi", &time), PELLET_E_MISSING);
    assert_int_equal(time, 99);
}

static void compare_with_the_library(const char *name, uint64_t *seed)
{
    struct pellet_zone zone;
    setenv("TZ", name, 1);
    tzset();
    if (pellet_zone_find(name, &zone) != PELLET_OK)
        fail_msg("%s was not read", name);
    for (int round = 0; round < 60; round++) {
        /* 1880 to 2120: before the tables, in them, and where the rule goes on. */
        const int64_t second = -INT64_C(2840140800) + (int64_t)random_below(seed, UINT64_C(7573910400));
        const time_t time = second;
        struct tm tm;
        struct pellet_zone_type type;
        localtime_r(&time, &tm);
        pellet_zone_at(&zone, second, &type);
        if (tm.tm_gmtoff != type.offset || (tm.tm_isdst > 0) != type.summer ||
            strcmp(tm.tm_zone, type.name) != 0)
            fail_msg("%s at %lld: %d %s, expected %ld %s", name, (long long)second, type.offset, type.name,
                     tm.tm_gmtoff, tm.tm_zone);
    }
    pellet_zone_clear(&zone);
}

static void every_zone_agrees_with_the_library(void **state)
{
    (void)state;
    FILE *list = fopen(ZONES "/tzdata.zi", "r");
    if (list == NULL) {
        print_message("skipped: no list of time zones below " ZONES "\n");
        skip();
    }
    uint64_t seed = 1884;
    char line[512], name[64];
    size_t zones = 0;
    while (fgets(line, sizeof line, list) != NULL)
        if (sscanf(line, "Z %63s", name) == 1) {
            compare_with_the_library(name, &seed);
            zones++;
        }
    fclose(list);
    unsetenv("TZ");
    tzset();
    assert_true(zones > 100);
}

/* What a clock shows, turned back into a moment, is that moment, but for the hour that is shown twice. */
static void civil_and_local_undo_each_other(void **state)
{
    (void)state;
    skip_without_zones();
    static const char *const names[] = {"Europe/Berlin", "America/New_York", "Australia/Lord_Howe",
                                        "Asia/Kolkata",  "Pacific/Apia",     "Africa/Casablanca"};
    uint64_t seed = 77;
    size_t twice = 0;
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        for (int round = 0; round < 3000; round++) {
            const pellet_ns time = (pellet_ns)random_below(&seed, 2000000000) * PELLET_NS_PER_S;
            struct pellet_civil civil = {0};
            char shown[64], again[64];
            pellet_ns back = 0;
            int second = 0;
            pellet_time_local(time, names[i], "%Y-%m-%d %H:%M:%S", shown, sizeof shown);
            sscanf(shown, "%d-%d-%d %d:%d:%d", &civil.year, &civil.month, &civil.day, &civil.hour,
                   &civil.minute, &second);
            civil.second = second;
            assert_int_equal(pellet_time_from_civil(&civil, names[i], &back), PELLET_OK);
            pellet_time_local(back, names[i], "%Y-%m-%d %H:%M:%S", again, sizeof again);
            assert_string_equal(again, shown);
            assert_true(back <= time);
            twice += back != time;
        }
    assert_true(twice < 30); /* an hour in a year is one in 8766 */
}

static void local_follows_the_environment(void **state)
{
    (void)state;
    static const struct {
        const char *tz, *expected;
    } cases[] = {
        {"", "12:00 UTC"},
        {"CET-1CEST,M3.5.0,M10.5.0/3", "14:00 CEST"},
        {"<+0530>-5:30", "17:30 +0530"},
    };
    const pellet_ns noon = INT64_C(1782907200) * PELLET_NS_PER_S; /* 2026-07-01T12:00:00Z */
    char out[32];
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        setenv("TZ", cases[i].tz, 1);
        assert_int_equal(pellet_time_local(noon, "local", "%H:%M %Z", out, sizeof out), PELLET_OK);
        assert_string_equal(out, cases[i].expected);
        /* A named zone does not ask the environment. */
        assert_int_equal(pellet_time_local(noon, "UTC", "%H:%M %Z", out, sizeof out), PELLET_OK);
        assert_string_equal(out, "12:00 UTC");
    }
    setenv("TZ", "Nowhere/Land", 1);
    assert_int_equal(pellet_time_local(noon, "local", "%H:%M", out, sizeof out), PELLET_E_MISSING);
    if (access(ZONES "/Europe/Berlin", R_OK) == 0) {
        setenv("TZ", ":Europe/Berlin", 1);
        assert_int_equal(pellet_time_local(noon, "local", "%H:%M %Z", out, sizeof out), PELLET_OK);
        assert_string_equal(out, "14:00 CEST");
        setenv("TZ", ZONES "/Europe/Berlin", 1);
        assert_int_equal(pellet_time_local(noon, "local", "%H:%M %Z", out, sizeof out), PELLET_OK);
        assert_string_equal(out, "14:00 CEST");
    }
    unsetenv("TZ");
    assert_int_equal(pellet_time_local(noon, "local", "%H:%M", out, sizeof out), PELLET_OK);
}

/* A table as RFC 8536 lays it out: one switch, from A to B, at 1000 s; the rule afterwards is empty. */
struct table {
    unsigned char bytes[256];
    size_t n;
};

static void table_add(struct table *table, const void *bytes, size_t n)
{
    memcpy(table->bytes + table->n, bytes, n);
    table->n += n;
}

static struct table small_table(void)
{
    static const unsigned char header[44] = {'T', 'Z', 'i', 'f', '2'};
    unsigned char counts[44] = {'T', 'Z', 'i', 'f', '2'};
    counts[35] = 1; /* times */
    counts[39] = 2; /* types */
    counts[43] = 8; /* bytes of names */
    struct table table = {.n = 0};
    table_add(&table, header, 44);
    table_add(&table, counts, 44);
    table_add(&table, "\0\0\0\0\0\0\x03\xE8", 8);
    table_add(&table, "\1", 1);
    table_add(&table, "\0\0\x0E\x10\0\0", 6);     /* 3600, standard, name at 0 */
    table_add(&table, "\xFF\xFF\xF1\xF0\1\4", 6); /* -3600, summer, name at 4 */
    table_add(&table, "AAA\0BBB\0", 8);
    table_add(&table, "\n\n", 2);
    return table;
}

static void a_table_is_read_as_written(void **state)
{
    (void)state;
    const struct table table = small_table();
    struct pellet_zone zone;
    struct pellet_zone_type type;
    assert_int_equal(pellet_zone_table_parse(table.bytes, table.n, &zone), PELLET_OK);
    pellet_zone_at(&zone, 999, &type);
    assert_int_equal(type.offset, 3600);
    assert_string_equal(type.name, "AAA");
    pellet_zone_at(&zone, 1000, &type);
    assert_int_equal(type.offset, -3600);
    assert_true(type.summer);
    assert_string_equal(type.name, "BBB");
}

static void a_damaged_table_is_refused(void **state)
{
    (void)state;
    static const struct {
        size_t at;
        unsigned char value;
    } damages[] = {
        {0, 'X'},
        {4, 0},
        {44, 'X'},
        {44 + 31, 1 /* leap seconds */},
        {44 + 35, 200},
        {44 + 32, 0xFF},
        {44 + 39, 0},
        {96, 2 /* a type that is not there */},
        {97 + 5, 8 /* a name behind the names */},
        {116, 'x'},
        {117, 'x'},
    };
    for (size_t i = 0; i < sizeof damages / sizeof *damages; i++) {
        struct table table = small_table();
        struct pellet_zone zone = {.time_count = 99};
        table.bytes[damages[i].at] = damages[i].value;
        assert_int_equal(pellet_zone_table_parse(table.bytes, table.n, &zone), PELLET_E_FORMAT);
        assert_int_equal(zone.time_count, 99);
    }
    for (size_t n = 0; n < small_table().n; n++) {
        /* An exact block of memory, so that the sanitiser sees a byte read too far. */
        struct pellet_zone zone;
        unsigned char *cut = malloc(n + 1);
        assert_non_null(cut);
        memcpy(cut + 1, small_table().bytes, n);
        assert_int_equal(pellet_zone_table_parse(cut + 1, n, &zone), PELLET_E_FORMAT);
        free(cut);
    }
}

/* Sound in itself, but its seconds are not those of the system's clock. */
static void a_table_with_leap_seconds_is_refused(void **state)
{
    (void)state;
    struct table table = small_table();
    struct pellet_zone zone;
    table.bytes[44 + 31] = 1;
    table.n -= 2;
    table_add(&table, "\0\0\0\0\x04\xB2\x58\x00\0\0\0\1", 12);
    table_add(&table, "\n\n", 2);
    assert_int_equal(pellet_zone_table_parse(table.bytes, table.n, &zone), PELLET_E_FORMAT);
    table.bytes[44 + 31] = 0; /* the same twelve bytes as names: nothing else was wrong */
    table.bytes[44 + 43] = 20;
    table.bytes[table.n - 3] = 0;
    assert_int_equal(pellet_zone_table_parse(table.bytes, table.n, &zone), PELLET_OK);
}

static void random_damage_does_no_harm(void **state)
{
    (void)state;
    uint64_t seed = 13;
    size_t taken = 0;
    for (int round = 0; round < 100000; round++) {
        struct table table = small_table();
        struct pellet_zone zone;
        struct pellet_zone_type type;
        for (size_t hits = 1 + random_below(&seed, 3); hits > 0; hits--)
            table.bytes[random_below(&seed, table.n)] = (unsigned char)random_next(&seed);
        if (pellet_zone_table_parse(table.bytes, table.n, &zone) == PELLET_OK) {
            pellet_zone_at(&zone, (int64_t)(random_next(&seed) >> 30) - 5000, &type);
            assert_non_null(memchr(type.name, 0, sizeof type.name));
            taken++;
        }
    }
    assert_in_range(taken, 1000, 99000);
}

static void *ask_many_times(void *name)
{
    const struct pellet_civil civil = {.year = 2026, .month = 7, .day = 1, .hour = 12};
    pellet_ns first = 0;
    for (int round = 0; round < 300; round++) {
        pellet_ns time = 0;
        if (pellet_time_from_civil(&civil, name, &time) != PELLET_OK || (round > 0 && time != first))
            return "a thread got another answer";
        first = time;
    }
    return NULL;
}

static void threads_do_not_disturb_each_other(void **state)
{
    (void)state;
    skip_without_zones();
    char names[][20] = {"Europe/Berlin", "America/New_York", "Asia/Tokyo", "UTC"};
    pthread_t threads[4];
    for (size_t i = 0; i < 4; i++)
        assert_int_equal(pthread_create(&threads[i], NULL, ask_many_times, names[i]), 0);
    for (size_t i = 0; i < 4; i++) {
        void *complaint = NULL;
        pthread_join(threads[i], &complaint);
        assert_null(complaint);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(berlin_switches_by_the_directive),
        cmocka_unit_test(unknown_zones_are_an_error),
        cmocka_unit_test(every_zone_agrees_with_the_library),
        cmocka_unit_test(civil_and_local_undo_each_other),
        cmocka_unit_test(local_follows_the_environment),
        cmocka_unit_test(a_table_is_read_as_written),
        cmocka_unit_test(a_damaged_table_is_refused),
        cmocka_unit_test(a_table_with_leap_seconds_is_refused),
        cmocka_unit_test(random_damage_does_no_harm),
        cmocka_unit_test(threads_do_not_disturb_each_other),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
