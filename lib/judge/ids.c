// SPDX-License-Identifier: GPL-3.0-or-later
/* The identifiers that verdict files use for the enumerations of the judge and the checks. */
#include "pellet/judge.h"

#include <string.h>

/* An unknown number must still give a string: it may come from a planted file. */
static const char *id_of(const char *const *ids, size_t count, size_t i)
{
    return i < count ? ids[i] : "unknown";
}

const char *pellet_outcome_id(enum pellet_outcome outcome)
{
    static const char *const ids[PELLET_OUTCOME_COUNT] = {"pass",   "note",   "wait",
                                                          "rescan", "remake", "not_checked"};
    return id_of(ids, PELLET_OUTCOME_COUNT, (size_t)outcome);
}

bool pellet_outcome_from_id(const char *id, enum pellet_outcome *outcome)
{
    for (int i = 0; i < PELLET_OUTCOME_COUNT; i++) {
        if (strcmp(id, pellet_outcome_id((enum pellet_outcome)i)) == 0) {
            *outcome = (enum pellet_outcome)i;
            return true;
        }
    }
    return false;
}

const char *pellet_role_id(enum pellet_role role)
{
    static const char *const ids[PELLET_ROLE_COUNT] = {"sample", "blank", "open_beam", "film"};
    return id_of(ids, PELLET_ROLE_COUNT, (size_t)role);
}

const char *pellet_basis_id(enum pellet_basis basis)
{
    static const char *const ids[PELLET_BASIS_COUNT] = {"single_beam", "blank", "open_beam", "first_blank",
                                                        "unknown"};
    return id_of(ids, PELLET_BASIS_COUNT, (size_t)basis);
}

const char *pellet_blank_state_id(enum pellet_blank_state state)
{
    static const char *const ids[PELLET_BLANK_STATE_COUNT] = {"none", "accepted", "provisional", "refused"};
    return id_of(ids, PELLET_BLANK_STATE_COUNT, (size_t)state);
}

const char *pellet_time_from_id(enum pellet_time_from from)
{
    return from == PELLET_TIME_FROM_FILE ? "file" : "mtime";
}
