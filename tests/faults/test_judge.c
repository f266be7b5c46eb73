// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * `pelletd judge` while system calls fail. PELLETD_LONG=1: each row of the table at the n-th call for all
 * n of a run, with a run without faults after each; else each row once, and a run after every fourth.
 */
#include "faults/faults.h"

/* Each function that the program uses, and what its manual page lets happen. */
static const struct fault table[] = {
    {"openat2", EINTR, false},    {"openat2", EIO, false},
    {"openat2", EMFILE, false},   {"openat2", EACCES, true},
    {"openat2", ENOMEM, false},   {"openat2", ENOSPC, true},
    {"openat2", EMFILE, true},    {"openat2", ENOSYS, true},
    {"openat", EIO, false},       {"openat", EMFILE, false},
    {"openat", ENOSPC, false},    {"openat", EACCES, true},
    {"open", EMFILE, false},      {"open", EIO, true},
    {"read", EIO, false},         {"read", EINTR, false},
    {"read", EIO, true},          {"read", 0, true},
    {"write", ENOSPC, false},     {"write", EIO, false},
    {"write", EINTR, false},      {"write", ENOSPC, true},
    {"write", 0, true},           {"close", EIO, false},
    {"close", EINTR, true},       {"fstat", EIO, false},
    {"fstat", ENOMEM, true},      {"fstatat", EIO, false},
    {"fstatat", ENOMEM, true},    {"stat", EACCES, false},
    {"lstat", EIO, false},        {"fdopendir", ENOMEM, false},
    {"readdir", EIO, false},      {"renameat", ENOSPC, false},
    {"renameat", EIO, false},     {"renameat", EACCES, true},
    {"unlinkat", EIO, true},      {"mkdirat", ENOSPC, false},
    {"mkdirat", EACCES, true},    {"syncfs", EIO, false},
    {"fcntl", ENOLCK, false},     {"fcntl", EINTR, false},
    {"getrandom", ENOSYS, false}, {"realpath", EACCES, false},
    {"fopen", EMFILE, false},     {"fflush", ENOSPC, false},
    {"eventfd", EMFILE, false},   {"eventfd_write", EAGAIN, true},
    {"eventfd_read", EIO, true},  {"pthread_create", EAGAIN, false},
    {"poll", EINTR, true},
};

#define ROWS (sizeof table / sizeof table[0])

static void heal(struct faults *faults, const struct fault *fault, unsigned long nth)
{
    static const struct fault none = {"", 0, false};
    const int healed = fault_judge(&faults->running, &none, 0);
    if (healed != faults->code)
        fault_fail(faults, fault, nth, "the run after it ended with %d", healed);
    fault_expect_full(faults, fault, nth);
}

/* The exit code. */
static int run_once(struct faults *faults, const struct fault *fault, unsigned long nth)
{
    fault_clean(&faults->running);
    const int code = fault_judge(&faults->running, fault, nth);
    if (code < 0 || code > 3)
        fault_fail(faults, fault, nth, "it hung or crashed");
    /* Before anything was judged, a configuration that cannot be looked for may be blamed. */
    if (code == 2 && (fault_verdicts(faults) > 0 || !running_said(&faults->running, "pelletd.yaml")))
        fault_fail(faults, fault, nth, "exit code 2 without a reason");
    fault_expect_true(faults, fault, nth);
    /* Who says that nothing went wrong has judged everything. */
    if (code < 2 && (code != faults->code || fault_verdicts(faults) != FAULT_FILES))
        fault_fail(faults, fault, nth, "exit code %d, but %zu of %d verdicts", code, fault_verdicts(faults),
                   FAULT_FILES);
    return code;
}

static void every_call_fails_in_turn(void **state)
{
    struct faults *faults = *state;
    const struct fault_share *share = faults->share;
    unsigned long runs = 0;
    for (size_t f = 0; f < ROWS; f++) {
        const unsigned long calls = (unsigned long)fault_count(&faults->counts, table[f].call);
        /* The sample: one of each row, at places that wander from row to row. */
        const unsigned long first = share->all || calls == 0 ? 1 : 1 + 7 * f % calls;
        const unsigned long last = share->all || calls == 0 ? calls : first;
        for (unsigned long nth = first; nth <= last; nth++) {
            if (!fault_is_ours(share, &table[f], nth, nth))
                continue;
            const unsigned long failures = faults->failures;
            const int code = run_once(faults, &table[f], nth);
            if (share->all || f % 4 == 0)
                heal(faults, &table[f], nth);
            atomic_fetch_add(&share->tally->runs[f], 1);
            atomic_fetch_add(&share->tally->troubled[f], code >= 2);
            atomic_fetch_add(&share->tally->failed[f], faults->failures > failures);
            runs++;
        }
    }
    heal(faults, &table[0], 0);
    running_verify(&faults->running);
    assert_true(runs > 20 || getenv("PELLETD_FAULTS"));
    assert_int_equal(faults->failures, 0);
}

static int tests(struct fault_share *share)
{
    const struct CMUnitTest list[] = {
        cmocka_unit_test_prestate_setup_teardown(every_call_fails_in_turn, fault_prepare, fault_clean_up,
                                                 share),
    };
    return cmocka_run_group_tests(list, NULL, NULL);
}

int main(void)
{
    return fault_main(1, 2, tests, table, ROWS);
}
