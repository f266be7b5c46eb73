// SPDX-License-Identifier: GPL-3.0-or-later
/* The life of a file until it is ready: every way of saving as a row of events on a made-up clock. */
#include "testing.h"

#include "settle.h"

static const struct settle_times times = {.closed_ms = 500, .open_ms = 5000};

/* One event at a time, with the size and mtime that the file then has. */
struct step {
    int64_t at_ms;
    enum settle_event event;
    uint64_t bytes;
    pellet_ns mtime_ns;
    bool ready;
    int64_t due_ms; /* -1: idle */
};

static void play(const struct step *steps, size_t n)
{
    struct settle settle = {0};
    for (size_t i = 0; i < n; i++) {
        const struct step *s = &steps[i];
        bool ready = settle_take(&settle, s->event, s->bytes, s->mtime_ns, s->at_ms, &times);
        if (ready != s->ready)
            fail_msg("step %zu: ready is %d", i, ready);
        if (s->due_ms < 0)
            assert_int_equal(settle.state, SETTLE_IDLE);
        else
            assert_int_equal(settle.due_ms, s->due_ms);
    }
}
#define PLAY(...)                                                                                            \
    do {                                                                                                     \
        const struct step steps[] = {__VA_ARGS__};                                                           \
        play(steps, sizeof steps / sizeof steps[0]);                                                         \
    } while (0)

static void written_and_closed(void **state)
{
    (void)state;
    PLAY({1000, SETTLE_CHANGED, 0, 1, false, 6000}, {1010, SETTLE_CHANGED, 70, 2, false, 6010},
         {1020, SETTLE_CLOSE, 70, 2, false, 1520}, {1520, SETTLE_SAME, 70, 2, true, -1});
}

static void renamed_into_place(void **state)
{
    (void)state;
    PLAY({0, SETTLE_CLOSE, 70, 2, false, 500}, {500, SETTLE_SAME, 70, 2, true, -1});
}

/* The second close is what counts. */
static void closed_several_times(void **state)
{
    (void)state;
    PLAY({0, SETTLE_CLOSE, 70, 2, false, 500}, {300, SETTLE_CHANGED, 71, 3, false, 5300},
         {400, SETTLE_CLOSE, 80, 4, false, 900}, {900, SETTLE_SAME, 80, 4, true, -1});
}

/* Nobody ever closes it: a file server on the same machine, or a folder that is polled. */
static void never_closed(void **state)
{
    (void)state;
    PLAY({0, SETTLE_CHANGED, 10, 1, false, 5000}, {4000, SETTLE_CHANGED, 20, 2, false, 9000},
         {9000, SETTLE_SAME, 20, 2, true, -1});
}

/* A copy gets its times, its owner and its mode after the close: that is no writer whose close is to come. */
static void touched_after_the_close(void **state)
{
    (void)state;
    PLAY({0, SETTLE_CLOSE, 70, 9, false, 500}, {3, SETTLE_TOUCHED, 70, 2, false, 503},
         {4, SETTLE_TOUCHED, 70, 2, false, 504}, {504, SETTLE_SAME, 70, 2, true, -1});
}

/* All that a file server may show of its writing. */
static void only_touched(void **state)
{
    (void)state;
    PLAY({0, SETTLE_TOUCHED, 10, 1, false, 5000}, {4000, SETTLE_TOUCHED, 20, 2, false, 9000},
         {9000, SETTLE_DIFFERS, 30, 3, false, 14000}, {14000, SETTLE_SAME, 30, 3, true, -1});
}

/* Same number of bytes, another time: its time was up, but it had moved on. */
static void changed_without_event(void **state)
{
    (void)state;
    PLAY({0, SETTLE_CLOSE, 10, 1, false, 500}, {500, SETTLE_DIFFERS, 10, 2, false, 5500},
         {5500, SETTLE_SAME, 10, 2, true, -1});
}

static void vanishes(void **state)
{
    (void)state;
    PLAY({0, SETTLE_CHANGED, 10, 1, false, 5000}, {10, SETTLE_GONE, 0, 0, false, -1},
         {20, SETTLE_SAME, 0, 0, false, -1});
}

/* Created first, filled in a second go. */
static void empty_waits_like_open(void **state)
{
    (void)state;
    PLAY({0, SETTLE_CLOSE, 0, 1, false, 5000}, {100, SETTLE_CHANGED, 10, 2, false, 5100},
         {110, SETTLE_CLOSE, 10, 2, false, 610}, {610, SETTLE_SAME, 10, 2, true, -1});
}

static void remembers_its_first_sign(void **state)
{
    (void)state;
    struct settle settle = {0};
    settle_take(&settle, SETTLE_CHANGED, 1, 1, 100, &times);
    settle_take(&settle, SETTLE_CLOSE, 1, 1, 700, &times);
    assert_int_equal(settle.first_ms, 100);
    assert_true(settle_take(&settle, SETTLE_SAME, 1, 1, 1200, &times));
    settle_take(&settle, SETTLE_CLOSE, 1, 1, 9000, &times);
    assert_int_equal(settle.first_ms, 9000);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(written_and_closed),      cmocka_unit_test(renamed_into_place),
        cmocka_unit_test(closed_several_times),    cmocka_unit_test(never_closed),
        cmocka_unit_test(touched_after_the_close), cmocka_unit_test(only_touched),
        cmocka_unit_test(changed_without_event),   cmocka_unit_test(vanishes),
        cmocka_unit_test(empty_waits_like_open),   cmocka_unit_test(remembers_its_first_sign),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
