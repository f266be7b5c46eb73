// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * `pelletd watch` while system calls and allocations fail: it recovers by itself, or ends with exit code 3
 * and the next start (the service manager's) does the rest. Once where everything is new, once where all but
 * the last spectrum was judged before the start. PELLETD_LONG=1: the n-th call for all n that a run makes, of
 * allocations the first through each chain of callers; else a sample.
 */
#include "faults/faults.h"

#define LATE       4 /* of fault_files: it is moved into place while the program runs */
#define PATIENCE_S 20
#define LISTING_S  120  /* with every chain of callers looked up */
#define GIVE_UP_S  1    /* where no recovery is expected */
#define READY_MS   1000 /* until the late file comes all the same: what is said may be what fails */

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
    {"alloc", ENOMEM, false},
};

static void late_path(const struct faults *faults, char path[PATH_MAX + 40])
{
    snprintf(path, PATH_MAX + 40, "%s/%s", faults->running.around, fault_files[LATE]);
}

/* Start afresh with the late file outside. */
static void begin(const struct faults *faults)
{
    char late[PATH_MAX + 40];
    late_path(faults, late);
    fault_clean(&faults->running);
    (void)rename(running_path(&faults->running, fault_files[LATE]), late);
}

/* As after a stop: the others have their verdicts. */
static void begin_again(const struct faults *faults)
{
    char late[PATH_MAX + 40];
    char verdict[100];
    late_path(faults, late);
    snprintf(verdict, sizeof verdict, "%s.verdict.yaml", fault_files[LATE]);
    unlink(running_path(&faults->running, verdict));
    (void)rename(running_path(&faults->running, fault_files[LATE]), late);
}

/* How many files have a verdict of whatever content. */
static size_t verdict_files(const struct faults *faults)
{
    size_t n = 0;
    for (size_t i = 0; i < FAULT_FILES; i++) {
        char name[100];
        snprintf(name, sizeof name, "%s.verdict.yaml", fault_files[i]);
        n += running_there(&faults->running, name);
    }
    return n;
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
    for (int waited_ms = 0; waited_ms < seconds * 1000; waited_ms += 20) {
        if (waitpid(pid, &status, WNOHANG) == pid) {
            *code = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
            return true;
        }
        running_sleep(20);
        const size_t n = verdict_files(faults);
        if (n == FAULT_FILES - 1 && (waited_ms >= READY_MS || running_said(&faults->running, "ready:")))
            (void)rename(late, running_path(&faults->running, fault_files[LATE]));
        if (n == FAULT_FILES && all_is_well(faults))
            return false;
    }
    return false;
}

/* One run until all is done or given up; the exit code, or -1 where it crashed or hung. */
static int watch_once(struct faults *faults, const struct fault *fault, unsigned long nth,
                      const struct fault_chain *chain, int seconds)
{
    char config[PATH_MAX + 20];
    char *arguments[] = {
        (char *)PELLETD_PROGRAM, "watch", "--jobs", "1", "--rescan", "1", "--config", config, NULL};
    int code = 0;
    snprintf(config, sizeof config, "%s/pelletd.yaml", faults->running.around);
    const pid_t pid = fault_spawn(&faults->running, fault, nth, chain, arguments);
    if (wait_for_verdicts(faults, pid, seconds, &code))
        return code;
    kill(pid, SIGTERM);
    return fault_wait(pid);
}

#define ROWS (sizeof table / sizeof table[0])

static const struct fault none = {"", 0, false};

/* Of a state of the folder that is to be found at the start. */
struct start {
    void (*begin)(const struct faults *faults);
    struct fault_counts counts; /* of the undisturbed run */
};

/* `chain`: of callers, the one whose n-th call fails; NULL for any. */
static void run_once(struct faults *faults, const struct start *start, const struct fault *fault,
                     unsigned long nth, const struct fault_chain *chain)
{
    struct fault_tally *tally = faults->share->tally;
    const unsigned long failures = faults->failures;
    const unsigned long call = chain ? chain->first : nth;
    start->begin(faults);
    const int code = watch_once(faults, fault, nth, chain, fault->rest ? GIVE_UP_S : PATIENCE_S);
    if (code != 0 && code != 3)
        fault_fail(faults, fault, call, "it hung, crashed or gave up for ever (%d)", code);
    if (code == 0 && !fault->rest && fault_verdicts(faults) != FAULT_FILES)
        fault_fail(faults, fault, call, "it did not recover: %zu of %d verdicts", fault_verdicts(faults),
                   FAULT_FILES);
    fault_expect_true(faults, fault, call);
    const struct fault_counts counts = fault_counts_read(&faults->running);
    atomic_fetch_add(&tally->missed, chain && fault_struck(&counts) != chain->hash);
    if (fault_verdicts(faults) != FAULT_FILES && watch_once(faults, &none, 0, NULL, PATIENCE_S) != 0)
        fault_fail(faults, fault, call, "the start after it failed");
    fault_expect_full(faults, fault, call);
    atomic_fetch_add(&tally->runs[fault - table], 1);
    atomic_fetch_add(&tally->troubled[fault - table], code == 3);
    atomic_fetch_add(&tally->failed[fault - table], faults->failures > failures);
}

static void all_of_a_row(struct faults *faults, const struct start *start, const struct fault *fault)
{
    const unsigned long calls = (unsigned long)fault_count(&start->counts, fault->call);
    if (strcmp(fault->call, "alloc") == 0) {
        for (size_t i = 0; i < faults->chains; i++) {
            const struct fault_chain *chain = &faults->chain[i];
            if (fault_is_ours(faults->share, fault, chain->hash >> 8, chain->first))
                run_once(faults, start, fault, 1, chain);
        }
        return;
    }
    for (unsigned long nth = 1; nth <= calls; nth++) {
        if (fault_is_ours(faults->share, fault, nth, nth))
            run_once(faults, start, fault, nth, NULL);
    }
}

/* One call of every third row. */
static void sample_of_a_row(struct faults *faults, const struct start *start, size_t row)
{
    const unsigned long calls = (unsigned long)fault_count(&start->counts, table[row].call);
    if (row % 3 != 1 || calls == 0)
        return;
    const unsigned long nth = 1 + 11 * row % calls;
    if (fault_is_ours(faults->share, &table[row], row / 3, nth))
        run_once(faults, start, &table[row], nth, NULL);
}

static void every_call_fails_in_turn(struct faults *faults, void (*how)(const struct faults *faults))
{
    static const struct fault listed = {"alloc", 0, false};
    struct start start = {.begin = how};
    running_configure(&faults->running, "settle: 0.1 s");
    how(faults);
    assert_int_equal(watch_once(faults, &listed, 0, NULL, LISTING_S), 0);
    assert_int_equal(fault_verdicts(faults), FAULT_FILES);
    start.counts = fault_counts_read(&faults->running);
    fault_read_chains(faults);
    for (size_t f = 0; f < ROWS; f++) {
        if (faults->share->all)
            all_of_a_row(faults, &start, &table[f]);
        else
            sample_of_a_row(faults, &start, f);
    }
    running_verify(&faults->running);
    assert_int_equal(faults->failures, 0);
}

static void everything_is_new(void **state)
{
    every_call_fails_in_turn(*state, begin);
}

static void all_but_one_is_known(void **state)
{
    every_call_fails_in_turn(*state, begin_again);
}

/* Looking through the folder takes so long that ten times as much is more than a verdict waits for anything.
 * The worksheet, which could not be opened at first, is known all the same before the late file is judged. */
static void a_slow_folder(void **state)
{
    struct faults *faults = *state;
    const struct start start = {.begin = begin_again};
    running_configure(&faults->running, "settle: 0.1 s");
    setenv("FAULTS_SLOW", "600", 1);
    setenv("FAULTS_PATH", "worksheet.csv", 1);
    for (unsigned long nth = 1; nth <= 2; nth++) {
        if (fault_is_ours(faults->share, &table[0], nth, nth))
            run_once(faults, &start, &table[0], nth, NULL);
    }
    unsetenv("FAULTS_SLOW");
    unsetenv("FAULTS_PATH");
    assert_int_equal(faults->failures, 0);
}

static int tests(struct fault_share *share)
{
    const struct CMUnitTest list[] = {
        cmocka_unit_test_prestate_setup_teardown(everything_is_new, fault_prepare, fault_clean_up, share),
        cmocka_unit_test_prestate_setup_teardown(all_but_one_is_known, fault_prepare, fault_clean_up, share),
        cmocka_unit_test_prestate_setup_teardown(a_slow_folder, fault_prepare, fault_clean_up, share),
    };
    return cmocka_run_group_tests(list, NULL, NULL);
}

/* Most of the time goes with waiting. */
int main(void)
{
    return fault_main(4, 8, tests, table, ROWS);
}
