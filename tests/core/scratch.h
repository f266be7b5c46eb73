// SPDX-License-Identifier: GPL-3.0-or-later
/* A temporary folder for one test, and plain ways to put files into it and to look at them. */
#ifndef PELLET_TESTS_CORE_SCRATCH_H
#define PELLET_TESTS_CORE_SCRATCH_H

#include "testing.h"

#include <dirent.h>
#include <fcntl.h>
#include <ftw.h>
#include <string.h>
#include <sys/stat.h>

struct scratch {
    char path[64];
    int folder;
};

static inline int scratch_open(void **state)
{
    struct scratch *scratch = calloc(1, sizeof *scratch);
    if (scratch == NULL)
        return -1;
    strcpy(scratch->path, "/tmp/pellet-test-XXXXXX");
    if (mkdtemp(scratch->path) == NULL)
        return -1;
    scratch->folder = open(scratch->path, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    *state = scratch;
    return scratch->folder < 0 ? -1 : 0;
}

static inline int scratch_remove(const char *path, const struct stat *stat, int type, struct FTW *walk)
{
    (void)stat, (void)type, (void)walk;
    return remove(path);
}

static inline int scratch_close(void **state)
{
    struct scratch *scratch = *state;
    close(scratch->folder);
    const int result = nftw(scratch->path, scratch_remove, 8, FTW_DEPTH | FTW_PHYS);
    free(scratch);
    return result;
}

static inline void scratch_put(const struct scratch *scratch, const char *name, const char *content, size_t n)
{
    const int file = openat(scratch->folder, name, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0644);
    assert_true(file >= 0);
    assert_int_equal(write(file, content, n), n);
    close(file);
}

static inline void scratch_check(const struct scratch *scratch, const char *name, const char *content)
{
    char found[256] = "";
    const int file = openat(scratch->folder, name, O_RDONLY | O_CLOEXEC);
    assert_true(file >= 0);
    assert_int_equal(read(file, found, sizeof found - 1), strlen(content));
    assert_string_equal(found, content);
    close(file);
}

/* How many names a folder below the scratch folder holds. */
static inline int scratch_count(const struct scratch *scratch, const char *below)
{
    const int folder = openat(scratch->folder, below, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    assert_true(folder >= 0);
    DIR *list = fdopendir(folder);
    assert_non_null(list);
    int n = -2; /* . and .. */
    while (readdir(list) != NULL)
        n++;
    closedir(list);
    return n;
}

/* Descriptors open in this process: a test compares before and after. */
static inline int scratch_descriptors(void)
{
    int n = 0;
    DIR *list = opendir("/proc/self/fd");
    if (list == NULL)
        return 0;
    while (readdir(list) != NULL)
        n++;
    closedir(list);
    return n;
}

#endif
