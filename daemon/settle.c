// SPDX-License-Identifier: GPL-3.0-or-later
#include "settle.h"

/* What to do on the way to the next state. */
enum action {
    NOTHING,
    BEGIN,  /* the first sign: note when, and wait */
    EXTEND, /* one more sign: wait anew */
    READY   /* unchanged for long enough */
};

/* Where an event leads. Cells that cannot happen (a time that is up while idle) do nothing. */
static const struct {
    enum settle_state next;
    enum action action;
} table[SETTLE_STATE_COUNT][SETTLE_EVENT_COUNT] = {
    /* A file server on the same machine may show no more of its writing than this. */
    [SETTLE_IDLE] = {[SETTLE_CHANGED] = {SETTLE_WRITING, BEGIN},
                     [SETTLE_TOUCHED] = {SETTLE_WRITING, BEGIN},
                     [SETTLE_CLOSE] = {SETTLE_CLOSED, BEGIN},
                     [SETTLE_GONE] = {SETTLE_IDLE, NOTHING},
                     [SETTLE_SAME] = {SETTLE_IDLE, NOTHING},
                     [SETTLE_DIFFERS] = {SETTLE_IDLE, NOTHING}},
    [SETTLE_WRITING] = {[SETTLE_CHANGED] = {SETTLE_WRITING, EXTEND},
                        [SETTLE_TOUCHED] = {SETTLE_WRITING, EXTEND},
                        [SETTLE_CLOSE] = {SETTLE_CLOSED, EXTEND},
                        [SETTLE_GONE] = {SETTLE_IDLE, NOTHING},
                        [SETTLE_SAME] = {SETTLE_IDLE, READY},
                        [SETTLE_DIFFERS] = {SETTLE_WRITING, EXTEND}},
    /* A change after the close is a new writer, whose close is still to come. But copying programs give
     * times, owner and mode to what they have written and closed: no writer. */
    [SETTLE_CLOSED] = {[SETTLE_CHANGED] = {SETTLE_WRITING, EXTEND},
                       [SETTLE_TOUCHED] = {SETTLE_CLOSED, EXTEND},
                       [SETTLE_CLOSE] = {SETTLE_CLOSED, EXTEND},
                       [SETTLE_GONE] = {SETTLE_IDLE, NOTHING},
                       [SETTLE_SAME] = {SETTLE_IDLE, READY},
                       [SETTLE_DIFFERS] = {SETTLE_WRITING, EXTEND}},
};

bool settle_take(struct settle *settle, enum settle_event event, uint64_t bytes, pellet_ns mtime_ns,
                 int64_t now_ms, const struct settle_times *times)
{
    const enum action action = table[settle->state][event].action;
    settle->state = table[settle->state][event].next;
    if (action == BEGIN)
        settle->first_ms = now_ms;
    if (action == BEGIN || action == EXTEND) {
        const bool closed = settle->state == SETTLE_CLOSED && bytes > 0;
        settle->due_ms = now_ms + (closed ? times->closed_ms : times->open_ms);
        settle->bytes = bytes;
        settle->mtime_ns = mtime_ns;
    }
    return action == READY;
}
