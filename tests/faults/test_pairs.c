// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Two calls fail in one run, of any two functions and anywhere, while three threads are at work, with output
 * elsewhere and a sub-folder: `pelletd judge`, and `pelletd watch` with all of it new. PELLETD_LONG=1: some
 * thousands of pairs instead of some dozens; PELLETD_SEED: others.
 */
#define FAULTS_BELOW "day/"
#include "faults/faults.h"

#include <gsl/gsl_rng.h>

#define PATIENCE_S 45 /* a doubt takes ten seconds, and there may be two */

/* Each once: what fails for good is a fault alone. */
static const struct fault table[] = {
    {"openat2", EIO, false},
    {"openat2", EMFILE, false},
    {"openat2", EINTR, false},
    {"openat", EIO, false},
    {"openat", ENOSPC, false},
    {"read", EIO, false},
    {"read", 0, false},
    {"write", ENOSPC, false},
    {"write", EIO, false},
    {"write", 0, false},
    {"close", EIO, false},
    {"fstat", EIO, false},
    {"fstatat", EIO, false},
    {"fdopendir", ENOMEM, false},
    {"readdir", EIO, false},
    {"renameat", EIO, false},
    {"renameat", ENOSPC, false},
    {"mkdirat", ENOSPC, false},
    {"unlinkat", EIO, false},
    {"syncfs", EIO, false},
    {"getrandom", EINTR, false},
    {"eventfd_write", EAGAIN, false},
    {"eventfd_read", EAGAIN, false},
    {"poll", EINTR, false},
    {"alloc", ENOMEM, false},
    {"alloc", ENOMEM, false}, /* twice as often: it makes most of the calls */
};

#define ROWS (sizeof table / sizeof table[0])

static const struct fault none = {"", 0, false};

/* A fault and another, each with the number of its call. */
struct pair {
    const struct fault *fault;
    unsigned long nth, also_nth;
    char also[64]; /* as preload.c wants it */
};

static void export_path(const struct running *running, const char *name, char path[PATH_MAX + 80])
{
    snprintf(path, PATH_MAX + 80, "%s/export/%s", running->around, name);
}

/* The spectra also lie in a folder that is only read; verdicts go to the other one. */
static int pairs_prepare(void **state)
{
    struct faults *faults = fault_make_session(state, 0.1);
    struct running *running = &faults->running;
    char path[PATH_MAX + 80];
    char keys[PATH_MAX + 100];
    export_path(running, "", path);
    assert_int_equal(mkdir(path, 0777), 0);
    export_path(running, FAULTS_BELOW, path);
    assert_int_equal(mkdir(path, 0777), 0);
    for (size_t i = 0; i < FAULT_FILES; i++) {
        export_path(running, fault_files[i], path);
        assert_int_equal(link(running_path(running, fault_files[i]), path), 0);
    }
    export_path(running, "worksheet.csv", path);
    assert_int_equal(rename(running_path(running, "worksheet.csv"), path), 0);
    snprintf(path, sizeof path, "%s/pelletd.yaml", running->around);
    snprintf(keys, sizeof keys,
             "format: 1\nstations:\n  - folder: %s/export\n    output: %s\n    depth: 1\n    settle: 0.1 s\n",
             running->around, running->folder);
    running_write(path, keys, strlen(keys));
    return 0;
}

static pid_t start(const struct running *running, bool watch, const struct fault *fault, unsigned long nth)
{
    char config[PATH_MAX + 20];
    char export[PATH_MAX + 80];
    char *judge_it[] = {(char *)PELLETD_PROGRAM, "judge", "--jobs", "3", "--config", config, export, NULL};
    char *watch_it[] = {
        (char *)PELLETD_PROGRAM, "watch", "--jobs", "3", "--rescan", "1", "--config", config, NULL};
    snprintf(config, sizeof config, "%s/pelletd.yaml", running->around);
    export_path(running, "", export);
    return fault_spawn(running, fault, nth, NULL, watch ? watch_it : judge_it);
}

/* All verdicts, each the undisturbed one. */
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

static int judge_once(const struct faults *faults, const struct fault *fault, unsigned long nth)
{
    return fault_wait(start(&faults->running, false, fault, nth));
}

/* Until all is judged, it ended by itself, or its time is over; its exit code. */
static int watch_once(const struct faults *faults, const struct fault *fault, unsigned long nth)
{
    const pid_t pid = start(&faults->running, true, fault, nth);
    int status = 0;
    for (int waited_ms = 0; waited_ms < PATIENCE_S * 1000 && !all_is_well(faults); waited_ms += 20) {
        if (waitpid(pid, &status, WNOHANG) == pid)
            return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
        running_sleep(20);
    }
    kill(pid, SIGTERM);
    return fault_wait(pid);
}

static struct pair draw(gsl_rng *rng, const struct fault_counts *counts)
{
    struct pair pair = {.fault = &table[gsl_rng_uniform_int(rng, ROWS)]};
    const struct fault *other = &table[gsl_rng_uniform_int(rng, ROWS)];
    const unsigned long calls = (unsigned long)fault_count(counts, pair.fault->call);
    const unsigned long other_calls = (unsigned long)fault_count(counts, other->call);
    pair.nth = 1 + gsl_rng_uniform_int(rng, calls > 0 ? calls : 1);
    pair.also_nth = 1 + gsl_rng_uniform_int(rng, other_calls > 0 ? other_calls : 1);
    snprintf(pair.also, sizeof pair.also, "%s %lu %d", other->call, pair.also_nth, other->sys_errno);
    return pair;
}

static void expect_healed(struct faults *faults, const struct pair *pair)
{
    if (fault_verdicts(faults) != FAULT_FILES && judge_once(faults, &none, 0) != faults->code)
        fault_fail(faults, pair->fault, pair->nth, "and %s: the run after it did not end well", pair->also);
    fault_expect_full(faults, pair->fault, pair->nth);
}

static int judge_with(struct faults *faults, const struct pair *pair)
{
    setenv("FAULTS_ALSO", pair->also, 1);
    const int code = judge_once(faults, pair->fault, pair->nth);
    unsetenv("FAULTS_ALSO");
    /* Before anything was judged, a configuration that could not be read may be blamed. */
    if (code < 0 || code > 3 || (code == 2 && fault_verdicts(faults) > 0))
        fault_fail(faults, pair->fault, pair->nth, "and %s: it hung, crashed or blamed us (%d)", pair->also,
                   code);
    if (code < 2 && (code != faults->code || fault_verdicts(faults) != FAULT_FILES))
        fault_fail(faults, pair->fault, pair->nth, "and %s: exit code %d, but %zu of %d verdicts", pair->also,
                   code, fault_verdicts(faults), FAULT_FILES);
    fault_expect_true(faults, pair->fault, pair->nth);
    return code;
}

static int watch_with(struct faults *faults, const struct pair *pair)
{
    setenv("FAULTS_ALSO", pair->also, 1);
    const int code = watch_once(faults, pair->fault, pair->nth);
    unsetenv("FAULTS_ALSO");
    if (code != 0 && code != 3 && code != 2)
        fault_fail(faults, pair->fault, pair->nth, "and %s: it hung or crashed (%d)", pair->also, code);
    if (code == 0 && !all_is_well(faults))
        fault_fail(faults, pair->fault, pair->nth, "and %s: it did not recover: %zu of %d verdicts",
                   pair->also, fault_verdicts(faults), FAULT_FILES);
    fault_expect_true(faults, pair->fault, pair->nth);
    return code;
}

static void pairs_fail(struct faults *faults, int (*with)(struct faults *faults, const struct pair *pair),
                       unsigned long pairs)
{
    const struct fault_share *share = faults->share;
    const char *seed = getenv("PELLETD_SEED");
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_mt19937);
    assert_non_null(rng);
    gsl_rng_set(rng, (seed ? strtoul(seed, NULL, 10) : 1) * 1000 + share->part);
    for (unsigned long i = 0; i < pairs; i++) {
        const struct pair pair = draw(rng, &faults->counts);
        const unsigned long failures = faults->failures;
        const size_t row = (size_t)(pair.fault - table);
        fault_clean(&faults->running);
        const int code = with(faults, &pair);
        expect_healed(faults, &pair);
        atomic_fetch_add(&share->tally->runs[row], 1);
        atomic_fetch_add(&share->tally->troubled[row], code >= 2);
        atomic_fetch_add(&share->tally->failed[row], faults->failures > failures);
    }
    gsl_rng_free(rng);
    assert_int_equal(faults->failures, 0);
}

static void two_fail_while_it_judges(void **state)
{
    struct faults *faults = *state;
    fault_expect_these(faults, judge_once(faults, &none, 0));
    pairs_fail(faults, judge_with, faults->share->all ? 1000 : 16);
}

static void two_fail_while_it_watches(void **state)
{
    struct faults *faults = *state;
    fault_expect_these(faults, judge_once(faults, &none, 0));
    fault_clean(&faults->running);
    assert_int_equal(watch_once(faults, &none, 0), 0);
    assert_true(all_is_well(faults));
    faults->counts = fault_counts_read(&faults->running);
    pairs_fail(faults, watch_with, faults->share->all ? 150 : 3);
}

static int tests(struct fault_share *share)
{
    const struct CMUnitTest list[] = {
        cmocka_unit_test_prestate_setup_teardown(two_fail_while_it_judges, pairs_prepare, fault_clean_up,
                                                 share),
        cmocka_unit_test_prestate_setup_teardown(two_fail_while_it_watches, pairs_prepare, fault_clean_up,
                                                 share),
    };
    return cmocka_run_group_tests(list, NULL, NULL);
}

int main(void)
{
    return fault_main(2, 4, tests, table, ROWS);
}
