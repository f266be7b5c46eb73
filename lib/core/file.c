// SPDX-License-Identifier: GPL-3.0-or-later
/* Files read and written whole. */
#include "core/beneath.h"
#include "pellet/core.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/random.h>
#include <sys/stat.h>
#include <unistd.h>

#define TEMPORARY_TRIES 16
#define TEMPORARY_BYTES 64

void pellet_bytes_free(struct pellet_bytes *bytes)
{
    if (bytes == NULL)
        return;
    free(bytes->data);
    *bytes = (struct pellet_bytes){0};
}

static pellet_status fail_file(struct pellet_error *error, const char *name, const char *what)
{
    const pellet_status status = pellet_fail_errno(error, errno, "%s \"%s\"", what, name);
    pellet_error_set_file(error, name);
    return status;
}

static pellet_status fail_as(struct pellet_error *error, pellet_status status, const char *name,
                             const char *why)
{
    pellet_fail(error, status, "\"%s\" %s", name, why);
    pellet_error_set_file(error, name);
    return status;
}

/* ------------------------------------------------------------------ reading */

pellet_ns pellet_ns_of_file(struct timespec time)
{
    const int64_t most_s = INT64_C(4500000000); /* half of what int64_t nanoseconds hold, less a little */
    const int64_t s = time.tv_sec < -most_s ? -most_s : time.tv_sec > most_s ? most_s : time.tv_sec;
    return s * PELLET_NS_PER_S + time.tv_nsec;
}

static struct pellet_file_id id_from_stat(const struct stat *stat)
{
    return (struct pellet_file_id){
        .device = stat->st_dev,
        .inode = stat->st_ino,
        .bytes = (uint64_t)stat->st_size,
        .mtime_ns = pellet_ns_of_file(stat->st_mtim),
        .ctime_ns = pellet_ns_of_file(stat->st_ctim),
    };
}

/* ctime is left out: a backup or a change of rights moves it and leaves the content alone. */
static bool same_content(const struct stat *a, const struct stat *b)
{
    return a->st_dev == b->st_dev && a->st_ino == b->st_ino && a->st_size == b->st_size &&
           a->st_mtim.tv_sec == b->st_mtim.tv_sec && a->st_mtim.tv_nsec == b->st_mtim.tv_nsec;
}

/* Read until the end or until `size` bytes are here. Returns the number read, or -1 with errno set. */
static ssize_t read_upto(int descriptor, char *to, size_t size)
{
    size_t n = 0;
    while (n < size) {
        const ssize_t got = read(descriptor, to + n, size - n);
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0)
            return -1;
        if (got == 0)
            break;
        n += (size_t)got;
    }
    return (ssize_t)n;
}

/* The path may meanwhile lead to another file, or to none. */
static pellet_status check_unchanged(int folder, const char *name, int descriptor, const struct stat *before,
                                     struct pellet_error *error)
{
    struct stat after, at_path;
    if (fstat(descriptor, &after) != 0)
        return fail_file(error, name, "cannot look again at");
    if (!same_content(before, &after))
        return fail_as(error, PELLET_E_CHANGED, name, "changed while it was read");
    const int again = pellet_open_beneath(folder, name, O_PATH | O_NOFOLLOW, 0, NULL);
    if (again < 0 && errno != ENOENT && errno != ENOTDIR && errno != ELOOP)
        return fail_file(error, name, "cannot look again at");
    if (again >= 0 && fstat(again, &at_path) != 0) {
        fail_file(error, name, "cannot look again at");
        close(again);
        return error != NULL ? error->status : PELLET_E_IO;
    }
    const bool same = again >= 0 && same_content(before, &at_path);
    pellet_close(again);
    return same ? PELLET_OK : fail_as(error, PELLET_E_CHANGED, name, "was replaced while it was read");
}

static pellet_status read_open(int folder, const char *name, int descriptor, const struct stat *before,
                               char *data, struct pellet_error *error)
{
    const size_t n = (size_t)before->st_size;
    /* One byte more than expected tells a file that grows; it is where the final 0 goes afterwards. */
    const ssize_t got = read_upto(descriptor, data, n + 1);
    if (got < 0)
        return fail_file(error, name, "cannot read");
    if ((size_t)got != n)
        return fail_as(error, PELLET_E_CHANGED, name, "changed its size while it was read");
    data[n] = '\0';
    return check_unchanged(folder, name, descriptor, before, error);
}

pellet_status pellet_read_file(int folder, const char *name, uint64_t limit, struct pellet_bytes *bytes,
                               struct pellet_file_id *id, struct pellet_error *error)
{
    struct stat before;
    struct pellet_bytes read = {0};
    struct pellet_error opening = {0};
    pellet_status status;
    const int descriptor = pellet_open_beneath(folder, name, O_RDONLY | O_NONBLOCK | O_NOCTTY, 0,
                                               error != NULL ? error : &opening);
    if (descriptor < 0)
        return error != NULL ? error->status : opening.status;

    if (fstat(descriptor, &before) != 0) {
        status = fail_file(error, name, "cannot look at");
        goto out;
    }
    if (!S_ISREG(before.st_mode)) {
        status = fail_as(error, PELLET_E_KIND, name, "is not a regular file");
        goto out;
    }
    if ((uint64_t)before.st_size > limit || before.st_size >= PTRDIFF_MAX) {
        status = pellet_fail(error, PELLET_E_LIMIT, "\"%s\" holds %lld bytes; at most %llu are read", name,
                             (long long)before.st_size, (unsigned long long)limit);
        pellet_error_set_file(error, name);
        goto out;
    }
    read.n = (size_t)before.st_size;
    read.data = malloc(read.n + 1);
    if (read.data == NULL) {
        status = fail_as(error, PELLET_E_MEMORY, name, "does not fit into memory");
        goto out;
    }
    status = read_open(folder, name, descriptor, &before, read.data, error);
    if (status != PELLET_OK)
        goto out;
    *bytes = read;
    read = (struct pellet_bytes){0};
    if (id != NULL)
        *id = id_from_stat(&before);
out:
    pellet_bytes_free(&read);
    close(descriptor);
    return status;
}

/* ------------------------------------------------------------------ writing */

static int write_all(int descriptor, const char *bytes, size_t n)
{
    while (n > 0) {
        const ssize_t put = write(descriptor, bytes, n);
        if (put < 0 && errno == EINTR)
            continue;
        if (put <= 0) {
            errno = put < 0 ? errno : EIO;
            return -1;
        }
        bytes += put;
        n -= (size_t)put;
    }
    return 0;
}

/* Shares report a full disk only here. After EINTR Linux has closed the descriptor all the same. */
static int close_written(int descriptor)
{
    return close(descriptor) == 0 || errno == EINTR ? 0 : -1;
}

/* Its length does not depend on the final name, so that names of 255 bytes can be written too. */
static int temporary_open(int folder, char name[TEMPORARY_BYTES])
{
    int descriptor = -1;
    for (int tries = 0; tries < TEMPORARY_TRIES && descriptor < 0; tries++) {
        unsigned long long random[2];
        if (getrandom(random, sizeof random, 0) != (ssize_t)sizeof random)
            return -1;
        snprintf(name, TEMPORARY_BYTES, ".pelletd-%016llx%016llx.tmp", random[0], random[1]);
        descriptor = pellet_openat(folder, name, O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW, 0666);
        if (descriptor < 0 && errno != EEXIST)
            return -1;
    }
    return descriptor;
}

/* Write in `folder`, where `leaf` has no slash. -1 with errno set, and no temporary left. */
static int write_in(int folder, const char *leaf, const void *bytes, size_t n)
{
    char temporary[TEMPORARY_BYTES];
    const int descriptor = temporary_open(folder, temporary);
    if (descriptor < 0)
        return -1;
    int result = write_all(descriptor, bytes, n);
    if (result == 0)
        result = close_written(descriptor);
    else
        pellet_close(descriptor);
    if (result == 0)
        result = renameat(folder, temporary, folder, leaf);
    if (result != 0) {
        const int kept = errno;
        unlinkat(folder, temporary, 0);
        errno = kept;
    }
    return result;
}

/* The folder that holds the last part of `name`. -1 and `error` filled on failure. */
static int parent_open(int folder, const char *name, size_t length, struct pellet_error *error)
{
    char *parent = length > 0 ? strndup(name, length) : strdup(".");
    if (parent == NULL) {
        fail_as(error, PELLET_E_MEMORY, name, "cannot be written: no memory");
        return -1;
    }
    const int descriptor = pellet_open_beneath(folder, parent, O_PATH | O_DIRECTORY, 0, error);
    pellet_error_set_file(error, name);
    free(parent);
    return descriptor;
}

pellet_status pellet_write_atomic(int folder, const char *name, const void *bytes, size_t n,
                                  struct pellet_error *error)
{
    const char *slash = strrchr(name, '/');
    const char *leaf = slash != NULL ? slash + 1 : name;
    if (!pellet_name_stays_beneath(name) || leaf[0] == '\0' || strcmp(leaf, ".") == 0)
        return fail_as(error, PELLET_E_DENIED, name, "does not name a file beneath its folder");

    struct pellet_error opening = {0};
    struct pellet_error *reported = error != NULL ? error : &opening;
    const int parent = parent_open(folder, name, slash != NULL ? (size_t)(slash - name) : 0, reported);
    if (parent < 0)
        return reported->status;
    pellet_status status = PELLET_OK;
    if (write_in(parent, leaf, bytes, n) != 0)
        status = fail_file(error, name, "cannot write");
    close(parent);
    return status;
}
