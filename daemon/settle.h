// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * When is a file ready? The life of one file between its first sign and the moment it may be read, as a pure
 * table of state by event. It is told what was seen and what the monotonic clock says; it asks nobody.
 */
#ifndef PELLETD_SETTLE_H
#define PELLETD_SETTLE_H

#include "pellet/core.h"

enum settle_state {
    SETTLE_IDLE,    /* nothing is going on */
    SETTLE_WRITING, /* changes were seen, and no close after them */
    SETTLE_CLOSED,  /* closed by its writer, or renamed into place */
    SETTLE_STATE_COUNT
};

enum settle_event {
    SETTLE_CHANGED, /* created, modified, or found different by a scan */
    SETTLE_TOUCHED, /* its attributes changed */
    SETTLE_CLOSE,   /* closed after writing, or moved into place */
    SETTLE_GONE,    /* deleted or moved away */
    SETTLE_SAME,    /* its time was up, and size and mtime were as before */
    SETTLE_DIFFERS, /* its time was up, and they were not */
    SETTLE_EVENT_COUNT
};

/* Monotonic times in ms. The zero value is idle. */
struct settle {
    enum settle_state state;
    int64_t first_ms; /* when the present change was first seen */
    int64_t due_ms;   /* when to look again; meaningless while idle */
    uint64_t bytes;   /* as last seen */
    pellet_ns mtime_ns;
};

/* How long a file must have been unchanged. */
struct settle_times {
    int64_t closed_ms; /* after a close or rename into place */
    int64_t open_ms;   /* where no close was seen */
};

/*
 * Take one event. `bytes` and `mtime_ns` are what the file is now (0 with SETTLE_GONE). An empty file that
 * was closed waits like an open one: many programs create first and write in a second go.
 *
 * Returned: true when the file is ready; it is idle then
 */
bool settle_take(struct settle *settle, enum settle_event event, uint64_t bytes, pellet_ns mtime_ns,
                 int64_t now_ms, const struct settle_times *times);

#endif
