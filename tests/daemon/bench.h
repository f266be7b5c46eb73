// SPDX-License-Identifier: GPL-3.0-or-later
/* Entries made by hand: a morning at the bench, in minutes, for the tests of pairing and sessions. */
#ifndef PELLET_TESTS_DAEMON_BENCH_H
#define PELLET_TESTS_DAEMON_BENCH_H

#include "testing.h"

#include "entry.h"

#include <string.h>

#define MINUTE (60 * PELLET_NS_PER_S)
#define START  (INT64_C(1772614800) * PELLET_NS_PER_S) /* 2026-03-04T09:00:00Z */

struct bench {
    struct entry_index index;
    struct measured time;
};

static inline struct entry *bench_add(struct bench *bench, const char *name, enum pellet_role role,
                                      double minute)
{
    struct entry *entry = entry_add(&bench->index, name);
    assert_non_null(entry);
    entry->present = entry->judged = true;
    entry->role = role;
    entry->outcome = PELLET_PASS;
    entry->measured = START + (pellet_ns)(minute * MINUTE);
    entry->settings.known = entry->settings.single_beam = true;
    assert_true(entry_set_string(&entry->session, "s"));
    assert_true(measured_insert(&bench->time, entry));
    return entry;
}

static inline struct entry *bench_blank(struct bench *bench, const char *name, double minute,
                                        enum pellet_blank_state state)
{
    struct entry *entry = bench_add(bench, name, PELLET_BLANK, minute);
    entry->state = state;
    entry->outcome = state == PELLET_BLANK_REFUSED ? PELLET_REMAKE : PELLET_PASS;
    return entry;
}

static inline struct entry *bench_sample(struct bench *bench, const char *name, const char *sample,
                                         double minute)
{
    struct entry *entry = bench_add(bench, name, PELLET_SAMPLE, minute);
    assert_true(entry_set_string(&entry->sample, sample));
    return entry;
}

static inline void bench_state(struct entry *entry, enum pellet_setting setting, const char *stated)
{
    assert_true(entry_set_string(&entry->settings.stated[setting], stated));
}

static inline void bench_free(struct bench *bench)
{
    measured_free(&bench->time);
    entry_index_free(&bench->index);
}

#endif
