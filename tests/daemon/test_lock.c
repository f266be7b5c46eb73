// SPDX-License-Identifier: GPL-3.0-or-later
#include "testing.h"

#include "lock.h"

#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>

static int make_folder(char path[32])
{
    strcpy(path, "/tmp/pelletd-test-XXXXXX");
    assert_non_null(mkdtemp(path));
    int folder = open(path, O_RDONLY | O_DIRECTORY);
    assert_true(folder >= 0);
    return folder;
}

static void remove_folder(int folder, const char *path)
{
    (void)unlinkat(folder, LOCK_NAME, AT_REMOVEDIR);
    (void)unlinkat(folder, LOCK_NAME, 0);
    close(folder);
    assert_int_equal(rmdir(path), 0);
}

/* Held against another part of the same process too, as a closed descriptor of ours must not let go of it. */
static void one_holder(void **state)
{
    (void)state;
    char path[32];
    struct pellet_error error = {0};
    int folder = make_folder(path);
    int first = -1;
    int second = -1;
    assert_int_equal(lock_take(folder, &first, &error), PELLET_OK);
    assert_true(lock_made(first) != PELLET_NO_TIME);
    assert_int_equal(lock_take(folder, &second, &error), PELLET_E_BUSY);
    assert_int_equal(second, -1);
    assert_non_null(strstr(error.message, "another pelletd"));
    close(first);
    assert_int_equal(lock_take(folder, &second, &error), PELLET_OK);
    close(second);
    remove_folder(folder, path);
}

static void where_it_cannot_be_made(void **state)
{
    (void)state;
    char path[32];
    struct pellet_error error = {0};
    int folder = make_folder(path);
    int fd = -7;
    assert_int_equal(mkdirat(folder, LOCK_NAME, 0777), 0);
    assert_int_not_equal(lock_take(folder, &fd, &error), PELLET_OK);
    assert_int_equal(fd, -7);
    remove_folder(folder, path);
}

/* It must not be possible to have us open a file of somebody's choice. */
static void through_a_symbolic_link(void **state)
{
    (void)state;
    char path[32];
    int folder = make_folder(path);
    int fd = -7;
    assert_int_equal(symlinkat("/tmp/pelletd-test-elsewhere", folder, LOCK_NAME), 0);
    assert_int_not_equal(lock_take(folder, &fd, NULL), PELLET_OK);
    assert_int_equal(fd, -7);
    assert_int_not_equal(access("/tmp/pelletd-test-elsewhere", F_OK), 0);
    remove_folder(folder, path);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_holder),
        cmocka_unit_test(where_it_cannot_be_made),
        cmocka_unit_test(through_a_symbolic_link),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
