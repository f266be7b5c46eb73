// SPDX-License-Identifier: GPL-3.0-or-later
/* Opening and making names beneath a folder, never through a symbolic link. */
#include "core/beneath.h"

#include "pellet/core.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <linux/openat2.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <unistd.h>

/* Enough to read attributes and to open what lies below, and no more. */
#define STEP_FLAGS (O_PATH | O_DIRECTORY | O_NOFOLLOW)

int pellet_openat(int folder, const char *name, int flags, mode_t mode)
{
    int descriptor;
    do
        descriptor = openat(folder, name, flags | O_CLOEXEC, mode);
    while (descriptor < 0 && errno == EINTR);
    return descriptor;
}

void pellet_close(int descriptor)
{
    const int kept = errno;
    if (descriptor >= 0)
        close(descriptor);
    errno = kept;
}

const char *pellet_path_step(const char **at, size_t *length)
{
    const char *step;
    do {
        step = *at + strspn(*at, "/");
        *length = strcspn(step, "/");
        *at = step + *length;
    } while (*length == 1 && step[0] == '.');
    return *length > 0 ? step : NULL;
}

bool pellet_name_stays_beneath(const char *name)
{
    if (name[0] == '\0' || name[0] == '/')
        return false;
    size_t length;
    for (const char *at = name, *step; (step = pellet_path_step(&at, &length)) != NULL;)
        if (length == 2 && memcmp(step, "..", 2) == 0)
            return false;
    return true;
}

/* A step of a path as a string of its own. False, and errno set, where no file can have such a name. */
static bool step_copy(char to[NAME_MAX + 1], const char *step, size_t length)
{
    if (length > NAME_MAX) {
        errno = ENAMETOOLONG;
        return false;
    }
    memcpy(to, step, length);
    to[length] = '\0';
    return true;
}

/* The folder `step` in `parent`, made where `make` says so and it is missing. */
static int step_open(int parent, const char *step, bool make)
{
    const int descriptor = pellet_openat(parent, step, STEP_FLAGS, 0);
    if (descriptor >= 0 || errno != ENOENT || !make)
        return descriptor;
    if (mkdirat(parent, step, 0777) != 0 && errno != EEXIST)
        return -1;
    return pellet_openat(parent, step, STEP_FLAGS, 0);
}

int pellet_open_by_steps(int folder, const char *name, int flags, mode_t mode)
{
    char part[NAME_MAX + 1] = ".";
    size_t length;
    const char *at = name;
    const char *step = pellet_path_step(&at, &length);
    int parent = -1;
    int result = -1;

    while (step != NULL) {
        if (!step_copy(part, step, length))
            goto out;
        /* A slash at the end asks for a folder; it must not vanish with the step. */
        const bool slash = *at == '/';
        step = pellet_path_step(&at, &length);
        if (step == NULL) {
            if (slash)
                flags |= O_DIRECTORY;
            break;
        }
        const int below = step_open(parent >= 0 ? parent : folder, part, false);
        pellet_close(parent);
        parent = below;
        if (parent < 0)
            return -1;
    }
    result = pellet_openat(parent >= 0 ? parent : folder, part, flags | O_NOFOLLOW, mode);
out:
    pellet_close(parent);
    return result;
}

static int open_by_kernel(int folder, const char *name, int flags, mode_t mode)
{
    const struct open_how how = {
        .flags = (unsigned)(flags | O_CLOEXEC),
        .mode = (flags & O_CREAT) != 0 ? mode : 0, /* openat2 refuses a mode without a file to make */
        .resolve = RESOLVE_BENEATH | RESOLVE_NO_SYMLINKS | RESOLVE_NO_MAGICLINKS,
    };
    long descriptor;
    do
        descriptor = syscall(SYS_openat2, folder, name, &how, sizeof how);
    while (descriptor < 0 && errno == EINTR);
    return (int)descriptor;
}

static int fail_beneath(struct pellet_error *error, const char *name)
{
    pellet_fail(error, PELLET_E_DENIED, "\"%s\" does not stay beneath its folder", name);
    pellet_error_set_file(error, name);
    return -1;
}

int pellet_open_beneath(int folder, const char *name, int flags, mode_t mode, struct pellet_error *error)
{
    if (!pellet_name_stays_beneath(name))
        return fail_beneath(error, name);
    int descriptor = open_by_kernel(folder, name, flags, mode);
    /* Sandboxes answer EPERM for a call they do not know; a true EPERM comes again from the other way. */
    if (descriptor < 0 && (errno == ENOSYS || errno == EPERM))
        descriptor = pellet_open_by_steps(folder, name, flags, mode);
    if (descriptor < 0) {
        pellet_fail_errno(error, errno, "cannot open \"%s\"", name);
        pellet_error_set_file(error, name);
    }
    return descriptor;
}

pellet_status pellet_make_folder(int folder, const char *name, struct pellet_error *error)
{
    if (!pellet_name_stays_beneath(name)) {
        fail_beneath(error, name);
        return PELLET_E_DENIED;
    }
    char part[NAME_MAX + 1];
    size_t length;
    int parent = -1;
    for (const char *at = name, *step; (step = pellet_path_step(&at, &length)) != NULL;) {
        const int below =
            step_copy(part, step, length) ? step_open(parent >= 0 ? parent : folder, part, true) : -1;
        pellet_close(parent);
        parent = below;
        if (parent < 0) {
            const pellet_status status =
                pellet_fail_errno(error, errno, "cannot make the folder \"%s\"", name);
            pellet_error_set_file(error, name);
            return status;
        }
    }
    pellet_close(parent);
    return PELLET_OK;
}

pellet_status pellet_sync_folder(int folder, struct pellet_error *error)
{
    /* syncfs refuses an O_PATH descriptor, and the caller may well hold one. */
    const int descriptor = pellet_openat(folder, ".", O_RDONLY | O_DIRECTORY, 0);
    if (descriptor < 0)
        return pellet_fail_errno(error, errno, "cannot open the folder to sync it");
    pellet_status status = PELLET_OK;
    if (syncfs(descriptor) != 0)
        status = pellet_fail_errno(error, errno, "cannot sync the folder");
    close(descriptor);
    return status;
}
