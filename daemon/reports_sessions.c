// SPDX-License-Identifier: GPL-3.0-or-later
#include "reports_sessions.h"

#include "reports_record.h"

#include <stdlib.h>
#include <string.h>

void sessions_free(struct sessions *sessions)
{
    free(sessions->item);
    *sessions = (struct sessions){0};
}

struct session *sessions_find(const struct sessions *sessions, const char *id)
{
    /* The newest are at the end, and mostly asked for. */
    for (size_t i = sessions->n; i-- > 0;) {
        if (strcmp(sessions->item[i].id, id) == 0)
            return &sessions->item[i];
    }
    return NULL;
}

struct session *sessions_find_or_add(struct sessions *sessions, const char *id)
{
    struct session *session = sessions_find(sessions, id);
    if (session || !report_session_is_good(id))
        return session;
    if (sessions->n == sessions->capacity) {
        const size_t capacity = sessions->capacity ? 2 * sessions->capacity : 16;
        struct session *list = realloc(sessions->item, capacity * sizeof *list);
        if (!list)
            return NULL; /* it is found again by the next verdict or the next start */
        sessions->item = list;
        sessions->capacity = capacity;
    }
    session = &sessions->item[sessions->n++];
    *session = (struct session){.last = INT64_MIN};
    memcpy(session->id, id, strlen(id) + 1);
    return session;
}

struct session *sessions_current(const struct sessions *sessions)
{
    struct session *newest = NULL;
    for (size_t i = 0; i < sessions->n; i++) {
        if (!newest || sessions->item[i].last > newest->last)
            newest = &sessions->item[i];
    }
    return newest;
}

struct session *sessions_next_due(const struct sessions *sessions)
{
    struct session *next = NULL;
    for (size_t i = 0; i < sessions->n; i++) {
        struct session *session = &sessions->item[i];
        if (session->dirty && (!next || session->due_ms < next->due_ms))
            next = session;
    }
    return next;
}

void session_spoil(struct session *session, int64_t due_ms)
{
    if (!session->dirty || due_ms < session->due_ms)
        session->due_ms = due_ms;
    session->dirty = true;
}

void session_postpone(struct session *session, int64_t due_ms)
{
    if (!session->dirty || session->due_ms < due_ms)
        session->due_ms = due_ms;
    session->dirty = true;
}

bool sessions_close_quiet(struct sessions *sessions, pellet_ns gap, pellet_ns now, int64_t now_ms)
{
    const struct session *current = sessions_current(sessions);
    bool current_closed = false;
    for (size_t i = 0; i < sessions->n; i++) {
        struct session *session = &sessions->item[i];
        if (session->closed || session->last + gap > now)
            continue;
        session->closed = true;
        session_spoil(session, now_ms);
        current_closed = current_closed || session == current;
    }
    return current_closed;
}

int64_t sessions_close_ms(const struct sessions *sessions, pellet_ns gap, pellet_ns now, int64_t now_ms)
{
    int64_t next_ms = INT64_MAX;
    for (size_t i = 0; i < sessions->n; i++) {
        const struct session *session = &sessions->item[i];
        const int64_t close_ms = now_ms + (session->last + gap - now) / 1000000 + 1;
        if (!session->closed && close_ms < next_ms)
            next_ms = close_ms;
    }
    return next_ms;
}
