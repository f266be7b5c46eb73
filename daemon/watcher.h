// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * How a station learns that something happened in its folder: by inotify, or by looking again and again. Both
 * stand behind one small interface; a scan of the whole folder is the net under either.
 */
#ifndef PELLETD_WATCHER_H
#define PELLETD_WATCHER_H

#include "config.h"

enum watcher_sign {
    WATCHER_CHANGED, /* a file was created or modified */
    WATCHER_TOUCHED, /* its attributes changed: times, owner, mode, number of links */
    WATCHER_CLOSED,  /* it was closed after writing, or moved into place */
    WATCHER_GONE,    /* it was deleted or moved away */
    WATCHER_SCAN,    /* look through the folder: events were lost, or a sub-folder came */
    WATCHER_LOST     /* the station folder itself was deleted, moved or unmounted */
};

/* `name` is relative to the station folder, "" with WATCHER_SCAN and WATCHER_LOST. */
typedef void watcher_sink(void *context, enum watcher_sign sign, const char *name);

struct watcher;

/* One way of watching. */
struct watcher_kind {
    const char *name;
    /* Look through the folder this often (ms) whatever the events say; 0: as the command says. */
    int64_t scan_every_ms;
    pellet_status (*start)(struct watcher *watcher, struct pellet_error *error);
    void (*stop)(struct watcher *watcher);
    /* Also watch this folder: "" is the station folder. E_SPACE where the system's limit is reached. */
    pellet_status (*add)(struct watcher *watcher, const char *folder, struct pellet_error *error);
    /* Hand the signs that are there to `sink`, many but not without end; never waits. */
    void (*take)(struct watcher *watcher, watcher_sink *sink, void *context);
};

struct watcher {
    const struct watcher_kind *kind;
    int folder; /* the station folder; borrowed */
    int fd;     /* readable when there are signs; -1 where there is nothing to wait for */
    size_t folder_count, capacity;
    struct watched_folder {
        int id;
        char *name;
    } * watched;
};

extern const struct watcher_kind watcher_inotify;
extern const struct watcher_kind watcher_poll;

/* The kind for a folder: as the station says, and with `auto` inotify on known local file systems only. */
const struct watcher_kind *watcher_choose(enum watch_mode mode, int folder);

pellet_status watcher_start(struct watcher *watcher, const struct watcher_kind *kind, int folder,
                            struct pellet_error *error);
void watcher_stop(struct watcher *watcher); /* a zero watcher is allowed */

#endif
