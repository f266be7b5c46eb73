// SPDX-License-Identifier: GPL-3.0-or-later
#include "testing.h"

#include "config.h"

#include <string.h>

static pellet_status read_text(const char *yaml, struct config *config, struct pellet_text *problems,
                               struct pellet_error *error)
{
    return config_read(yaml, strlen(yaml), "/etc/pelletd/pelletd.yaml", config, problems, error);
}

static void defaults(void **state)
{
    (void)state;
    struct config config = {0};
    struct pellet_text problems = {0};
    struct pellet_error error = {0};
    assert_int_equal(
        read_text("format: 1\nstations:\n  - folder: /srv/bench-1\n", &config, &problems, &error), PELLET_OK);
    assert_int_equal(config.station_count, 1);
    const struct station_config *s = &config.station[0];
    assert_string_equal(s->name, "bench-1");
    assert_string_equal(s->rules, "routine");
    assert_string_equal(s->sample_name, "{sample}_p{pellet}");
    assert_int_equal(s->include.n, 5);
    assert_int_equal(s->depth, 0);
    assert_int_equal(s->since, SINCE_ALL);
    assert_int_equal(s->watch, WATCH_AUTO);
    assert_int_equal(s->ordinate, PELLET_ORDINATE_UNKNOWN);
    assert_near(s->settle_s, 0.5, 0);
    assert_null(s->column);
    assert_near(s->file_max_mib, 64, 0);
    assert_int_equal(s->points_max, 100000);
    assert_near(s->line_max_mib, 1, 0);
    assert_near(s->range_low, 400, 0);
    assert_near(s->range_high, 4000, 0);
    assert_null(s->output);
    assert_int_equal(problems.length, 0);
    config_clear(&config);
    pellet_text_free(&problems);
}

static void every_key(void **state)
{
    (void)state;
    static const char yaml[] = "format: 1\n"
                               "stations:\n"
                               "  - name: b-2\n"
                               "    folder: spectra/two\n"
                               "    include: ['*.dat', '*.asc']\n"
                               "    depth: 2\n"
                               "    rules: teaching\n"
                               "    blank: [b*]\n"
                               "    open_beam: 'o*'\n"
                               "    film: []\n"
                               "    sample_name: 'P{pellet}-{sample}'\n"
                               "    ordinate: transmittance %\n"
                               "    ratioed_against: open beam\n"
                               "    range: 4000..650 cm-1\n"
                               "    measured: mtime\n"
                               "    timezone: Europe/Berlin\n"
                               "    settle: 2 s\n"
                               "    watch: poll\n"
                               "    mount: required\n"
                               "    output: /var/lib/out\n"
                               "    since: 2026-03-04\n"
                               "    column: caffeine p1\n"
                               "    file_max: 1 MiB\n"
                               "    points_max: 20000\n"
                               "    line_max: 0.5 MiB\n"
                               "    alert: {command: [/bin/true, x], max_age: 5 min, time_limit: 3 s}\n";
    struct config config = {0};
    struct pellet_text problems = {0};
    struct pellet_error error = {0};
    if (read_text(yaml, &config, &problems, &error) != PELLET_OK)
        fail_msg("%s", pellet_text_string(&problems));
    const struct station_config *s = &config.station[0];
    pellet_ns day = 0;
    assert_int_equal(pellet_time_parse("2026-03-04T00:00:00Z", &day), PELLET_OK);
    assert_string_equal(s->name, "b-2");
    assert_string_equal(s->folder, "/etc/pelletd/spectra/two");
    assert_string_equal(s->include.pattern[1], "*.asc");
    assert_int_equal(s->depth, 2);
    assert_int_equal(s->open_beam.n, 1);
    assert_int_equal(s->film.n, 0);
    assert_int_equal(s->ordinate, PELLET_ORDINATE_TRANSMITTANCE);
    assert_true(s->ordinate_percent);
    assert_int_equal(s->ratioed_against, PELLET_RATIOED_OPEN_BEAM);
    assert_near(s->range_low, 650, 0);
    assert_int_equal(s->measured, MEASURED_MTIME);
    assert_string_equal(s->timezone, "Europe/Berlin");
    assert_near(s->settle_s, 2, 0);
    assert_int_equal(s->watch, WATCH_POLL);
    assert_string_equal(s->mount, "required");
    assert_string_equal(s->output, "/var/lib/out");
    assert_int_equal(s->since, SINCE_DATE);
    assert_true(s->since_time == day);
    assert_int_equal(s->alert.n, 2);
    assert_string_equal(s->alert.argv[0], "/bin/true");
    assert_near(s->alert.max_age_min, 5, 0);
    assert_near(s->file_max_mib, 1, 0);
    assert_string_equal(s->column, "caffeine p1");
    assert_int_equal(s->points_max, 20000);
    assert_near(s->line_max_mib, 0.5, 0);
    config_clear(&config);
    pellet_text_free(&problems);
}

#define HEAD "format: 1\nstations:\n  - folder: /srv/a\n    "

static void what_is_refused(void **state)
{
    (void)state;
    static const struct {
        const char *yaml, *says;
    } rows[] = {
        {"", ""},
        {"stations: []", "format"},
        {"format: 2\nstations: []", "format"},
        {"format: 1", "stations"},
        {"format: 1\nstation: []", "station"},
        {"format: 1\nstations: {a: b}", "stations"},
        {"format: 1\nstations: [x]", "stations[1]"},
        {"format: 1\nstations:\n  - name: a", "folder"},
        {HEAD "colour: red", "there is no such key; allowed are name, folder"},
        {HEAD "name: 'a b'", "letters, digits"},
        {HEAD "name: .a", "letters, digits"},
        {HEAD "include: 'a/*.csv'", "file names"},
        {HEAD "depth: 17", "depth"},
        {HEAD "depth: -1", "depth"},
        {HEAD "sample_name: '{pellet}'", "{sample} is missing"},
        {HEAD "ordinate: energy", "single_beam"},
        {HEAD "ratioed_against: air", "open beam"},
        {HEAD "range: 400", "range"},
        {HEAD "measured: now", "mtime"},
        {HEAD "timezone: Mars/Olympus", "Europe/Berlin"},
        {HEAD "settle: 5", "unit"},
        {HEAD "settle: 5 min 3", "settle"},
        {HEAD "watch: fanotify", "inotify"},
        {HEAD "mount: mnt/x", "required"},
        {HEAD "since: yesterday", "install"},
        {HEAD "file_max: 64", "unit"},
        {HEAD "points_max: 49", "points_max"},
        {HEAD "points_max: many", "points_max"},
        {HEAD "line_max: 0 MiB", "line_max"},
        {HEAD "column: ''", "column 2"},
        {HEAD "column: [a, b]", "column"},
        {HEAD "alert: /bin/true", "alert"},
        {HEAD "alert: {command: []}", "full path"},
        {HEAD "alert: {command: [true]}", "full path"},
        {HEAD "alert: {colour: red}", "allowed are command"},
        {HEAD "folder: ''", ""},
        {HEAD "rules: &a routine", "anchor"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct config config = {.station_count = 99};
        struct pellet_text problems = {0};
        struct pellet_error error = {0};
        if (read_text(rows[i].yaml, &config, &problems, &error) == PELLET_OK)
            fail_msg("accepted: %s", rows[i].yaml);
        if (!strstr(pellet_text_string(&problems), rows[i].says))
            fail_msg("%s\n gives %s", rows[i].yaml, pellet_text_string(&problems));
        assert_int_equal(config.station_count, 99);
        assert_int_not_equal(error.status, PELLET_OK);
        pellet_text_free(&problems);
    }
}

/* Not just the first. */
static void all_problems_are_listed(void **state)
{
    (void)state;
    struct config config = {0};
    struct pellet_text problems = {0};
    struct pellet_error error = {0};
    assert_int_not_equal(
        read_text(HEAD "depth: 99\n    watch: x\n    since: y\n", &config, &problems, &error), PELLET_OK);
    const char *text = pellet_text_string(&problems);
    assert_non_null(strstr(text, "line 4"));
    assert_non_null(strstr(text, "line 5"));
    assert_non_null(strstr(text, "line 6"));
    assert_int_equal(error.line, 4);
    pellet_text_free(&problems);
}

static void stations_must_not_overlap(void **state)
{
    (void)state;
    static const struct {
        const char *a, *b;
        bool good;
    } rows[] = {
        {"/srv/a", "/srv/b", true},   {"/srv/a", "/srv/ab", true},   {"/srv/a", "/srv/a", false},
        {"/srv/a", "/srv/a/", false}, {"/srv/a", "/srv/a/x", false}, {"/srv/a/x", "/srv/a", false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char yaml[200];
        struct config config = {0};
        struct pellet_text problems = {0};
        snprintf(yaml, sizeof yaml,
                 "format: 1\nstations:\n  - {name: one, folder: %s}\n  - {name: two, folder: %s}\n",
                 rows[i].a, rows[i].b);
        bool good = read_text(yaml, &config, &problems, NULL) == PELLET_OK;
        if (good != rows[i].good)
            fail_msg("%s and %s", rows[i].a, rows[i].b);
        config_clear(&config);
        pellet_text_free(&problems);
    }
}

static void hash_of_settings(void **state)
{
    (void)state;
    struct pellet_arena arena = {0};
    struct station_config station;
    struct pellet_settings one;
    struct pellet_settings two;
    assert_int_equal(station_config_default("/tmp", &arena, &station, NULL), PELLET_OK);
    assert_int_equal(station_settings(&station, &one, NULL), PELLET_OK);
    /* What only changes when a verdict comes stays out. */
    station.settle_s = 9;
    station.name = "other";
    assert_int_equal(station_settings(&station, &two, NULL), PELLET_OK);
    assert_string_equal(one.sha256, two.sha256);
    station.column = "b";
    assert_int_equal(station_settings(&station, &two, NULL), PELLET_OK);
    assert_string_not_equal(one.sha256, two.sha256);
    station.column = NULL;
    station.points_max = 100;
    assert_int_equal(station_settings(&station, &two, NULL), PELLET_OK);
    assert_string_not_equal(one.sha256, two.sha256);
    station.points_max = PELLET_READ_POINTS_MAX;
    station.ordinate = PELLET_ORDINATE_ABSORBANCE;
    assert_int_equal(station_settings(&station, &two, NULL), PELLET_OK);
    assert_string_not_equal(one.sha256, two.sha256);
    pellet_arena_free(&arena);
}

/* The file we ship explains every key and is itself right. */
static void the_shipped_file(void **state)
{
    (void)state;
    struct config config = {0};
    struct pellet_text problems = {0};
    struct pellet_bytes bytes = {0};
    struct pellet_error error = {0};
    assert_int_equal(read_path(PELLET_TREE "/config/pelletd.yaml", 1 << 20, &bytes, &error), PELLET_OK);
    if (config_read(bytes.data, bytes.n, "pelletd.yaml", &config, &problems, &error) != PELLET_OK)
        fail_msg("%s", pellet_text_string(&problems));
    assert_int_equal(config.station_count, 1);
    config_clear(&config);
    pellet_text_free(&problems);
    pellet_bytes_free(&bytes);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(defaults),
        cmocka_unit_test(every_key),
        cmocka_unit_test(what_is_refused),
        cmocka_unit_test(all_problems_are_listed),
        cmocka_unit_test(stations_must_not_overlap),
        cmocka_unit_test(hash_of_settings),
        cmocka_unit_test(the_shipped_file),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
