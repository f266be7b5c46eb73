// SPDX-License-Identifier: GPL-3.0-or-later
/* Is a station's folder where it should be? */
#include "place.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

/* Whether something is mounted exactly here. Kernels that do not say so are believed to mean yes. */
static bool is_mount_point(const char *path)
{
    struct statx stx;
    if (statx(AT_FDCWD, path, AT_NO_AUTOMOUNT, STATX_TYPE, &stx) < 0)
        return false;
    return !(stx.stx_attributes_mask & STATX_ATTR_MOUNT_ROOT) || (stx.stx_attributes & STATX_ATTR_MOUNT_ROOT);
}

/* The folder or one above it, the root left out. */
static bool is_below_mount(const char *folder)
{
    char path[PATH_MAX];
    snprintf(path, sizeof path, "%s", folder);
    for (;;) {
        if (is_mount_point(path))
            return true;
        char *slash = strrchr(path, '/');
        if (!slash || slash == path)
            return false;
        *slash = '\0';
    }
}

static bool is_mounted(const struct station_config *config)
{
    if (!*config->mount)
        return true;
    return *config->mount == '/' ? is_mount_point(config->mount) : is_below_mount(config->folder);
}

bool station_is_here(const struct station_config *config, int folder, char *why, size_t size)
{
    struct stat there;
    struct stat ours;
    if (stat(config->folder, &there) < 0) {
        snprintf(why, size, "%s", strerror(errno));
        return false;
    }
    if (!is_mounted(config)) {
        snprintf(why, size, "nothing is mounted there");
        return false;
    }
    if (folder >= 0 && fstat(folder, &ours) < 0) {
        snprintf(why, size, "cannot look at it: %s", strerror(errno));
        return false;
    }
    if (folder >= 0 && (ours.st_dev != there.st_dev || ours.st_ino != there.st_ino)) {
        snprintf(why, size, "it was replaced by another folder");
        return false;
    }
    return true;
}
