// SPDX-License-Identifier: GPL-3.0-or-later
#include "watcher.h"

#include <stdlib.h>
#include <sys/vfs.h>

/*
 * File systems of this machine, on which every change raises an event. What others write to a network share
 * raises none here, and FUSE, 9p and virtiofs may or may not: those are polled. Numbers: linux/magic.h and
 * the sources of the file systems.
 */
static const unsigned long local_magics[] = {
    0xEF53,     /* ext2, ext3, ext4 */
    0x58465342, /* XFS */
    0x9123683E, /* Btrfs */
    0xF2F52010, /* F2FS */
    0x2FC12FC1, /* ZFS */
    0xCA451A4E, /* bcachefs */
    0x01021994, /* tmpfs */
    0x858458F6, /* ramfs */
    0x794C7630, /* overlayfs */
    0x4D44,     /* FAT */
    0x2011BAB0, /* exFAT */
    0x7366746E, /* NTFS3 */
    0x3153464A, /* JFS */
};

static bool is_local(int folder)
{
    struct statfs fs;
    if (fstatfs(folder, &fs) < 0)
        return false;
    for (size_t i = 0; i < sizeof local_magics / sizeof local_magics[0]; i++) {
        if ((unsigned long)fs.f_type == local_magics[i])
            return true;
    }
    return false;
}

const struct watcher_kind *watcher_choose(enum watch_mode mode, int folder)
{
    if (mode == WATCH_AUTO)
        return is_local(folder) ? &watcher_inotify : &watcher_poll;
    return mode == WATCH_INOTIFY ? &watcher_inotify : &watcher_poll;
}

pellet_status watcher_start(struct watcher *watcher, const struct watcher_kind *kind, int folder,
                            struct pellet_error *error)
{
    *watcher = (struct watcher){.kind = kind, .folder = folder, .fd = -1};
    pellet_status status = kind->start(watcher, error);
    if (status != PELLET_OK)
        watcher_stop(watcher);
    return status;
}

void watcher_stop(struct watcher *watcher)
{
    if (watcher->kind)
        watcher->kind->stop(watcher);
    for (size_t i = 0; i < watcher->folder_count; i++)
        free(watcher->watched[i].name);
    free(watcher->watched);
    *watcher = (struct watcher){.fd = -1};
}
