// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The faults are shared out among processes, each with a session of its own; what they count they count
 * together. PELLETD_LONG=1 asks for all of them, PELLETD_FAULTS for some: names of calls with commas between,
 * each perhaps with numbers of calls ("read,fstat:28..36").
 */
#ifndef PELLET_TESTS_SHARING_H
#define PELLET_TESTS_SHARING_H

#include "testing.h"

#include <stdatomic.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/wait.h>

#define FAULTS_ROWS 64

struct fault {
    const char *call;
    int sys_errno; /* 0: one byte at a time */
    bool rest;     /* every call from the n-th on */
};

/* By row of the table of faults. */
struct fault_tally {
    atomic_ulong runs[FAULTS_ROWS];
    atomic_ulong troubled[FAULTS_ROWS]; /* told with exit code 3 */
    atomic_ulong failed[FAULTS_ROWS];   /* something did not hold */
    atomic_ulong leaky;                 /* those that struck within a leak of GSL */
    atomic_ulong missed;                /* the chain that was to fail had another number in that run */
};

/* What one of the processes does: each fault whose turn it is. */
struct fault_share {
    unsigned part, parts;
    bool all; /* the long form */
    struct fault_tally *tally;
};

/* Whether PELLETD_FAULTS, where it is set, names this call. */
static inline bool fault_is_wanted(const char *call, unsigned long nth)
{
    const char *item = getenv("PELLETD_FAULTS");
    if (!item)
        return true;
    for (; *item; item += strcspn(item, ","), item += *item == ',') {
        const size_t n = strcspn(item, ":,");
        char *end = NULL;
        if (n != strlen(call) || strncmp(item, call, n) != 0)
            continue;
        if (item[n] != ':')
            return true;
        const unsigned long first = strtoul(item + n + 1, &end, 10);
        const unsigned long last = strncmp(end, "..", 2) == 0 ? strtoul(end + 2, NULL, 10) : first;
        if (nth >= first && nth <= last)
            return true;
    }
    return false;
}

/* Whether the n-th fault of a row is ours: by its number, since how often something is called may differ a
 * little from process to process. */
static inline bool fault_is_ours(const struct fault_share *share, const struct fault *fault, unsigned long n,
                                 unsigned long nth)
{
    return n % share->parts == share->part && fault_is_wanted(fault->call, nth);
}

static inline void fault_print(const struct fault_share *share, const struct fault *table, size_t n)
{
    unsigned long all = 0;
    for (size_t f = 0; f < n; f++) {
        const unsigned long runs = atomic_load(&share->tally->runs[f]);
        all += runs;
        if (runs > 0)
            printf("%-18s %-7s %-4s %5lu times, %5lu told as trouble, %4lu wrong\n", table[f].call,
                   table[f].sys_errno ? strerrorname_np(table[f].sys_errno) : "short",
                   table[f].rest ? "all" : "once", runs, atomic_load(&share->tally->troubled[f]),
                   atomic_load(&share->tally->failed[f]));
    }
    printf("%lu faults; %lu struck within leaks of GSL, %lu missed the chain they were meant for\n", all,
           atomic_load(&share->tally->leaky), atomic_load(&share->tally->missed));
}

/* Run the tests in so many processes and print the table: what main returns. */
static inline int fault_main(unsigned parts, unsigned parts_long, int (*tests)(struct fault_share *),
                             const struct fault *table, size_t n)
{
    struct fault_tally *tally =
        mmap(NULL, sizeof *tally, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);
    struct fault_share share = {.all = getenv("PELLETD_LONG") != NULL, .tally = tally};
    int failed = tally == MAP_FAILED;
    int status = 0;
    share.parts = share.all ? parts_long : parts;
    fflush(stdout);
    for (; !failed && share.part < share.parts; share.part++) {
        const pid_t pid = fork();
        if (pid == 0)
            exit(tests(&share));
        failed = pid < 0;
    }
    while (wait(&status) > 0)
        failed += !WIFEXITED(status) || WEXITSTATUS(status) != 0;
    if (tally != MAP_FAILED)
        fault_print(&share, table, n);
    return failed;
}

#endif
