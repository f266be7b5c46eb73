// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * What happens, for machines that read the system's journal: each kind of event has a MESSAGE_ID of its own,
 * and what it is about stands in fields (`journalctl PELLETD_VERDICT=remake`).
 */
#ifndef PELLETD_JOURNAL_H
#define PELLETD_JOURNAL_H

#include "pellet/judge.h"

/* Each kind of event: its MESSAGE_ID (128 random bits, fixed for ever) and what it means. */
#define JOURNAL_EVENT_LIST(X)                                                                                \
    X(OTHER, "", "everything else")                                                                          \
    X(VERDICT, "03983d51849c470fa8661ca839054614", "a spectrum got its verdict")                             \
    X(READY, "4bcbf47b3905444c937666c64b26bc84", "all folders that can be reached are watched")              \
    X(RELOADED, "00c19816adbb42bfafd79d4a6381b2c5", "a new configuration is at work")                        \
    X(REFUSED, "88f991009e1a4a31935620876708f11a", "a new configuration is bad, and the old one stays")      \
    X(AWAY, "d5ce251a66514fcbbc7d6073ec4045a6", "a station's folder cannot be reached")                      \
    X(BACK, "2e8612ad96214b7ba80224a90bec6bb2", "a station's folder can be reached again")                   \
    X(REVISION, "04bc47e826934c49948e5e250dbc1ee0", "the record of a closed session got a new revision")     \
    X(ALERT, "d2406bc0a2414d2ba315b78532dfab5b", "the command of an alert was run")                          \
    X(ALERT_FAILED, "5aff084ac4a745c8a7bd93376960c40d", "the command of an alert failed or was ended")

enum journal_event {
#define JOURNAL_EVENT_ENUM(code, id, meaning) JOURNAL_##code,
    JOURNAL_EVENT_LIST(JOURNAL_EVENT_ENUM)
#undef JOURNAL_EVENT_ENUM
        JOURNAL_EVENT_COUNT
};

/*
 * Whether events go to the journal with their fields: stderr is its stream (JOURNAL_STREAM names it) and we
 * were built with libsystemd.
 */
bool journal_takes_fields(void);

/* An event without further fields; `priority` as syslog's. Nothing where the journal takes none. */
void journal_send(enum journal_event event, int priority, const char *message);

/* A verdict with its fields; the priority is that of journal_priority. Nothing where the journal
 * takes none. */
void journal_verdict(const char *station, const struct pellet_verdict *verdict);

/* How much a verdict matters: a blank at fault more than a sample, for all that follow rest on it. */
int journal_priority(const struct pellet_verdict *verdict);

#endif
