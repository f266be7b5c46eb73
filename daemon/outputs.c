// SPDX-License-Identifier: GPL-3.0-or-later
#include "outputs.h"

#include "reading.h"

#include "pellet/report.h"

#include <errno.h>
#include <fcntl.h>
#include <math.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define VERDICT_MAX ((uint64_t)1 << 20)

/* ---------------------------------------------------------------- the derived files */

/* One kind of derived file: for which verdicts it is made, where, and how. */
struct derived {
    const char *folder, *ending;
    bool (*wanted)(const struct pellet_verdict *verdict, const struct pellet_spectrum *ratio);
    pellet_status (*make)(const struct pellet_verdict *verdict, const struct outputs_spectra *spectra,
                          struct pellet_text *out, struct pellet_error *error);
};

/* Ratioed spectra that are fit for use: those of passes only. */
static bool wants_ratioed(const struct pellet_verdict *verdict, const struct pellet_spectrum *ratio)
{
    return ratio && ratio->n > 0 && verdict->role == PELLET_SAMPLE && verdict->outcome == PELLET_PASS;
}

static pellet_status make_ratioed(const struct pellet_verdict *verdict, const struct outputs_spectra *spectra,
                                  struct pellet_text *out, struct pellet_error *error)
{
    return pellet_jcamp_write(spectra->ratio, verdict->by ? verdict->by : "pelletd", out, error);
}

/* Two points make a line. */
static bool wants_picture(const struct pellet_verdict *verdict, const struct pellet_spectrum *ratio)
{
    size_t finite = 0;
    (void)verdict;
    for (size_t i = 0; ratio && i < ratio->n && finite < 2; i++)
        finite += isfinite(ratio->y[i]) != 0;
    return finite >= 2;
}

static pellet_status make_picture(const struct pellet_verdict *verdict, const struct outputs_spectra *spectra,
                                  struct pellet_text *out, struct pellet_error *error)
{
    pellet_status status = pellet_report_picture(spectra->ratio, spectra->blank, verdict, out);
    return status == PELLET_OK ? status : pellet_fail(error, status, "cannot draw the spectrum");
}

static const struct derived derived[] = {
    {"pictures", ".svg", wants_picture, make_picture},
    {"ratioed", ".jdx", wants_ratioed, make_ratioed},
};
enum { DERIVED_COUNT = sizeof derived / sizeof derived[0] };

/*
 * With the folders that lead to it. Where one of these is something else (a file called `reports`, a link),
 * that is trouble with all outputs, which passes when somebody moves it away: not E_KIND, which is about one
 * file.
 */
static pellet_status write_in_folder(int folder, const char *name, const struct pellet_text *text,
                                     struct pellet_error *error)
{
    pellet_status status = pellet_write_atomic(folder, name, text->data, text->length, error);
    const char *slash = strrchr(name, '/');
    if (!slash || (status != PELLET_E_MISSING && status != PELLET_E_KIND))
        return status;
    struct pellet_text parent = {0};
    pellet_text_add(&parent, name, (size_t)(slash - name));
    status = pellet_text_status(&parent);
    if (status == PELLET_OK)
        status = pellet_make_folder(folder, parent.data, error);
    if (status == PELLET_E_KIND)
        status =
            pellet_fail(error, PELLET_E_IO, "\"%s\" is no folder, or is reached through a link", parent.data);
    if (status == PELLET_OK)
        status = pellet_write_atomic(folder, name, text->data, text->length, error);
    pellet_text_free(&parent);
    return status;
}

static pellet_status write_derived(const struct place *place, const struct derived *kind, const char *file,
                                   const struct pellet_verdict *verdict,
                                   const struct outputs_spectra *spectra, struct pellet_error *error)
{
    struct pellet_text text = {0};
    pellet_status status = kind->make(verdict, spectra, &text, error);
    if (status == PELLET_OK && pellet_text_status(&text) != PELLET_OK)
        status = pellet_fail(error, PELLET_E_MEMORY, "no memory for %s", file);
    if (status == PELLET_OK)
        status = write_in_folder(place->output, file, &text, error);
    pellet_text_free(&text);
    return status;
}

/* The names of what will be derived, into the verdict. */
pellet_status outputs_list(const char *name, const struct pellet_spectrum *ratio,
                           struct pellet_verdict *verdict, struct pellet_error *error)
{
    verdict->output_count = 0;
    verdict->output = pellet_arena_alloc(&verdict->arena, DERIVED_COUNT * sizeof *verdict->output);
    for (size_t i = 0; verdict->output && i < DERIVED_COUNT; i++) {
        if (!derived[i].wanted(verdict, ratio))
            continue;
        struct pellet_text file = {0};
        place_output_name(name, derived[i].folder, derived[i].ending, &file);
        const char *copy = pellet_text_status(&file) == PELLET_OK
                               ? pellet_arena_string(&verdict->arena, pellet_text_string(&file))
                               : NULL;
        pellet_text_free(&file);
        if (!copy)
            return pellet_fail(error, PELLET_E_MEMORY, "no memory for the verdict");
        verdict->output[verdict->output_count++] = copy;
    }
    return verdict->output ? PELLET_OK : pellet_fail(error, PELLET_E_MEMORY, "no memory for the verdict");
}

static bool lists(const struct pellet_verdict *verdict, const char *file)
{
    for (size_t i = 0; i < verdict->output_count; i++) {
        if (strcmp(verdict->output[i], file) == 0)
            return true;
    }
    return false;
}

static pellet_status write_all_derived(const struct place *place, const char *name,
                                       const struct outputs_spectra *spectra,
                                       const struct pellet_verdict *verdict, struct pellet_error *error)
{
    pellet_status status = PELLET_OK;
    for (size_t i = 0; i < DERIVED_COUNT && status == PELLET_OK; i++) {
        struct pellet_text file = {0};
        place_output_name(name, derived[i].folder, derived[i].ending, &file);
        if (pellet_text_status(&file) != PELLET_OK)
            status = pellet_fail(error, PELLET_E_MEMORY, "no memory for the name of a derived file");
        else if (lists(verdict, file.data))
            status = write_derived(place, &derived[i], file.data, verdict, spectra, error);
        pellet_text_free(&file);
    }
    return status;
}

/*
 * Remove what the new verdict does not list. Only names that we would give to files derived from this
 * spectrum are removed, so that a planted list cannot have anything else deleted.
 */
static void remove_outdated(const struct place *place, const char *name, const struct pellet_verdict *verdict)
{
    for (size_t i = 0; i < DERIVED_COUNT; i++) {
        struct pellet_text file = {0};
        place_output_name(name, derived[i].folder, derived[i].ending, &file);
        const char *path = pellet_text_string(&file);
        const char *slash = strrchr(path, '/');
        if (slash && !lists(verdict, path)) {
            struct pellet_text parent = {0};
            pellet_text_add(&parent, path, (size_t)(slash - path));
            int folder = pellet_open_beneath(place->output, pellet_text_string(&parent), O_PATH | O_DIRECTORY,
                                             0, NULL);
            if (folder >= 0) {
                /* Mostly there is none. */
                (void)unlinkat(folder, slash + 1, 0);
                close(folder);
            }
            pellet_text_free(&parent);
        }
        pellet_text_free(&file);
    }
}

bool outputs_complete(const struct place *place, const struct pellet_verdict *verdict)
{
    for (size_t i = 0; i < verdict->output_count; i++) {
        int file = pellet_open_beneath(place->output, verdict->output[i], O_PATH | O_NOFOLLOW, 0, NULL);
        if (file < 0)
            return false;
        close(file);
    }
    return true;
}

pellet_status outputs_restore(const struct place *place, const char *name,
                              const struct outputs_spectra *spectra, struct pellet_verdict *verdict,
                              struct pellet_error *error)
{
    pellet_status status = outputs_list(name, spectra->ratio, verdict, error);
    return status == PELLET_OK ? write_all_derived(place, name, spectra, verdict, error) : status;
}

/* ---------------------------------------------------------------- the verdict */

static bool copy_previous(struct pellet_verdict *verdict, const struct pellet_previous *from)
{
    struct pellet_previous *to = &verdict->previous[verdict->previous_count];
    *to = *from;
    to->summary = pellet_arena_string(&verdict->arena, from->summary ? from->summary : "");
    verdict->previous_count += to->summary != NULL;
    return to->summary != NULL;
}

/* What the verdict that is replaced said of another content, and what that one remembered. */
static pellet_status remember_previous(const struct pellet_verdict *old, struct pellet_verdict *verdict,
                                       struct pellet_error *error)
{
    bool good = true;
    verdict->previous_count = 0;
    verdict->previous = pellet_arena_alloc(&verdict->arena, PREVIOUS_MAX * sizeof *verdict->previous);
    if (!verdict->previous)
        return pellet_fail(error, PELLET_E_MEMORY, "no memory for the verdict");
    if (strcmp(old->sha256, verdict->sha256) != 0) {
        struct pellet_previous last = {
            .verdict = old->outcome, .summary = old->summary, .judged = old->judged};
        memcpy(last.sha256, old->sha256, sizeof last.sha256);
        good = copy_previous(verdict, &last);
    }
    for (size_t i = 0; good && i < old->previous_count && verdict->previous_count < PREVIOUS_MAX; i++)
        good = copy_previous(verdict, &old->previous[i]);
    return good ? PELLET_OK : pellet_fail(error, PELLET_E_MEMORY, "no memory for the verdict");
}

static pellet_status take_previous(const struct place *place, const char *file,
                                   struct pellet_verdict *verdict, struct pellet_error *error)
{
    struct pellet_bytes bytes = {0};
    struct pellet_verdict old;
    pellet_status status = PELLET_OK;
    if (pellet_read_file(place->output, file, VERDICT_MAX, &bytes, NULL, NULL) != PELLET_OK)
        return PELLET_OK;
    pellet_status found = pellet_verdict_read(bytes.data, bytes.n, &old, NULL);
    pellet_bytes_free(&bytes);
    if (found == PELLET_OK) {
        status = remember_previous(&old, verdict, error);
        pellet_verdict_clear(&old);
    } else if (found == PELLET_E_LIMIT) {
        status = pellet_fail(error, PELLET_E_LIMIT,
                             "its verdict was written by a newer pelletd and is left alone");
    }
    return status;
}

static pellet_status check_unchanged(const struct place *place, const char *name,
                                     const struct pellet_file_id *id, struct pellet_error *error)
{
    struct stat st;
    struct pellet_error opening = {0};
    int file = pellet_open_beneath(place->folder, name, O_PATH | O_NOFOLLOW, 0, &opening);
    /* That it cannot be looked at just now is no change. */
    if (file < 0 && reading_may_pass(opening.status)) {
        *error = opening;
        return opening.status;
    }
    if (file >= 0 && fstat(file, &st) < 0) {
        const int why = errno;
        close(file);
        return pellet_fail_errno(error, why, "cannot look again at %s", name);
    }
    bool same = file >= 0 && st.st_dev == id->device && st.st_ino == id->inode &&
                (!S_ISREG(st.st_mode) || (uint64_t)st.st_size == id->bytes) &&
                pellet_ns_of_file(st.st_mtim) == id->mtime_ns;
    if (file >= 0)
        close(file);
    return same ? PELLET_OK
                : pellet_fail(error, PELLET_E_CHANGED,
                              "it changed while it was judged; it will be judged anew");
}

static pellet_status write_verdict(const struct place *place, const char *file,
                                   const struct pellet_verdict *verdict, struct pellet_error *error)
{
    struct pellet_text text = {0};
    pellet_status status = pellet_verdict_write(verdict, &text);
    if (status == PELLET_OK)
        status = pellet_text_status(&text);
    if (status != PELLET_OK)
        pellet_fail(error, status, "the verdict cannot be put into words");
    else
        status = write_in_folder(place->output, file, &text, error);
    pellet_text_free(&text);
    return status;
}

pellet_status outputs_publish(const struct place *place, const char *name, const struct pellet_file_id *id,
                              const struct outputs_spectra *spectra, struct pellet_verdict *verdict,
                              struct pellet_error *error)
{
    char why[200];
    struct pellet_text file = {0};
    pellet_verdict_name(name, &file);
    pellet_status status = pellet_text_status(&file);
    if (status == PELLET_OK)
        status = outputs_list(name, spectra->ratio, verdict, error);
    if (status == PELLET_OK)
        status = take_previous(place, file.data, verdict, error);
    if (status == PELLET_OK)
        status = check_unchanged(place, name, id, error);
    /* What is not where it was may be an empty mount point, or somebody else's folder by now. */
    if (status == PELLET_OK && !station_is_here(place->config, place->folder, why, sizeof why))
        status = pellet_fail(error, PELLET_E_MISSING, "%s", why);
    if (status == PELLET_OK) {
        remove_outdated(place, name, verdict);
        status = write_all_derived(place, name, spectra, verdict, error);
    }
    if (status == PELLET_OK)
        status = write_verdict(place, file.data, verdict, error);
    pellet_text_free(&file);
    return status;
}
