// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Files while the system misbehaves. This program brings its own read, write, close and renameat, which the
 * library is linked to; each does the next thing of a plan and then what the system's does.
 */
#include "core/scratch.h"
#include "pellet/core.h"

#include <errno.h>
#include <sys/syscall.h>

/* What happens around one call; the zero value is "nothing". */
struct plan {
    int fail_errno; /* every call fails so, from call `fail_at` on */
    int fail_at;
    int interruptions;    /* the first so many calls fail with EINTR */
    size_t at_most;       /* bytes that one call moves; 0 is no limit */
    void (*before)(void); /* runs once, ahead of the first call that goes through */
};

static struct {
    struct plan read, write, close, rename;
    int reads, writes, closes, renames;
    const struct scratch *scratch;
} fault;

/* -1 with errno set where the plan has the call fail. */
static int follow(struct plan *plan, int *calls)
{
    if (plan->interruptions > 0) {
        plan->interruptions--;
        errno = EINTR;
        return -1;
    }
    if (plan->before != NULL) {
        void (*before)(void) = plan->before;
        plan->before = NULL;
        before();
    }
    ++*calls;
    if (plan->fail_errno != 0 && *calls > plan->fail_at) {
        errno = plan->fail_errno;
        return -1;
    }
    return 0;
}

static size_t allowed(const struct plan *plan, size_t n)
{
    return plan->at_most > 0 && plan->at_most < n ? plan->at_most : n;
}

ssize_t read(int descriptor, void *to, size_t n)
{
    return follow(&fault.read, &fault.reads) != 0
               ? -1
               : syscall(SYS_read, descriptor, to, allowed(&fault.read, n));
}

ssize_t write(int descriptor, const void *from, size_t n)
{
    return follow(&fault.write, &fault.writes) != 0
               ? -1
               : syscall(SYS_write, descriptor, from, allowed(&fault.write, n));
}

/* As on Linux: the descriptor is gone whatever close says. */
int close(int descriptor)
{
    const int closed = (int)syscall(SYS_close, descriptor);
    return follow(&fault.close, &fault.closes) != 0 ? -1 : closed;
}

int renameat(int from, const char *old, int to, const char *new)
{
    return follow(&fault.rename, &fault.renames) != 0 ? -1
                                                      : (int)syscall(SYS_renameat2, from, old, to, new, 0);
}

static void faults_clear(const struct scratch *scratch)
{
    memset(&fault, 0, sizeof fault);
    fault.scratch = scratch;
}

/* ------------------------------------------------------------------ reading */

static pellet_status read_with(const struct scratch *scratch, struct plan plan, struct pellet_bytes *bytes,
                               struct pellet_error *error)
{
    faults_clear(scratch);
    fault.read = plan;
    const pellet_status status = pellet_read_file(scratch->folder, "spectrum", 1000, bytes, NULL, error);
    faults_clear(scratch);
    return status;
}

static void interrupted_and_short_reads_are_continued(void **state)
{
    scratch_put(*state, "spectrum", "0123456789", 10);
    struct pellet_bytes bytes = {0};
    assert_int_equal(read_with(*state, (struct plan){.interruptions = 3, .at_most = 3}, &bytes, NULL),
                     PELLET_OK);
    assert_int_equal(bytes.n, 10);
    assert_string_equal(bytes.data, "0123456789");
    pellet_bytes_free(&bytes);
}

static void a_failing_read_is_reported(void **state)
{
    scratch_put(*state, "spectrum", "0123456789", 10);
    static const struct {
        int sys_errno;
        pellet_status status;
    } cases[] = {
        {EIO, PELLET_E_IO}, {ESTALE, PELLET_E_CHANGED}, {EAGAIN, PELLET_E_BUSY}, {EACCES, PELLET_E_DENIED}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct pellet_bytes bytes = {0};
        struct pellet_error error = {0};
        const struct plan plan = {.fail_errno = cases[i].sys_errno, .fail_at = 1, .at_most = 4};
        assert_int_equal(read_with(*state, plan, &bytes, &error), cases[i].status);
        assert_null(bytes.data);
        assert_int_equal(error.sys_errno, cases[i].sys_errno);
    }
}

static void grow(void)
{
    const int file = openat(fault.scratch->folder, "spectrum", O_WRONLY | O_APPEND | O_CLOEXEC);
    syscall(SYS_write, file, "more", 4);
    syscall(SYS_close, file);
}

static void shrink(void)
{
    const int file = openat(fault.scratch->folder, "spectrum", O_WRONLY | O_CLOEXEC);
    if (ftruncate(file, 5) != 0)
        abort();
    syscall(SYS_close, file);
}

static void overwrite(void)
{
    const int file = openat(fault.scratch->folder, "spectrum", O_WRONLY | O_CLOEXEC);
    syscall(SYS_write, file, "abcdefghij", 10); /* as long as before */
    const struct timespec times[2] = {{.tv_nsec = UTIME_OMIT}, {.tv_sec = 1000}};
    futimens(file, times); /* a clock too coarse to move between two writes shall not decide the test */
    syscall(SYS_close, file);
}

static void replace(void)
{
    const int file = openat(fault.scratch->folder, "other", O_WRONLY | O_CREAT | O_CLOEXEC, 0644);
    struct stat stat;
    syscall(SYS_write, file, "abcdefghij", 10);
    fstatat(fault.scratch->folder, "spectrum", &stat, 0);
    const struct timespec times[2] = {stat.st_atim, stat.st_mtim}; /* only the inode tells them apart */
    futimens(file, times);
    syscall(SYS_close, file);
    syscall(SYS_renameat2, fault.scratch->folder, "other", fault.scratch->folder, "spectrum", 0);
}

static void vanish(void)
{
    unlinkat(fault.scratch->folder, "spectrum", 0);
}

static void become_a_link(void)
{
    syscall(SYS_renameat2, fault.scratch->folder, "spectrum", fault.scratch->folder, "moved", 0);
    if (symlinkat("moved", fault.scratch->folder, "spectrum") != 0)
        abort();
}

static void a_file_that_changes_is_not_taken(void **state)
{
    static void (*const changes[])(void) = {grow, shrink, overwrite, replace, vanish, become_a_link};
    for (size_t i = 0; i < sizeof changes / sizeof *changes; i++) {
        unlinkat(((struct scratch *)*state)->folder, "spectrum", 0);
        scratch_put(*state, "spectrum", "0123456789", 10);
        struct pellet_bytes bytes = {0};
        struct pellet_error error = {0};
        const int before = scratch_descriptors();
        const pellet_status status = read_with(*state, (struct plan){.before = changes[i]}, &bytes, &error);
        if (status != PELLET_E_CHANGED)
            fail_msg("change %zu gave %s", i, pellet_status_id(status));
        assert_null(bytes.data);
        assert_int_equal(error.status, PELLET_E_CHANGED);
        assert_string_equal(error.file, "spectrum");
        assert_int_equal(scratch_descriptors(), before);
    }
}

static void make_a_second_name(void)
{
    if (linkat(fault.scratch->folder, "spectrum", fault.scratch->folder, "backup", 0) != 0)
        abort();
    if (fchmodat(fault.scratch->folder, "spectrum", 0600, 0) != 0)
        abort();
}

/* A backup program touches the inode and not the content. */
static void a_second_name_is_no_change(void **state)
{
    scratch_put(*state, "spectrum", "0123456789", 10);
    struct pellet_bytes bytes = {0};
    assert_int_equal(read_with(*state, (struct plan){.before = make_a_second_name}, &bytes, NULL), PELLET_OK);
    assert_string_equal(bytes.data, "0123456789");
    pellet_bytes_free(&bytes);
}

/* ------------------------------------------------------------------ writing */

static void interrupted_and_short_writes_are_continued(void **state)
{
    const struct scratch *scratch = *state;
    faults_clear(scratch);
    fault.write = (struct plan){.interruptions = 2, .at_most = 3};
    fault.close = (struct plan){.interruptions = 1};
    const pellet_status status = pellet_write_atomic(scratch->folder, "verdict", "0123456789", 10, NULL);
    const int writes = fault.writes;
    faults_clear(scratch);
    assert_int_equal(status, PELLET_OK);
    assert_int_equal(writes, 4);
    scratch_check(scratch, "verdict", "0123456789");
    assert_int_equal(scratch_count(scratch, "."), 1);
}

/* Each step fails in turn: the old file stays, the temporary goes, the cause is named. */
static void every_failure_leaves_the_old_file(void **state)
{
    const struct scratch *scratch = *state;
    static const struct {
        struct plan write, close, rename;
        int sys_errno;
        pellet_status status;
    } cases[] = {
        {.write = {.fail_errno = ENOSPC}, .sys_errno = ENOSPC, .status = PELLET_E_SPACE},
        {.write = {.fail_errno = EDQUOT, .fail_at = 1, .at_most = 4},
         .sys_errno = EDQUOT,
         .status = PELLET_E_SPACE},
        {.write = {.fail_errno = EIO, .fail_at = 2, .at_most = 4}, .sys_errno = EIO, .status = PELLET_E_IO},
        {.close = {.fail_errno = ENOSPC}, .sys_errno = ENOSPC, .status = PELLET_E_SPACE},
        {.close = {.fail_errno = EIO}, .sys_errno = EIO, .status = PELLET_E_IO},
        {.rename = {.fail_errno = EROFS}, .sys_errno = EROFS, .status = PELLET_E_SPACE},
        {.rename = {.fail_errno = EACCES}, .sys_errno = EACCES, .status = PELLET_E_DENIED},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        faults_clear(scratch);
        scratch_put(scratch, "verdict", "old", 3);
        const int before = scratch_descriptors();
        struct pellet_error error = {0};
        faults_clear(scratch);
        fault.write = cases[i].write;
        fault.close = cases[i].close;
        fault.rename = cases[i].rename;
        const pellet_status status =
            pellet_write_atomic(scratch->folder, "verdict", "0123456789", 10, &error);
        faults_clear(scratch);
        assert_int_equal(status, cases[i].status);
        assert_int_equal(error.status, cases[i].status);
        assert_int_equal(error.sys_errno, cases[i].sys_errno);
        scratch_check(scratch, "verdict", "old");
        assert_int_equal(scratch_count(scratch, "."), 1);
        assert_int_equal(scratch_descriptors(), before);
    }
}

#define WITH_SCRATCH(test) cmocka_unit_test_setup_teardown(test, scratch_open, scratch_close)

int main(void)
{
    const struct CMUnitTest tests[] = {
        WITH_SCRATCH(interrupted_and_short_reads_are_continued),
        WITH_SCRATCH(a_failing_read_is_reported),
        WITH_SCRATCH(a_file_that_changes_is_not_taken),
        WITH_SCRATCH(a_second_name_is_no_change),
        WITH_SCRATCH(interrupted_and_short_writes_are_continued),
        WITH_SCRATCH(every_failure_leaves_the_old_file),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
