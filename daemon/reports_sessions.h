// SPDX-License-Identifier: GPL-3.0-or-later
/* The sessions of a station, and when the record of each is to be written. */
#ifndef PELLETD_REPORTS_SESSIONS_H
#define PELLETD_REPORTS_SESSIONS_H

#include "session.h"

#include "pellet/core.h"

struct session {
    char id[SESSION_ID_MAX];
    pellet_ns last; /* when something of it came last */
    bool closed;    /* nothing came for its gap */
    bool fresh;     /* a verdict of this run is in it */
    bool dirty;     /* its record may not say all there is to say */
    int64_t due_ms; /* when to write the record, if dirty */
};

/* In the order in which they were met. The zero value is ready. */
struct sessions {
    size_t n, capacity;
    struct session *item;
};

void sessions_free(struct sessions *sessions);
struct session *sessions_find(const struct sessions *sessions, const char *id); /* NULL where there is none */
/* NULL where there is no memory, or where the name may not be that of a file. */
struct session *sessions_find_or_add(struct sessions *sessions, const char *id);
/* The one that something came to last; NULL where there is none. */
struct session *sessions_current(const struct sessions *sessions);
/* The one whose record is due first; NULL where none is. */
struct session *sessions_next_due(const struct sessions *sessions);

/* Write its record, at `due_ms` at the latest. */
void session_spoil(struct session *session, int64_t due_ms);
/* Write its record, but not before `due_ms`: more of the same is likely to come. */
void session_postpone(struct session *session, int64_t due_ms);

/* Close those that nothing came to for `gap`; their records are due. True where the current one is among
 * them.
 */
bool sessions_close_quiet(struct sessions *sessions, pellet_ns gap, pellet_ns now, int64_t now_ms);
/* When the next open one would count as closed (monotonic ms); INT64_MAX for never. */
int64_t sessions_close_ms(const struct sessions *sessions, pellet_ns gap, pellet_ns now, int64_t now_ms);

#endif
