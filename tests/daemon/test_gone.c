// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * What is gone and left nothing is forgotten, so that a station does not grow for ever; what is gone and has
 * a verdict stays known for the record, and what returns is judged.
 */
#include "daemon/running.h"

#include "station.h"

#define NAMES 6000 /* made and deleted */
#define FEW   2200 /* that a station may know though they are gone */

struct opened {
    struct station_config config;
    struct pellet_arena arena;
    struct station *station;
};

static void judge_all(struct running *running)
{
    char *arguments[] = {(char *)PELLETD_PROGRAM, "judge", running->folder, NULL};
    running_save(running, "open-beam.csv", 0, -1, 1);
    running_save(running, "blank.csv", 1, 0, 2);
    running_save(running, "stays_p1.csv", 2, 0.7, 3);
    running_save(running, "put-away_p1.csv", 3, 0.7, 4);
    running_save(running, "archived_p1.csv", 4, 0.7, 5);
    assert_int_equal(running_run(running, arguments), 0);
}

static void work(struct station *station)
{
    (void)station_due(station, clock_monotonic_ms());
    station_finish(station);
    station_work(station);
}

static void open_it(struct running *running, bool patient, struct opened *opened)
{
    struct pellet_error error = {0};
    struct pellet_error lock_error = {0};
    const struct station_options how = {.jobs = 1, .patient = patient};
    *opened = (struct opened){0};
    judge_all(running);
    assert_int_equal(station_config_default(running->folder, &opened->arena, &opened->config, &error),
                     PELLET_OK);
    assert_int_equal(station_open(&opened->config, &how, &opened->station, &lock_error, &error), PELLET_OK);
    assert_true(opened->station->writes);
    assert_int_equal(station_scan(opened->station, true, NULL, NULL, &error), PELLET_OK);
    work(opened->station);
    assert_int_equal(opened->station->index.n, 5);
}

static void close_it(struct opened *opened)
{
    station_free(opened->station);
    pellet_arena_free(&opened->arena);
}

static void take_away(const struct running *running, struct station *station, const char *name)
{
    assert_int_equal(unlink(running_path(running, name)), 0);
    station_event(station, name, SETTLE_GONE);
}

static void make_and_delete(const struct running *running, struct station *station)
{
    for (int i = 0; i < NAMES; i++) {
        char name[40];
        snprintf(name, sizeof name, "name%05d_p1.csv", i);
        running_write(running_path(running, name), "x", 1);
        station_event(station, name, SETTLE_CLOSE);
        assert_non_null(entry_find(&station->index, name));
        take_away(running, station, name);
        if (i % 100 == 0)
            work(station);
    }
    work(station);
}

static void names_do_not_pile_up(void **state)
{
    struct running *running = *state;
    struct opened opened;
    open_it(running, true, &opened);
    make_and_delete(running, opened.station);
    assert_in_range(opened.station->index.n, 5, FEW);
    assert_non_null(entry_find(&opened.station->index, "stays_p1.csv"));
    close_it(&opened);
}

static void what_has_a_verdict_stays_known(void **state)
{
    struct running *running = *state;
    struct opened opened;
    open_it(running, true, &opened);
    take_away(running, opened.station, "put-away_p1.csv");
    take_away(running, opened.station, "archived_p1.csv");
    take_away(running, opened.station, "archived_p1.csv.verdict.yaml");
    make_and_delete(running, opened.station);
    const struct entry *put_away = entry_find(&opened.station->index, "put-away_p1.csv");
    assert_non_null(put_away);
    assert_true(put_away->judged);
    assert_false(put_away->present);
    assert_null(entry_find(&opened.station->index, "archived_p1.csv"));
    /* Neither is in the way of those that come after them. */
    assert_int_equal(opened.station->time[PELLET_TIME_FROM_FILE].all.n, 4);
    close_it(&opened);
}

static void what_returns_is_judged(void **state)
{
    struct running *running = *state;
    struct opened opened;
    open_it(running, true, &opened);
    take_away(running, opened.station, "archived_p1.csv");
    take_away(running, opened.station, "archived_p1.csv.verdict.yaml");
    make_and_delete(running, opened.station);
    running_save(running, "archived_p1.csv", 4, 0.7, 5);
    station_event(opened.station, "archived_p1.csv", SETTLE_CLOSE);
    for (int waited = 0; !running_outcome_is(running, "archived_p1.csv", PELLET_PASS); waited++) {
        assert_true(waited < RUNNING_WAIT_MS / 20);
        running_sleep(20);
        work(opened.station);
    }
    close_it(&opened);
}

/* A command that ends by itself tells of all that it met. */
static void a_command_forgets_nothing(void **state)
{
    struct running *running = *state;
    struct opened opened;
    open_it(running, false, &opened);
    make_and_delete(running, opened.station);
    assert_int_equal(opened.station->index.n, 5 + NAMES);
    close_it(&opened);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        running_test(names_do_not_pile_up),
        running_test(what_has_a_verdict_stays_known),
        running_test(what_returns_is_judged),
        running_test(a_command_forgets_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
