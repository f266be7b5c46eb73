// SPDX-License-Identifier: GPL-3.0-or-later
#include "core/scratch.h"
#include "pellet/core.h"

#include <errno.h>
#include <signal.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <sys/un.h>

#define MIB 1048576

static void check_refused(const struct scratch *scratch, const char *name, uint64_t limit,
                          pellet_status expected)
{
    struct pellet_bytes bytes = {.data = NULL, .n = 99};
    struct pellet_file_id id = {.bytes = 98};
    struct pellet_error error = {0};
    const int before = scratch_descriptors();
    assert_int_equal(pellet_read_file(scratch->folder, name, limit, &bytes, &id, &error), expected);
    assert_int_equal(pellet_read_file(scratch->folder, name, limit, &bytes, NULL, NULL), expected);
    assert_null(bytes.data);
    assert_int_equal(bytes.n, 99);
    assert_int_equal(id.bytes, 98);
    assert_int_equal(error.status, expected);
    assert_true(strlen(error.message) > 0);
    assert_string_equal(error.file, name);
    assert_int_equal(scratch_descriptors(), before);
}

static void a_file_is_read_whole(void **state)
{
    const struct scratch *scratch = *state;
    static const size_t sizes[] = {0, 1, 4095, 4096, 4097, 300000};
    for (size_t i = 0; i < sizeof sizes / sizeof *sizes; i++) {
        char *content = malloc(sizes[i] + 1);
        assert_non_null(content);
        for (size_t k = 0; k < sizes[i]; k++)
            content[k] = (char)(k * 7 + k / 256);
        scratch_put(scratch, "spectrum.csv", content, sizes[i]);

        struct pellet_bytes bytes = {0};
        struct pellet_file_id id = {0};
        struct stat stat;
        /* The limit is exactly the size: it may be reached. */
        assert_int_equal(pellet_read_file(scratch->folder, "spectrum.csv", sizes[i], &bytes, &id, NULL),
                         PELLET_OK);
        assert_int_equal(bytes.n, sizes[i]);
        assert_memory_equal(bytes.data, content, sizes[i]);
        assert_int_equal(bytes.data[bytes.n], 0);
        assert_int_equal(fstatat(scratch->folder, "spectrum.csv", &stat, 0), 0);
        assert_int_equal(id.inode, stat.st_ino);
        assert_int_equal(id.device, stat.st_dev);
        assert_int_equal(id.bytes, sizes[i]);
        assert_int_equal(id.mtime_ns, stat.st_mtim.tv_sec * PELLET_NS_PER_S + stat.st_mtim.tv_nsec);
        pellet_bytes_free(&bytes);
        assert_null(bytes.data);
        free(content);
    }
    pellet_bytes_free(NULL);
}

static void one_byte_over_the_limit_is_refused(void **state)
{
    scratch_put(*state, "large", "12345", 5);
    check_refused(*state, "large", 4, PELLET_E_LIMIT);
    check_refused(*state, "large", 0, PELLET_E_LIMIT);
}

static void a_hole_larger_than_memory_is_over_the_limit(void **state)
{
    const struct scratch *scratch = *state;
    scratch_put(scratch, "sparse", "", 0);
    const int file = openat(scratch->folder, "sparse", O_WRONLY | O_CLOEXEC);
    assert_int_equal(ftruncate(file, (off_t)MIB * MIB), 0);
    close(file);
    check_refused(scratch, "sparse", 64 * MIB, PELLET_E_LIMIT);
}

static void only_regular_files_are_read(void **state)
{
    const struct scratch *scratch = *state;
    mkdirat(scratch->folder, "folder", 0755);
    assert_int_equal(mkfifoat(scratch->folder, "fifo", 0644), 0); /* nobody writes: a plain open would wait */
    scratch_put(scratch, "real", "x", 1);
    symlinkat("real", scratch->folder, "link");
    struct sockaddr_un address = {.sun_family = AF_UNIX};
    snprintf(address.sun_path, sizeof address.sun_path, "%s/socket", scratch->path);
    const int listener = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
    assert_int_equal(bind(listener, (struct sockaddr *)&address, sizeof address), 0);

    check_refused(scratch, "folder", MIB, PELLET_E_KIND);
    check_refused(scratch, "fifo", MIB, PELLET_E_KIND);
    check_refused(scratch, "link", MIB, PELLET_E_KIND);
    check_refused(scratch, "socket", MIB, PELLET_E_KIND);
    check_refused(scratch, "nothing", MIB, PELLET_E_MISSING);
    check_refused(scratch, "../real", MIB, PELLET_E_DENIED);
    check_refused(scratch, "real/x", MIB, PELLET_E_KIND);
    close(listener);

    const struct scratch devices = {.folder = open("/dev", O_PATH | O_DIRECTORY | O_CLOEXEC)};
    check_refused(&devices, "zero", MIB, PELLET_E_KIND);
    close(devices.folder);
}

static void rights_are_respected(void **state)
{
    const struct scratch *scratch = *state;
    scratch_put(scratch, "secret", "x", 1);
    assert_int_equal(fchmodat(scratch->folder, "secret", 0, 0), 0);
    if (faccessat(scratch->folder, "secret", R_OK, AT_EACCESS) == 0) {
        print_message("skipped: this user may read everything\n");
        skip();
    }
    check_refused(scratch, "secret", MIB, PELLET_E_DENIED);
}

static void a_file_is_written_at_one_stroke(void **state)
{
    const struct scratch *scratch = *state;
    struct pellet_error error = {0};
    const int before = scratch_descriptors();
    mkdirat(scratch->folder, "reports", 0755);
    assert_int_equal(pellet_write_atomic(scratch->folder, "a.yaml", "first", 5, &error), PELLET_OK);
    scratch_check(scratch, "a.yaml", "first");
    const int old = openat(scratch->folder, "a.yaml", O_RDONLY | O_CLOEXEC);
    assert_int_equal(pellet_write_atomic(scratch->folder, "a.yaml", "second", 6, &error), PELLET_OK);
    assert_int_equal(pellet_write_atomic(scratch->folder, "reports/b", "", 0, NULL), PELLET_OK);
    scratch_check(scratch, "a.yaml", "second");
    scratch_check(scratch, "reports/b", "");
    char found[8] = "";
    assert_int_equal(read(old, found, sizeof found), 5); /* who had it open still reads the old one */
    assert_string_equal(found, "first");
    close(old);
    assert_int_equal(scratch_count(scratch, "."), 2);
    assert_int_equal(scratch_count(scratch, "reports"), 1);
    assert_int_equal(scratch_descriptors(), before);
}

static void the_mode_follows_the_umask(void **state)
{
    const struct scratch *scratch = *state;
    struct stat stat;
    const mode_t before = umask(027);
    assert_int_equal(pellet_write_atomic(scratch->folder, "a", "x", 1, NULL), PELLET_OK);
    umask(before);
    assert_int_equal(fstatat(scratch->folder, "a", &stat, 0), 0);
    assert_int_equal(stat.st_mode & 0777, 0640);
}

static void the_longest_name_can_be_written_and_read(void **state)
{
    const struct scratch *scratch = *state;
    char name[257];
    memset(name, 'n', sizeof name);
    name[255] = '\0';
    struct pellet_bytes bytes = {0};
    assert_int_equal(pellet_write_atomic(scratch->folder, name, "x", 1, NULL), PELLET_OK);
    assert_int_equal(pellet_read_file(scratch->folder, name, 1, &bytes, NULL, NULL), PELLET_OK);
    pellet_bytes_free(&bytes);
    name[255] = 'n';
    name[256] = '\0';
    assert_int_equal(pellet_write_atomic(scratch->folder, name, "x", 1, NULL), PELLET_E_LIMIT);
    assert_int_equal(scratch_count(scratch, "."), 1);
}

static void a_link_is_replaced_and_not_written_through(void **state)
{
    const struct scratch *scratch = *state;
    scratch_put(scratch, "target", "kept", 4);
    symlinkat("target", scratch->folder, "name");
    assert_int_equal(pellet_write_atomic(scratch->folder, "name", "new", 3, NULL), PELLET_OK);
    scratch_check(scratch, "target", "kept");
    scratch_check(scratch, "name", "new");
}

static void check_not_written(const struct scratch *scratch, const char *name, pellet_status expected)
{
    struct pellet_error error = {0};
    const int names = scratch_count(scratch, "."), descriptors = scratch_descriptors();
    assert_int_equal(pellet_write_atomic(scratch->folder, name, "x", 1, &error), expected);
    assert_int_equal(pellet_write_atomic(scratch->folder, name, "x", 1, NULL), expected);
    assert_int_equal(error.status, expected);
    assert_string_equal(error.file, name);
    assert_int_equal(scratch_count(scratch, "."), names);
    assert_int_equal(scratch_descriptors(), descriptors);
}

static void what_cannot_be_written_leaves_nothing(void **state)
{
    const struct scratch *scratch = *state;
    mkdirat(scratch->folder, "folder", 0755);
    symlinkat("folder", scratch->folder, "way");
    check_not_written(scratch, "folder", PELLET_E_KIND);
    check_not_written(scratch, "nowhere/a", PELLET_E_MISSING);
    check_not_written(scratch, "way/a", PELLET_E_KIND);
    check_not_written(scratch, "../a", PELLET_E_DENIED);
    check_not_written(scratch, "/a", PELLET_E_DENIED);
    check_not_written(scratch, "", PELLET_E_DENIED);
    check_not_written(scratch, "folder/", PELLET_E_DENIED);
    check_not_written(scratch, ".", PELLET_E_DENIED);
    assert_int_equal(scratch_count(scratch, "folder"), 0);
}

/* The system's own limit on a file's size cuts the write in its middle, as a full disk does. */
static void a_write_cut_short_leaves_the_old_file(void **state)
{
    const struct scratch *scratch = *state;
    static const char large[8192];
    struct rlimit before;
    struct pellet_error error = {0};
    scratch_put(scratch, "a", "old", 3);
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
    const struct rlimit small = {.rlim_cur = 4096, .rlim_max = before.rlim_max};
    signal(SIGXFSZ, SIG_IGN);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &small), 0);
    const pellet_status status = pellet_write_atomic(scratch->folder, "a", large, sizeof large, &error);
    setrlimit(RLIMIT_FSIZE, &before);
    signal(SIGXFSZ, SIG_DFL);
    assert_int_equal(status, PELLET_E_SPACE);
    assert_int_equal(error.sys_errno, EFBIG);
    scratch_check(scratch, "a", "old");
    assert_int_equal(scratch_count(scratch, "."), 1);
}

#define WITH_SCRATCH(test) cmocka_unit_test_setup_teardown(test, scratch_open, scratch_close)

int main(void)
{
    const struct CMUnitTest tests[] = {
        WITH_SCRATCH(a_file_is_read_whole),
        WITH_SCRATCH(one_byte_over_the_limit_is_refused),
        WITH_SCRATCH(a_hole_larger_than_memory_is_over_the_limit),
        WITH_SCRATCH(only_regular_files_are_read),
        WITH_SCRATCH(rights_are_respected),
        WITH_SCRATCH(a_file_is_written_at_one_stroke),
        WITH_SCRATCH(the_mode_follows_the_umask),
        WITH_SCRATCH(the_longest_name_can_be_written_and_read),
        WITH_SCRATCH(a_link_is_replaced_and_not_written_through),
        WITH_SCRATCH(what_cannot_be_written_leaves_nothing),
        WITH_SCRATCH(a_write_cut_short_leaves_the_old_file),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
