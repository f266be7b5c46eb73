// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Replaces the allocator of a test program, so that its n-th allocation can be made to fail and every leak is
 * counted. Include it in one file of a program only. Where a sanitizer has its own allocator, or there is no
 * glibc, FAILING_MEMORY is 0 and the tests say that they are skipped.
 */
#ifndef PELLET_FAILING_MEMORY_H
#define PELLET_FAILING_MEMORY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdlib.h>

#if defined(__has_feature)
#if __has_feature(address_sanitizer) || __has_feature(thread_sanitizer) || __has_feature(memory_sanitizer)
#define FAILING_MEMORY 0
#endif
#endif
#if !defined(FAILING_MEMORY) && defined(__GLIBC__) && !defined(__SANITIZE_ADDRESS__) &&                      \
    !defined(__SANITIZE_THREAD__)
#define FAILING_MEMORY 1
#elif !defined(FAILING_MEMORY)
#define FAILING_MEMORY 0
#endif

static long memory_until_failure = -1; /* allocations that still succeed; -1: all */
static bool memory_failed;
static long memory_live; /* blocks allocated and not freed */

/* From now on `n` allocations succeed and the next one fails, once. */
static inline void memory_fail_after(long n)
{
    memory_failed = false;
    memory_until_failure = n;
}

/* No more failures. Whether there was one. */
static inline bool memory_stop_failing(void)
{
    memory_until_failure = -1;
    return memory_failed;
}

#if FAILING_MEMORY
void *__libc_malloc(size_t n);
void *__libc_calloc(size_t count, size_t n);
void *__libc_realloc(void *block, size_t n);
void __libc_free(void *block);

static bool memory_is_gone(void)
{
    if (memory_until_failure < 0 || memory_until_failure-- > 0)
        return false;
    memory_failed = true;
    return true;
}

void *malloc(size_t n)
{
    void *block = memory_is_gone() ? NULL : __libc_malloc(n);
    memory_live += block != NULL;
    return block;
}

void *calloc(size_t count, size_t n)
{
    void *block = memory_is_gone() ? NULL : __libc_calloc(count, n);
    memory_live += block != NULL;
    return block;
}

void *realloc(void *old, size_t n)
{
    void *block = memory_is_gone() ? NULL : __libc_realloc(old, n);
    memory_live += block != NULL && old == NULL;
    return block;
}

void free(void *block)
{
    memory_live -= block != NULL;
    __libc_free(block);
}
#endif

#endif
