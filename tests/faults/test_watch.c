// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * `pelletd watch` while system calls and allocations fail: it recovers by itself, or ends with exit code 3
 * and the next start (the service manager's) does the rest. PELLETD_LONG=1: the n-th call for all n that a
 * run makes, of allocations the first through each chain of callers; else a sample.
 */
#include "faults/faults.h"

#define LATE       4 /* of fault_files: it is moved into place while the program runs */
#define PATIENCE_S 20

/* Those with `rest` are given up on: what must hold is that the program ends when it is told to. */
static const struct fault table[] = {
    {"openat2", EIO, false},
    {"openat2", EMFILE, false},
    {"openat2", ENOMEM, false},
    {"openat2", EINTR, false},
    {"openat2", EMFILE, true},
    {"openat", EIO, false},
    {"openat", ENOSPC, false},
    {"openat", EMFILE, true},
    {"read", EIO, false},
    {"read", EINTR, false},
    {"read", 0, true},
    {"write", ENOSPC, false},
    {"write", EIO, false},
    {"write", ENOSPC, true},
    {"write", 0, true},
    {"close", EIO, false},
    {"fstat", EIO, false},
    {"fstatat", EIO, false},
    {"stat", EIO, false},
    {"fstatfs", EIO, false},
    {"fdopendir", ENOMEM, false},
    {"readdir", EIO, false},
    {"renameat", EIO, false},
    {"renameat", ENOSPC, false},
    {"mkdirat", ENOSPC, false},
    {"unlinkat", EIO, true},
    {"syncfs", EIO, true},
    {"fcntl", ENOLCK, false},
    {"getrandom", EINTR, false},
    {"inotify_init1", EMFILE, false},
    {"inotify_add_watch", ENOSPC, false},
    {"poll", EINTR, false},
    {"poll", ENOMEM, false},
    {"eventfd", EMFILE, false},
    {"eventfd_write", EAGAIN, false},
    {"eventfd_read", EAGAIN, false},
    {"signalfd", EMFILE, false},
    {"pthread_create", EAGAIN, false},
    {"fflush", ENOSPC, true},
    {"alloc", ENOMEM, false},
};

static void late_path(const struct faults *faults, char path[PATH_MAX + 40])
{
    snprintf(path, PATH_MAX + 40, "%s/%s", faults->running.around, fault_files[LATE]);
}

/* Start afresh with the late file outside. */
static void begin(struct faults *faults)
{
    char late[PATH_MAX + 40];
    late_path(faults, late);
    fault_clean(&faults->running);
    (void)rename(running_path(&faults->running, fault_files[LATE]), late);
}

/* All verdicts are there and are the undisturbed ones: some are given a second time, with what could be read
 * at last. */
static bool all_is_well(const struct faults *faults)
{
    bool well = fault_verdicts(faults) == FAULT_FILES;
    for (size_t i = 0; well && i < FAULT_FILES; i++) {
        char *difference = fault_difference(faults, i);
        well = !difference;
        free(difference);
    }
    return well;
}

/* Until all is judged, the program ended, or `seconds` are over. True: it ended. */
static bool wait_for_verdicts(const struct faults *faults, pid_t pid, int seconds, int *code)
{
    char late[PATH_MAX + 40];
    int status = 0;
    late_path(faults, late);
    for (int waited_ms = 0; waited_ms < seconds * 1000; waited_ms += 50) {
        if (waitpid(pid, &status, WNOHANG) == pid) {
            *code = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
            return true;
        }
        running_sleep(50);
        const size_t n = fault_verdicts(faults); /* what it says may be what fails to be written */
        if (n == FAULT_FILES - 1)
            (void)rename(late, running_path(&faults->running, fault_files[LATE]));
        if (n == FAULT_FILES && all_is_well(faults))
            return false;
    }
    return false;
}

/* One run until all is done or given up; the exit code, or -1 where it crashed or hung. */
static int watch_once(struct faults *faults, const struct fault *fault, unsigned long nth, int seconds)
{
    char *arguments[] = {(char *)PELLETD_PROGRAM, "watch", "--jobs", "1", "--rescan", "1",
                         faults->running.folder,  NULL};
    int code = 0;
    const pid_t pid = fault_spawn(&faults->running, fault, nth, arguments);
    if (wait_for_verdicts(faults, pid, seconds, &code))
        return code;
    kill(pid, SIGTERM);
    return fault_wait(pid);
}

#define ROWS (sizeof table / sizeof table[0])

static const struct fault none = {"", 0, false};

/* `chain`: of callers, the one that is meant; 0 for any. */
static void run_once(struct faults *faults, const struct fault *fault, unsigned long nth, unsigned long chain)
{
    struct fault_tally *tally = faults->share->tally;
    begin(faults);
    const int code = watch_once(faults, fault, nth, fault->rest ? 2 : PATIENCE_S);
    if (code != 0 && code != 3)
        fault_fail(faults, fault, nth, "it hung, crashed or gave up for ever (%d)", code);
    if (code == 0 && !fault->rest && fault_verdicts(faults) != FAULT_FILES)
        fault_fail(faults, fault, nth, "it did not recover: %zu of %d verdicts", fault_verdicts(faults),
                   FAULT_FILES);
    fault_expect_true(faults, fault, nth);
    const struct fault_counts counts = fault_counts_read(&faults->running);
    atomic_fetch_add(&tally->missed, chain != 0 && fault_struck(&counts) != chain);
    if (fault_verdicts(faults) != FAULT_FILES && watch_once(faults, &none, 0, PATIENCE_S) != 0)
        fault_fail(faults, fault, nth, "the start after it failed");
    fault_expect_full(faults, fault, nth);
    atomic_fetch_add(&tally->runs[fault - table], 1);
    atomic_fetch_add(&tally->troubled[fault - table], code == 3);
}

static void all_of_a_row(struct faults *faults, const struct fault *fault, unsigned long calls)
{
    if (strcmp(fault->call, "alloc") == 0) {
        for (size_t i = 0; i < faults->chains; i++) {
            if (fault_is_ours(faults))
                run_once(faults, fault, faults->chain[i].first, faults->chain[i].hash);
        }
        return;
    }
    for (unsigned long nth = 1; nth <= calls; nth++) {
        if (fault_is_ours(faults))
            run_once(faults, fault, nth, 0);
    }
}

static void every_call_fails_in_turn(void **state)
{
    static const struct fault listed = {"alloc", 0, false};
    struct faults *faults = *state;
    begin(faults);
    assert_int_equal(watch_once(faults, &listed, 0, PATIENCE_S), 0);
    assert_int_equal(fault_verdicts(faults), FAULT_FILES);
    const struct fault_counts counts = fault_counts_read(&faults->running);
    fault_read_chains(faults);
    for (size_t f = 0; f < ROWS; f++) {
        const unsigned long calls = (unsigned long)fault_count(&counts, table[f].call);
        if (faults->share->all)
            all_of_a_row(faults, &table[f], calls);
        else if (f % 3 == 1 && calls > 0 && fault_is_ours(faults)) /* the sample */
            run_once(faults, &table[f], 1 + 11 * f % calls, 0);
    }
    running_verify(&faults->running);
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

/* Most of the time goes with waiting. */
int main(void)
{
    struct fault_share share = fault_share_of(getenv("PELLETD_LONG") ? 8 : 4);
    const int failed = fault_in_parts(&share, tests);
    fault_print(&share, table, ROWS);
    return failed;
}
