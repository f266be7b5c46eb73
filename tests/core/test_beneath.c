// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/beneath.h"
#include "core/scratch.h"
#include "pellet/core.h"

#include <errno.h>
#include <linux/filter.h>
#include <linux/seccomp.h>
#include <sys/prctl.h>
#include <sys/syscall.h>
#include <sys/wait.h>

/* a/b/file, a link to a file, a link to a folder, and something outside to lead to. */
static int tree_open(void **state)
{
    if (scratch_open(state) != 0)
        return -1;
    const struct scratch *scratch = *state;
    mkdirat(scratch->folder, "top", 0755);
    mkdirat(scratch->folder, "top/a", 0755);
    mkdirat(scratch->folder, "top/a/b", 0755);
    scratch_put(scratch, "top/a/b/file", "inside", 6);
    scratch_put(scratch, "outside", "outside", 7);
    symlinkat("a/b/file", scratch->folder, "top/link");
    symlinkat("a", scratch->folder, "top/way");
    symlinkat("../outside", scratch->folder, "top/out");
    symlinkat("..", scratch->folder, "top/up");
    return 0;
}

static int top_of(const struct scratch *scratch)
{
    const int top = openat(scratch->folder, "top", O_PATH | O_DIRECTORY | O_CLOEXEC);
    assert_true(top >= 0);
    return top;
}

typedef int (*open_function)(int folder, const char *name, int flags, mode_t mode);

static int open_public(int folder, const char *name, int flags, mode_t mode)
{
    return pellet_open_beneath(folder, name, flags, mode, NULL);
}

/* Both ways must let the same names through and refuse the same. */
static const open_function ways[] = {open_public, pellet_open_by_steps};

static void names_beneath_are_opened(void **state)
{
    static const char *const names[] = {"a/b/file", "./a//b/./file", "a/./b/file"};
    const int top = top_of(*state);
    for (size_t w = 0; w < sizeof ways / sizeof *ways; w++) {
        const int before = scratch_descriptors();
        for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
            char found[8] = "";
            const int file = ways[w](top, names[i], O_RDONLY, 0);
            assert_true(file >= 0);
            assert_int_equal(read(file, found, sizeof found), 6);
            assert_string_equal(found, "inside");
            assert_true((fcntl(file, F_GETFD) & FD_CLOEXEC) != 0);
            close(file);
        }
        const int folder = ways[w](top, "a/b/", O_RDONLY, 0);
        const int itself = ways[w](top, ".", O_RDONLY | O_DIRECTORY, 0);
        assert_true(folder >= 0 && itself >= 0);
        close(folder);
        close(itself);
        assert_int_equal(scratch_descriptors(), before);
    }
    close(top);
}

static void links_are_never_followed(void **state)
{
    static const char *const names[] = {"link",      "way/b/file", "out",          "up/outside", "a/b/file/x",
                                        "a/b/file/", "nothing",    "nothing/file", "way/",       "up"};
    const int top = top_of(*state);
    for (size_t w = 0; w < sizeof ways / sizeof *ways; w++) {
        const int before = scratch_descriptors();
        for (size_t i = 0; i < sizeof names / sizeof *names; i++)
            if (ways[w](top, names[i], O_RDONLY, 0) >= 0)
                fail_msg("%s was opened", names[i]);
        assert_int_equal(scratch_descriptors(), before);
    }
    close(top);
}

static void new_files_are_made_beneath(void **state)
{
    const struct scratch *scratch = *state;
    const int top = top_of(scratch);
    static const char *const names[] = {"a/made-1", "a/made-2"};
    for (size_t w = 0; w < sizeof ways / sizeof *ways; w++) {
        const int file = ways[w](top, names[w], O_WRONLY | O_CREAT | O_EXCL, 0600);
        assert_true(file >= 0);
        struct stat stat;
        assert_int_equal(fstat(file, &stat), 0);
        assert_int_equal(stat.st_mode & 0777, 0600);
        close(file);
        assert_int_equal(ways[w](top, names[w], O_WRONLY | O_CREAT | O_EXCL, 0600), -1);
        assert_int_equal(errno, EEXIST);
        assert_int_equal(ways[w](top, "way/new", O_WRONLY | O_CREAT, 0600), -1);
        assert_int_equal(ways[w](top, "out", O_WRONLY | O_TRUNC, 0600), -1);
    }
    close(top);
    scratch_check(scratch, "outside", "outside");
}

static void names_that_lead_out_are_denied(void **state)
{
    static const char *const names[] = {
        "", "/", "/etc/passwd", "..", "../outside", "a/../../outside", "a/..", "a/../a/b"};
    const int top = top_of(*state);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        struct pellet_error error = {0};
        assert_int_equal(pellet_open_beneath(top, names[i], O_RDONLY, 0, &error), -1);
        assert_int_equal(error.status, PELLET_E_DENIED);
        assert_string_equal(error.file, names[i]);
    }
    assert_true(pellet_name_stays_beneath("..a/b..")); /* dots that are part of a name */
    close(top);
}

static void the_error_says_what_and_where(void **state)
{
    const int top = top_of(*state);
    struct pellet_error error = {0};
    assert_int_equal(pellet_open_beneath(top, "no\nthing", O_RDONLY, 0, &error), -1);
    assert_int_equal(error.status, PELLET_E_MISSING);
    assert_int_equal(error.sys_errno, ENOENT);
    assert_string_equal(error.file, "no\\x0Athing");
    assert_int_equal(pellet_open_beneath(top, "link", O_RDONLY, 0, &error), -1);
    assert_int_equal(error.status, PELLET_E_KIND);
    char longest[300];
    memset(longest, 'n', sizeof longest);
    longest[256] = '\0';
    assert_int_equal(pellet_open_beneath(top, longest, O_RDONLY, 0, &error), -1);
    assert_int_equal(error.status, PELLET_E_LIMIT);
    assert_int_equal(pellet_open_by_steps(top, longest, O_RDONLY, 0), -1);
    assert_int_equal(errno, ENAMETOOLONG);
    close(top);
}

/* From here on, this process is answered `with` when it calls openat2. */
static bool refuse_openat2(unsigned with)
{
    struct sock_filter filter[] = {
        BPF_STMT(BPF_LD | BPF_W | BPF_ABS, offsetof(struct seccomp_data, nr)),
        BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, SYS_openat2, 0, 1),
        BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ERRNO | with),
        BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ALLOW),
    };
    const struct sock_fprog program = {sizeof filter / sizeof *filter, filter};
    return prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) == 0 &&
           prctl(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, &program) == 0;
}

enum { CHILD_FINE, CHILD_WRONG, CHILD_NO_FILTER };

static int child_without_openat2(int top, unsigned with)
{
    if (!refuse_openat2(with))
        return CHILD_NO_FILTER;
    /* Valgrind answers ENOSYS itself. */
    if (syscall(SYS_openat2, top, "a", NULL, 0) != -1 || errno != (int)with)
        return errno == ENOSYS ? CHILD_NO_FILTER : CHILD_WRONG;
    const int file = pellet_open_beneath(top, "a/b/file", O_RDONLY, 0, NULL);
    struct pellet_error error = {0};
    if (file < 0 || pellet_open_beneath(top, "way/b/file", O_RDONLY, 0, NULL) >= 0 ||
        pellet_open_beneath(top, "link", O_RDONLY, 0, &error) >= 0 || error.status != PELLET_E_KIND ||
        pellet_open_beneath(top, "../outside", O_RDONLY, 0, NULL) >= 0)
        return CHILD_WRONG;
    return CHILD_FINE;
}

static void without_openat2_the_steps_are_taken(void **state)
{
    static const unsigned answers[] = {ENOSYS, EPERM};
    const int top = top_of(*state);
    for (size_t i = 0; i < sizeof answers / sizeof *answers; i++) {
        const pid_t child = fork();
        assert_true(child >= 0);
        if (child == 0)
            _exit(child_without_openat2(top, answers[i]));
        int status = 0;
        assert_int_equal(waitpid(child, &status, 0), child);
        assert_true(WIFEXITED(status));
        if (WEXITSTATUS(status) == CHILD_NO_FILTER) {
            print_message("skipped: no system call filter can be set here\n");
            close(top);
            skip();
        }
        assert_int_equal(WEXITSTATUS(status), CHILD_FINE);
    }
    close(top);
}

static void folders_are_made_with_their_parents(void **state)
{
    const struct scratch *scratch = *state;
    const int top = top_of(scratch);
    const int before = scratch_descriptors();
    struct pellet_error error = {0};
    struct stat stat;
    assert_int_equal(pellet_make_folder(top, "reports/ratioed/x", &error), PELLET_OK);
    assert_int_equal(pellet_make_folder(top, "reports/ratioed/x/", &error), PELLET_OK);
    assert_int_equal(pellet_make_folder(top, ".", &error), PELLET_OK);
    assert_int_equal(fstatat(top, "reports/ratioed/x", &stat, AT_SYMLINK_NOFOLLOW), 0);
    assert_true(S_ISDIR(stat.st_mode));

    assert_int_equal(pellet_make_folder(top, "way/new", &error), PELLET_E_KIND);
    assert_int_equal(pellet_make_folder(top, "a/b/file", &error), PELLET_E_KIND);
    assert_int_equal(pellet_make_folder(top, "a/b/file/x", &error), PELLET_E_KIND);
    assert_int_equal(pellet_make_folder(top, "../beside", &error), PELLET_E_DENIED);
    assert_int_equal(pellet_make_folder(top, "", &error), PELLET_E_DENIED);
    char longest[300];
    memset(longest, 'n', sizeof longest);
    longest[256] = '\0';
    assert_int_equal(pellet_make_folder(top, longest, &error), PELLET_E_LIMIT);
    longest[255] = '\0';
    assert_int_equal(pellet_make_folder(top, longest, &error), PELLET_OK);
    assert_int_equal(scratch_descriptors(), before);
    assert_int_equal(fstatat(scratch->folder, "beside", &stat, 0), -1);
    assert_int_equal(fstatat(top, "a/new", &stat, 0), -1);
    close(top);
}

static void a_folder_is_synced_through_any_descriptor(void **state)
{
    const struct scratch *scratch = *state;
    const int top = top_of(scratch); /* O_PATH */
    struct pellet_error error = {0};
    assert_int_equal(pellet_sync_folder(scratch->folder, &error), PELLET_OK);
    assert_int_equal(pellet_sync_folder(top, &error), PELLET_OK);
    close(top);
    assert_int_equal(pellet_sync_folder(-1, &error), PELLET_E_IO);
    assert_int_equal(error.sys_errno, EBADF);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(names_beneath_are_opened, tree_open, scratch_close),
        cmocka_unit_test_setup_teardown(links_are_never_followed, tree_open, scratch_close),
        cmocka_unit_test_setup_teardown(new_files_are_made_beneath, tree_open, scratch_close),
        cmocka_unit_test_setup_teardown(names_that_lead_out_are_denied, tree_open, scratch_close),
        cmocka_unit_test_setup_teardown(the_error_says_what_and_where, tree_open, scratch_close),
        cmocka_unit_test_setup_teardown(without_openat2_the_steps_are_taken, tree_open, scratch_close),
        cmocka_unit_test_setup_teardown(folders_are_made_with_their_parents, tree_open, scratch_close),
        cmocka_unit_test_setup_teardown(a_folder_is_synced_through_any_descriptor, tree_open, scratch_close),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
