// SPDX-License-Identifier: GPL-3.0-or-later
#include "reports_orphans.h"

#include "log.h"
#include "station_parts.h"

#include <dirent.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <unistd.h>

#define VERDICT_MAX ((uint64_t)1 << 20)
/* More are an archive that was moved away; its records were written long ago. */
#define ORPHANS_MAX 20000

static const char ending[] = ".verdict.yaml";

struct orphans_job *orphans_new(const struct place *place)
{
    struct orphans_job *job = calloc(1, sizeof *job);
    if (job) {
        job->job.run = orphans_run;
        job->place = place;
    }
    return job;
}

void orphans_free(struct orphans_job *job)
{
    if (!job)
        return;
    for (size_t i = 0; i < job->n; i++)
        pellet_verdict_clear(&job->verdict[i]);
    free(job->verdict);
    free(job);
}

static bool is_there(int folder, const char *name)
{
    int file = pellet_open_beneath(folder, name, O_PATH | O_NOFOLLOW, 0, NULL);
    if (file >= 0)
        close(file);
    return file >= 0;
}

static bool make_room(struct orphans_job *job)
{
    if (job->n < job->capacity)
        return true;
    const size_t capacity = job->capacity ? 2 * job->capacity : 64;
    struct pellet_verdict *list = realloc(job->verdict, capacity * sizeof *list);
    if (!list)
        return false;
    job->verdict = list;
    job->capacity = capacity;
    return true;
}

/* Whether this verdict stands where that of its file belongs: what was planted or copied elsewhere
 * does not. */
static bool stands_at(const struct pellet_verdict *verdict, const char *path)
{
    struct pellet_text name = {0};
    pellet_verdict_name(verdict->file ? verdict->file : "", &name);
    const bool same = strcmp(pellet_text_string(&name), path) == 0;
    pellet_text_free(&name);
    return same;
}

static void look_at(struct orphans_job *job, const char *path)
{
    const size_t n = strlen(path);
    struct pellet_bytes bytes = {0};
    struct pellet_verdict verdict;
    if (n < sizeof ending || strcmp(path + n - (sizeof ending - 1), ending) != 0 || job->n >= ORPHANS_MAX)
        return;
    /* Mostly the spectrum lies beside it, and the verdict need not be read. */
    char *stem = strndup(path, n - (sizeof ending - 1));
    const bool beside = stem && is_there(job->place->folder, stem);
    free(stem);
    if (beside || pellet_read_file(job->place->output, path, VERDICT_MAX, &bytes, NULL, NULL) != PELLET_OK)
        return;
    if (pellet_verdict_read_brief(bytes.data, bytes.n, &verdict, NULL) == PELLET_OK) {
        if (stands_at(&verdict, path) && !is_there(job->place->folder, verdict.file) && make_room(job))
            job->verdict[job->n++] = verdict;
        else
            pellet_verdict_clear(&verdict);
    }
    pellet_bytes_free(&bytes);
}

static void look_through(struct orphans_job *job, const char *folder, int64_t depth)
{
    int descriptor =
        pellet_open_beneath(job->place->output, *folder ? folder : ".", O_RDONLY | O_DIRECTORY, 0, NULL);
    DIR *directory = descriptor >= 0 ? fdopendir(descriptor) : NULL;
    if (!directory) {
        if (descriptor >= 0)
            close(descriptor);
        return;
    }
    for (struct dirent *item = readdir(directory); item; item = readdir(directory)) {
        struct stat st;
        struct pellet_text path = {0};
        if (*item->d_name == '.' || strcasecmp(item->d_name, "reports") == 0)
            continue;
        pellet_text_addf(&path, "%s%s%s", folder, *folder ? "/" : "", item->d_name);
        if (pellet_text_status(&path) == PELLET_OK &&
            fstatat(descriptor, item->d_name, &st, AT_SYMLINK_NOFOLLOW) == 0) {
            if (S_ISDIR(st.st_mode) && depth > 0)
                look_through(job, path.data, depth - 1);
            else if (S_ISREG(st.st_mode))
                look_at(job, path.data);
        }
        pellet_text_free(&path);
    }
    closedir(directory);
}

void orphans_run(struct job *base)
{
    struct orphans_job *job = (struct orphans_job *)base;
    look_through(job, "", job->place->config->depth);
}

void orphans_adopt(struct station *station, const struct orphans_job *job)
{
    for (size_t i = 0; i < job->n; i++) {
        const struct pellet_verdict *verdict = &job->verdict[i];
        if (entry_find(&station->index, verdict->file))
            continue;
        struct entry *entry = entry_add(&station->index, verdict->file);
        /* It is not wanted and not present: it serves no pairing, and is only told of. */
        if (!entry || !entry_adopt_verdict(entry, verdict)) {
            log_say(LOG_LEVEL_ERROR, verdict->file, "no memory for it; the record will lack it");
            station->failed = true;
            continue;
        }
        entry->stage = ENTRY_DONE;
        entry->id.mtime_ns = verdict->mtime_ns;
    }
}
