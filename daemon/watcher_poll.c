// SPDX-License-Identifier: GPL-3.0-or-later
/* No events at all: the scan does everything. */
#include "watcher.h"

static pellet_status start(struct watcher *watcher, struct pellet_error *error)
{
    (void)watcher;
    (void)error;
    return PELLET_OK;
}

static void stop(struct watcher *watcher)
{
    (void)watcher;
}

static pellet_status add(struct watcher *watcher, const char *folder, struct pellet_error *error)
{
    (void)watcher;
    (void)folder;
    (void)error;
    return PELLET_OK;
}

static void take(struct watcher *watcher, watcher_sink *sink, void *context)
{
    (void)watcher;
    (void)sink;
    (void)context;
}

const struct watcher_kind watcher_poll = {"poll", 2000, start, stop, add, take};
