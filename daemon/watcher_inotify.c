// SPDX-License-Identifier: GPL-3.0-or-later
#include "watcher.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/inotify.h>
#include <unistd.h>

/*
 * Modifications and attributes too: what a file server on this machine writes may show nothing else, and the
 * settling takes them for signs of life.
 */
#define FILE_EVENTS                                                                                          \
    (IN_CREATE | IN_MODIFY | IN_ATTRIB | IN_CLOSE_WRITE | IN_MOVED_TO | IN_MOVED_FROM | IN_DELETE)
#define FOLDER_EVENTS (IN_DELETE_SELF | IN_MOVE_SELF | IN_ONLYDIR | IN_EXCL_UNLINK)
#define TURNS_MAX     16
#define EVENTS_BYTES  (64 * (sizeof(struct inotify_event) + NAME_MAX + 1))

static pellet_status start(struct watcher *watcher, struct pellet_error *error)
{
    watcher->fd = inotify_init1(IN_CLOEXEC | IN_NONBLOCK);
    if (watcher->fd < 0)
        return pellet_fail_errno(error, errno, "cannot watch");
    return PELLET_OK;
}

static void stop(struct watcher *watcher)
{
    if (watcher->fd >= 0)
        close(watcher->fd);
}

/* They stand in the order of their numbers. Where this one is, or would have to be. */
static size_t place_of(const struct watcher *watcher, int id)
{
    size_t low = 0;
    size_t high = watcher->folder_count;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (watcher->watched[middle].id < id)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

static struct watched_folder *find(struct watcher *watcher, int id)
{
    const size_t place = place_of(watcher, id);
    return place < watcher->folder_count && watcher->watched[place].id == id ? &watcher->watched[place]
                                                                             : NULL;
}

/* A folder that was renamed keeps its number and gets its new name. */
static bool remember(struct watcher *watcher, int id, const char *folder)
{
    struct watched_folder *known = find(watcher, id);
    char *name = strdup(folder);
    if (!name)
        return false;
    if (known) {
        free(known->name);
        known->name = name;
        return true;
    }
    if (watcher->folder_count == watcher->capacity) {
        size_t capacity = watcher->capacity ? 2 * watcher->capacity : 8;
        struct watched_folder *list = realloc(watcher->watched, capacity * sizeof *list);
        if (!list) {
            free(name);
            return false;
        }
        watcher->watched = list;
        watcher->capacity = capacity;
    }
    /* The system counts upwards, so mostly this is the end. */
    const size_t at = place_of(watcher, id);
    struct watched_folder *place = watcher->watched + at;
    memmove(place + 1, place, (watcher->folder_count++ - at) * sizeof *place);
    *place = (struct watched_folder){id, name};
    // cppcheck-suppress memleak ; the list owns the name
    return true;
}

static void forget(struct watcher *watcher, int id)
{
    struct watched_folder *known = find(watcher, id);
    if (!known)
        return;
    free(known->name);
    const size_t at = place_of(watcher, id);
    memmove(known, known + 1, (--watcher->folder_count - at) * sizeof *known);
}

/* By way of the open descriptor, so that no symbolic link can lead the watch elsewhere. */
static pellet_status add(struct watcher *watcher, const char *folder, struct pellet_error *error)
{
    char path[64];
    int opened =
        pellet_open_beneath(watcher->folder, *folder ? folder : ".", O_RDONLY | O_DIRECTORY, 0, error);
    if (opened < 0)
        return error->status;
    snprintf(path, sizeof path, "/proc/self/fd/%d", opened);
    int id = inotify_add_watch(watcher->fd, path, FILE_EVENTS | FOLDER_EVENTS);
    int why = errno;
    close(opened);
    if (id < 0 && why == ENOSPC)
        return pellet_fail(error, PELLET_E_SPACE,
                           "cannot watch \"%s\": the system's limit of watched folders "
                           "(fs.inotify.max_user_watches) is reached",
                           *folder ? folder : ".");
    if (id < 0)
        return pellet_fail_errno(error, why, "cannot watch \"%s\"", *folder ? folder : ".");
    if (!remember(watcher, id, folder))
        return pellet_fail(error, PELLET_E_MEMORY, "no memory to watch another folder");
    return PELLET_OK;
}

static void file_event(const struct watched_folder *folder, const struct inotify_event *event,
                       watcher_sink *sink, void *context)
{
    char name[PATH_MAX];
    int n = snprintf(name, sizeof name, "%s%s%s", folder->name, *folder->name ? "/" : "", event->name);
    if (n < 0 || (size_t)n >= sizeof name)
        return;
    if (event->mask & (IN_MOVED_FROM | IN_DELETE))
        sink(context, WATCHER_GONE, name);
    else if (event->mask & (IN_CLOSE_WRITE | IN_MOVED_TO))
        sink(context, WATCHER_CLOSED, name);
    else if (event->mask & IN_ATTRIB)
        sink(context, WATCHER_TOUCHED, name);
    else
        sink(context, WATCHER_CHANGED, name);
}

static void take_event(struct watcher *watcher, const struct inotify_event *event, watcher_sink *sink,
                       void *context)
{
    const struct watched_folder *folder = find(watcher, event->wd);
    if (event->mask & IN_Q_OVERFLOW)
        sink(context, WATCHER_SCAN, "");
    if (!folder)
        return;
    const bool top = !*folder->name;
    if (event->mask & (IN_DELETE_SELF | IN_MOVE_SELF | IN_UNMOUNT | IN_IGNORED)) {
        if (event->mask & IN_IGNORED)
            forget(watcher, event->wd);
        if (top)
            sink(context, WATCHER_LOST, "");
    } else if (event->mask & IN_ISDIR) {
        /* A folder of files was moved in, or one that we watch has another name now. */
        if (event->mask & (IN_CREATE | IN_MOVED_TO | IN_ATTRIB))
            sink(context, WATCHER_SCAN, "");
        if (event->len > 0)
            file_event(folder, event, sink, context);
    } else if (event->len > 0) {
        file_event(folder, event, sink, context);
    }
}

static void take(struct watcher *watcher, watcher_sink *sink, void *context)
{
    _Alignas(struct inotify_event) char events[EVENTS_BYTES];
    /* They may come as fast as they are taken: what else there is to do is looked at between. */
    for (int turn = 0; turn < TURNS_MAX; turn++) {
        ssize_t n = read(watcher->fd, events, sizeof events);
        if (n < 0 && errno == EINTR)
            continue;
        if (n <= 0)
            return;
        for (const char *at = events; at < events + n;) {
            const struct inotify_event *event = (const struct inotify_event *)(const void *)at;
            take_event(watcher, event, sink, context);
            at += sizeof *event + event->len;
        }
    }
}

const struct watcher_kind watcher_inotify = {"inotify", 0, start, stop, add, take};
