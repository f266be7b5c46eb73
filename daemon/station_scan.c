// SPDX-License-Identifier: GPL-3.0-or-later
/* Looking through a station's whole folder. */
#include "station_parts.h"

#include "log.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

struct scanning {
    struct station *station;
    void (*on_folder)(void *context, const char *name);
    void *context;
    struct stat output; /* a configured output below the folder is not looked into */
    bool has_output;
    struct pellet_text unread; /* sub-folders that could not be read, a line each */
};

static bool enters(const struct scanning *scanning, const char *name, const char *last, const struct stat *st)
{
    if (*last == '.' || strcasecmp(name, "reports") == 0)
        return false;
    return !scanning->has_output || st->st_dev != scanning->output.st_dev ||
           st->st_ino != scanning->output.st_ino;
}

/* What is denied to us stays so; what else keeps us from looking may pass. It does not count as gone. */
static void overlooked(struct scanning *scanning, const char *name, const struct pellet_error *error)
{
    struct entry *entry = entry_find(&scanning->station->index, name);
    if (entry && entry->present)
        entry->scan = scanning->station->scan;
    pellet_text_addf(&scanning->unread, "%s: %s\n", name, error->message);
    if (error->status == PELLET_E_DENIED)
        scanning->station->failed = true;
    else
        station_doubt(scanning->station);
}

static void scan_below(struct scanning *scanning, const char *folder, int64_t depth);

static void scan_item(struct scanning *scanning, int directory, const char *folder, const char *last,
                      int64_t depth)
{
    struct station *station = scanning->station;
    struct stat st;
    struct pellet_text name = {0};
    struct pellet_error error = {0};
    pellet_text_addf(&name, "%s%s%s", folder, *folder ? "/" : "", last);
    if (pellet_text_status(&name) != PELLET_OK)
        pellet_fail(&error, PELLET_E_MEMORY, "no memory for its name");
    else if (fstatat(directory, last, &st, AT_SYMLINK_NOFOLLOW) < 0)
        pellet_fail_errno(&error, errno, "cannot look at it");
    if (error.status != PELLET_OK) {
        if (error.status != PELLET_E_MISSING)
            overlooked(scanning, pellet_text_string(&name), &error);
    } else if (S_ISDIR(st.st_mode) && depth > 0) {
        if (enters(scanning, name.data, last, &st))
            scan_below(scanning, name.data, depth - 1);
    } else if (name_is_input(name.data, &station->config->include)) {
        station_found_file(station, name.data, &st);
    }
    pellet_text_free(&name);
}

/* What lies below a folder that cannot be read now is not gone. */
static void keep_below(struct scanning *scanning, const char *folder, const struct pellet_error *error)
{
    const struct station *station = scanning->station;
    const size_t n = strlen(folder);
    for (size_t i = 0; i < station->index.n; i++) {
        struct entry *entry = station->index.item[i];
        if (entry->present && strncmp(entry->name, folder, n) == 0 && entry->name[n] == '/')
            entry->scan = station->scan;
    }
    overlooked(scanning, folder, error);
}

/* A sub-folder is watched first and then looked through, so that nothing falls between. */
static pellet_status scan_folder(struct scanning *scanning, const char *folder, int64_t depth,
                                 struct pellet_error *error)
{
    if (scanning->on_folder)
        scanning->on_folder(scanning->context, folder);
    int descriptor = pellet_open_beneath(scanning->station->place.folder, *folder ? folder : ".",
                                         O_RDONLY | O_DIRECTORY, 0, error);
    if (descriptor < 0)
        return error->status;
    DIR *directory = fdopendir(descriptor);
    if (!directory) {
        close(descriptor);
        return pellet_fail_errno(error, errno, "cannot look into the folder");
    }
    errno = 0;
    for (struct dirent *item = readdir(directory); item; errno = 0, item = readdir(directory)) {
        if (strcmp(item->d_name, ".") != 0 && strcmp(item->d_name, "..") != 0)
            scan_item(scanning, descriptor, folder, item->d_name, depth);
    }
    /* A share that drops out in the middle lists less than there is. */
    const int why = errno;
    closedir(directory);
    return why == 0 ? PELLET_OK : pellet_fail_errno(error, why, "cannot look through the folder");
}

static void scan_below(struct scanning *scanning, const char *folder, int64_t depth)
{
    struct pellet_error error = {0};
    const pellet_status status = scan_folder(scanning, folder, depth, &error);
    if (status != PELLET_OK && status != PELLET_E_MISSING)
        keep_below(scanning, folder, &error);
}

/* Said when it begins and not again with every scan. */
static void say_unread(struct station *station, struct pellet_text *unread)
{
    const char *now = pellet_text_string(unread);
    if (*now && strcmp(now, pellet_text_string(&station->unread)) != 0)
        log_say(LOG_LEVEL_WARNING, station->config->name, "left as it is: %.*s", (int)strcspn(now, "\n"),
                now);
    pellet_text_free(&station->unread);
    station->unread = *unread;
    *unread = (struct pellet_text){0};
}

static int by_export_time(const void *a, const void *b)
{
    const struct entry *const *left = a;
    const struct entry *const *right = b;
    if ((*left)->id.mtime_ns != (*right)->id.mtime_ns)
        return (*left)->id.mtime_ns < (*right)->id.mtime_ns ? -1 : 1;
    return strcmp((*left)->name, (*right)->name);
}

pellet_status station_scan(struct station *station, bool first,
                           void (*on_folder)(void *context, const char *name), void *context,
                           struct pellet_error *error)
{
    struct scanning scanning = {.station = station, .on_folder = on_folder, .context = context};
    struct stat st;
    if (fstat(station->place.folder, &st) < 0 || fstat(station->place.output, &scanning.output) < 0) {
        pellet_fail_errno(error, errno, "cannot look into the folder");
        station_doubt(station);
        return error->status;
    }
    /* reports/, the kinds of derived files in it, and the mirrored sub-folders below those. */
    if (first && station->writes)
        station_sweep(station, ".", station->config->depth + 2);
    scanning.has_output = st.st_dev != scanning.output.st_dev || st.st_ino != scanning.output.st_ino;
    station->scan++;
    if (first)
        station_read_worksheet(station);
    station->starting = first;
    const pellet_status status = scan_folder(&scanning, "", station->config->depth, error);
    station->starting = false;
    if (status != PELLET_OK) {
        pellet_text_free(&scanning.unread);
        station_doubt(station);
        return status;
    }
    say_unread(station, &scanning.unread);
    for (size_t i = 0; i < station->index.n; i++)
        station_mark_present(station, station->index.item[i], station->index.item[i]->scan == station->scan);
    /* A folder lists its files in any order; in that of their times they take their places at the end. */
    const size_t first_ready = station->ready_first;
    if (station->ready.n > first_ready)
        qsort(station->ready.item + first_ready, station->ready.n - first_ready, sizeof(struct entry *),
              by_export_time);
    return PELLET_OK;
}
