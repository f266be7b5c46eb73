// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * `pelletd judge` while allocations fail, each in turn: it ends by itself, says so with
 * its exit code, writes no wrong verdict, and the next run finds everything in order. PELLETD_LONG=1: every
 * allocation of a run, else a sample.
 */
#include "faults/faults.h"

static void expect_nothing_wrong(struct faults *faults, const struct fault *fault, unsigned long nth)
{
    const int code = fault_judge(&faults->running, fault, nth);
    if (code < 0 || code > 3)
        fault_fail(faults, fault, nth, "it hung or crashed");
    fault_expect_true(faults, fault, nth);
    if (code < 2 && (code != faults->code || fault_verdicts(faults) != FAULT_FILES))
        fault_fail(faults, fault, nth, "exit code %d, but %zu of %d verdicts", code, fault_verdicts(faults),
                   FAULT_FILES);
    const struct fault_counts counts = fault_counts_read(&faults->running);
    if (fault_count(&counts, "leaky") > 0) /* within GSL: preload.c names the functions */
        faults->leaky++;
    else if (fault_count(&counts, "live") > fault_count(&faults->counts, "live"))
        fault_fail(faults, fault, nth, "%ld blocks are left at the end, undisturbed %ld",
                   fault_count(&counts, "live"), fault_count(&faults->counts, "live"));
    faults->runs++;
    faults->troubled += code >= 2;
}

/* A sample in the short form, by steps that have no factor in common with what repeats in the program. */
static void every_allocation_fails_in_turn(void **state)
{
    static const struct fault once = {"alloc", ENOMEM, false};
    static const struct fault none = {"", 0, false};
    struct faults *faults = *state;
    const unsigned long calls = (unsigned long)fault_count(&faults->counts, "alloc");
    const unsigned long step = getenv("PELLETD_LONG") ? 1 : calls / 60 + 1;
    for (unsigned long nth = 1; nth <= calls; nth += step) {
        fault_clean(&faults->running);
        expect_nothing_wrong(faults, &once, nth);
        if (nth % 16 == 1) {
            assert_int_equal(fault_judge(&faults->running, &none, 0), faults->code);
            fault_expect_full(faults, &once, nth);
        }
    }
    printf("%lu of %lu allocations failed, %lu of them told as trouble, %lu within leaks of GSL\n",
           faults->runs, calls, faults->troubled, faults->leaky);
    assert_true(faults->runs > 0); /* else the library was not loaded */
    assert_int_equal(faults->failures, 0);
}

/* All memory gone from some moment on. */
static void no_memory_from_then_on(void **state)
{
    static const struct fault all = {"alloc", ENOMEM, true};
    static const struct fault none = {"", 0, false};
    struct faults *faults = *state;
    const unsigned long calls = (unsigned long)fault_count(&faults->counts, "alloc");
    for (unsigned long nth = 1; nth <= calls; nth += calls / 25 + 1) {
        fault_clean(&faults->running);
        expect_nothing_wrong(faults, &all, nth);
    }
    assert_int_equal(fault_judge(&faults->running, &none, 0), faults->code);
    fault_expect_full(faults, &all, 0);
    assert_int_equal(faults->failures, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(every_allocation_fails_in_turn, fault_prepare, fault_clean_up),
        cmocka_unit_test_setup_teardown(no_memory_from_then_on, fault_prepare, fault_clean_up),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
