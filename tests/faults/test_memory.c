// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * `pelletd judge` while allocations fail, each in turn: it ends by itself, says so with its exit code, writes
 * no wrong verdict, loses no memory, and the next run finds everything in order.
 *
 * A run makes some sixteen thousand allocations, but through some nine hundred chains of callers only.
 * PELLETD_LONG=1: the first and the last call of every chain; else a sample.
 */
#include "faults/faults.h"

static const struct fault table[] = {{"alloc", ENOMEM, false}, {"alloc", ENOMEM, true}};
static const struct fault *const once = &table[0];
static const struct fault *const for_good = &table[1];

static const struct fault none = {"", 0, false};

static void expect_no_loss(struct faults *faults, const struct fault *fault, unsigned long nth,
                           const struct fault_counts *counts)
{
    if (fault_count(counts, "leaky") > 0) /* within GSL: preload.c names the functions */
        atomic_fetch_add(&faults->share->tally->leaky, 1);
    else if (fault_count(counts, "live") > fault_count(&faults->counts, "live"))
        fault_fail(faults, fault, nth, "%ld blocks are left at the end, undisturbed %ld",
                   fault_count(counts, "live"), fault_count(&faults->counts, "live"));
}

/* `chain`: the one that is meant, 0 for any. */
static void run_once(struct faults *faults, const struct fault *fault, unsigned long nth, unsigned long chain)
{
    struct fault_tally *tally = faults->share->tally;
    const unsigned long failures = faults->failures;
    fault_clean(&faults->running);
    const int code = fault_judge(&faults->running, fault, nth);
    if (code < 0 || code > 3)
        fault_fail(faults, fault, nth, "it hung or crashed");
    fault_expect_true(faults, fault, nth);
    if (code < 2 && (code != faults->code || fault_verdicts(faults) != FAULT_FILES))
        fault_fail(faults, fault, nth, "exit code %d, but %zu of %d verdicts", code, fault_verdicts(faults),
                   FAULT_FILES);
    const struct fault_counts counts = fault_counts_read(&faults->running);
    expect_no_loss(faults, fault, nth, &counts);
    atomic_fetch_add(&tally->missed, chain != 0 && fault_struck(&counts) != chain);
    atomic_fetch_add(&tally->runs[fault - table], 1);
    atomic_fetch_add(&tally->troubled[fault - table], code >= 2);
    atomic_fetch_add(&tally->failed[fault - table], faults->failures > failures);
}

static void heal(struct faults *faults, const struct fault *fault, unsigned long nth)
{
    if (fault_judge(&faults->running, &none, 0) != faults->code)
        fault_fail(faults, fault, nth, "the run after it did not end well");
    fault_expect_full(faults, fault, nth);
}

static void every_allocation_fails_in_turn(void **state)
{
    struct faults *faults = *state;
    const bool all = faults->share->all;
    fault_clean(&faults->running);
    assert_int_equal(fault_judge(&faults->running, once, 0), faults->code);
    fault_read_chains(faults);
    assert_true(faults->chains > 100); /* else the library was not loaded */
    const size_t step = all ? 1 : faults->chains / 20 + 1;
    for (size_t i = 0; i < faults->chains; i += step) {
        const struct fault_chain *chain = &faults->chain[i];
        if (!fault_is_ours(faults->share, once, all ? chain->hash >> 8 : i / step, chain->first))
            continue;
        run_once(faults, once, chain->first, chain->hash);
        if (all && chain->last != chain->first)
            run_once(faults, once, chain->last, chain->hash);
        if (i % 8 == 0)
            heal(faults, once, chain->first);
    }
    if (faults->share->part == 0)
        printf("%ld allocations through %zu chains of callers\n", fault_count(&faults->counts, "alloc"),
               faults->chains);
    assert_int_equal(faults->failures, 0);
}

/* All memory gone from some moment on. */
static void no_memory_from_then_on(void **state)
{
    struct faults *faults = *state;
    const unsigned long calls = (unsigned long)fault_count(&faults->counts, "alloc");
    const unsigned long step = calls / (faults->share->all ? 200 : 8) + 1;
    for (unsigned long nth = 1; nth <= calls; nth += step) {
        if (fault_is_ours(faults->share, for_good, nth / step, nth))
            run_once(faults, for_good, nth, 0);
    }
    heal(faults, for_good, 0);
    assert_int_equal(faults->failures, 0);
}

static int tests(struct fault_share *share)
{
    const struct CMUnitTest list[] = {
        cmocka_unit_test_prestate_setup_teardown(every_allocation_fails_in_turn, fault_prepare_strong,
                                                 fault_clean_up, share),
        cmocka_unit_test_prestate_setup_teardown(no_memory_from_then_on, fault_prepare, fault_clean_up,
                                                 share),
    };
    return cmocka_run_group_tests(list, NULL, NULL);
}

int main(void)
{
    return fault_main(1, 2, tests, table, sizeof table / sizeof table[0]);
}
