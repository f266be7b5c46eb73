// SPDX-License-Identifier: GPL-3.0-or-later
/* The advice on checks that refused, whatever the spectrum. */
#ifndef PELLET_TESTS_JUDGE_REFUSED_H
#define PELLET_TESTS_JUDGE_REFUSED_H

#include "judge/fixture.h"

#include "judge/advice.h"

/* A verdict as if these checks had refused. */
static inline void advise_on(const char *const *checks, size_t n, enum pellet_outcome outcome,
                             struct pellet_verdict *v)
{
    struct pellet_finding reason[8];
    struct fixture f;

    fixture_init(&f, NULL, NULL);
    *v = (struct pellet_verdict){.outcome = outcome, .reason_count = n, .reason = reason};
    for (size_t i = 0; i < n; i++) {
        pellet_finding_init(pellet_check_find(checks[i]), &reason[i]);
        reason[i].outcome = n == 1 ? outcome : pellet_check_find(checks[i])->outcome;
        reason[i].phrase = PELLET_SAYS_WITHIN;
    }
    assert_int_equal(pellet_advise(&f.inputs, NULL, v), PELLET_OK);
    v->reason_count = 0;
    fixture_clear(&f);
}

#endif
