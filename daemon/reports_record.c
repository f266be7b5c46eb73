// SPDX-License-Identifier: GPL-3.0-or-later
#include "reports_record.h"

#include "reports_items.h"
#include "session.h"

#include <ctype.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define FOLDER     "reports/"
#define BENCH_NAME FOLDER "bench.html"
#define RECORD_MAX ((uint64_t)256 << 20)
/* The last line of a record, a comment after its end. */
#define SEAL           "<!-- pelletd record revision %u %s %s -->\n"
#define SEAL_BYTES_MAX 160
#define REVISIONS_MAX  9999

/* What a record that is there says of itself. */
struct seal {
    unsigned revision; /* 0: there is none, or it is not whole */
    bool closed;
    char basis[PELLET_SHA256_HEX];
};

void report_job_free(struct report_job *job)
{
    if (!job)
        return;
    pellet_arena_free(&job->arena);
    free(job);
}

bool report_session_is_good(const char *session)
{
    static const char allowed[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789._-";
    const size_t n = session ? strlen(session) : 0;
    /* They begin with the year, so none of them is called like another file of ours. */
    return n > 0 && n < SESSION_ID_MAX && strspn(session, allowed) == n && isdigit((unsigned char)session[0]);
}

/* ---------------------------------------------------------------- files */

static void add_path(struct pellet_text *out, unsigned revision, const char *session, const char *ending)
{
    pellet_text_adds(out, FOLDER);
    if (revision > 0)
        pellet_text_addf(out, "revision-%u/", revision);
    pellet_text_addf(out, "%s%s", session, ending);
}

static bool is_there(const struct report_job *job, unsigned revision, const char *ending)
{
    struct pellet_text path = {0};
    add_path(&path, revision, job->session, ending);
    int file =
        pellet_open_beneath(job->place->output, pellet_text_string(&path), O_PATH | O_NOFOLLOW, 0, NULL);
    if (file >= 0)
        close(file);
    pellet_text_free(&path);
    return file >= 0;
}

/* What is not where it was may be an empty mount point, or somebody else's folder by now. */
static pellet_status check_here(const struct report_job *job, struct pellet_error *error)
{
    char why[200];
    return station_is_here(job->place->config, job->place->folder, why, sizeof why)
               ? PELLET_OK
               : pellet_fail(error, PELLET_E_MISSING, "%s", why);
}

static pellet_status write_file(const struct report_job *job, const char *path, const void *bytes, size_t n,
                                struct pellet_error *error)
{
    const char *slash = strrchr(path, '/');
    struct pellet_text parent = {0};
    pellet_text_add(&parent, path, slash ? (size_t)(slash - path) : 0);
    pellet_status status = pellet_text_status(&parent);
    if (status == PELLET_OK)
        status = pellet_make_folder(job->place->output, pellet_text_string(&parent), error);
    if (status == PELLET_OK)
        status = pellet_write_atomic(job->place->output, path, bytes, n, error);
    pellet_text_free(&parent);
    return status;
}

static pellet_status write_ending(const struct report_job *job, const char *ending,
                                  const struct pellet_text *content, struct pellet_error *error)
{
    struct pellet_text path = {0};
    add_path(&path, 0, job->session, ending);
    pellet_status status = pellet_text_status(&path);
    if (status == PELLET_OK)
        status = write_file(job, path.data, content->data, content->length, error);
    pellet_text_free(&path);
    return status;
}

/* ---------------------------------------------------------------- the seal */

static void read_seal(const struct report_job *job, struct seal *seal)
{
    char end[SEAL_BYTES_MAX + 1];
    char state[16];
    struct stat st;
    struct pellet_text path = {0};
    *seal = (struct seal){0};
    add_path(&path, 0, job->session, ".html");
    int file = pellet_open_beneath(job->place->output, pellet_text_string(&path),
                                   O_RDONLY | O_NONBLOCK | O_NOFOLLOW, 0, NULL);
    pellet_text_free(&path);
    if (file < 0)
        return;
    ssize_t n = -1;
    if (fstat(file, &st) == 0 && S_ISREG(st.st_mode))
        n = pread(file, end, SEAL_BYTES_MAX, st.st_size > SEAL_BYTES_MAX ? st.st_size - SEAL_BYTES_MAX : 0);
    close(file);
    if (n <= 0)
        return;
    end[n] = '\0';
    const char *line = strstr(end, "<!-- pelletd record");
    unsigned revision = 0;
    if (line &&
        sscanf(line, "<!-- pelletd record revision %4u %15s %64s -->", &revision, state, seal->basis) == 3) {
        seal->revision = revision;
        seal->closed = strcmp(state, "closed") == 0;
    }
}

static void add_seal(const struct report_job *job, struct pellet_text *html)
{
    pellet_text_addf(html, SEAL, job->revision, job->closed ? "closed" : "open", job->basis);
}

/* ---------------------------------------------------------------- revisions */

/* The number of a revision that was kept is not given again, even where the newest record was removed. */
static unsigned next_revision(const struct report_job *job, const struct seal *seal)
{
    unsigned revision = seal->revision > 0 ? seal->revision : 1;
    if (seal->revision > 0 && seal->closed)
        revision++;
    while (revision < REVISIONS_MAX && is_there(job, revision, ".html"))
        revision++;
    return revision;
}

/* A copy that is there already is of an earlier try, from before the newest files were changed. */
static pellet_status keep_one(const struct report_job *job, unsigned revision, const char *ending,
                              struct pellet_error *error)
{
    struct pellet_text from = {0};
    struct pellet_text to = {0};
    struct pellet_bytes bytes = {0};
    if (is_there(job, revision, ending))
        return PELLET_OK;
    add_path(&from, 0, job->session, ending);
    add_path(&to, revision, job->session, ending);
    pellet_status status = from.failed || to.failed ? PELLET_E_MEMORY
                                                    : pellet_read_file(job->place->output, from.data,
                                                                       RECORD_MAX, &bytes, NULL, error);
    if (status == PELLET_OK)
        status = write_file(job, to.data, bytes.data, bytes.n, error);
    else if (status == PELLET_E_MISSING)
        status = PELLET_OK;
    pellet_bytes_free(&bytes);
    pellet_text_free(&from);
    pellet_text_free(&to);
    return status;
}

/* The table first: the page is what the next start goes by. */
static pellet_status keep_closed(const struct report_job *job, const struct seal *seal,
                                 struct pellet_error *error)
{
    pellet_status status = PELLET_OK;
    if (seal->revision > 0 && seal->closed)
        status = keep_one(job, seal->revision, ".csv", error);
    if (status == PELLET_OK && seal->revision > 0 && seal->closed)
        status = keep_one(job, seal->revision, ".html", error);
    return status;
}

/* ---------------------------------------------------------------- the pages */

static struct pellet_report describe(const struct report_job *job, const struct report_items *items)
{
    struct pellet_report report = {.station = job->place->config->name,
                                   .session = job->session,
                                   .zone = job->place->config->timezone,
                                   .by = "pelletd " PELLET_VERSION,
                                   .now = job->now,
                                   .closed = job->closed,
                                   .stopped = job->stopped,
                                   .revision = job->revision,
                                   .item_count = items->n,
                                   .item = items->item};
    memcpy(report.tally, job->tally, sizeof report.tally);
    return report;
}

static pellet_status write_record(const struct report_job *job, const struct pellet_report *report,
                                  struct pellet_error *error)
{
    struct pellet_text csv = {0};
    struct pellet_text html = {0};
    pellet_status status = pellet_report_table(report, &csv);
    if (status == PELLET_OK)
        status = write_ending(job, ".csv", &csv, error);
    pellet_text_free(&csv);
    if (status == PELLET_OK)
        status = pellet_report_record(report, &html);
    add_seal(job, &html);
    if (status == PELLET_OK)
        status = pellet_text_status(&html);
    if (status == PELLET_OK)
        status = write_ending(job, ".html", &html, error);
    /* What will not be written again is made durable at once. */
    if (status == PELLET_OK && job->closed)
        (void)pellet_sync_folder(job->place->output, NULL);
    pellet_text_free(&html);
    return status;
}

static pellet_status make_record(struct report_job *job, const struct seal *seal)
{
    struct report_items items;
    struct pellet_rules shipped = {0};
    const struct pellet_rules *rules = NULL;
    job->revision = next_revision(job, seal);
    pellet_status status = report_items_read(job, false, &items);
    if (status == PELLET_OK)
        status = check_here(job, &job->error);
    if (status == PELLET_OK)
        status = keep_closed(job, seal, &job->error);
    if (status == PELLET_OK) {
        struct pellet_report report = describe(job, &items);
        report_items_settings(job, &job->arena, report.setting);
        report_items_rules(job, &items, &shipped, &rules);
        report.rules = rules;
        status = write_record(job, &report, &job->error);
    }
    if (rules == &shipped)
        pellet_rules_clear(&shipped);
    report_items_clear(&items);
    return status;
}

static void finish(struct report_job *job, pellet_status status, int64_t start_ms)
{
    job->result = status == PELLET_OK ? REPORT_WRITTEN : REPORT_FAILED;
    if (status != PELLET_OK && job->error.status == PELLET_OK)
        pellet_fail(&job->error, status, "%s", pellet_status_text(status));
    job->took_ms = clock_monotonic_ms() - start_ms;
}

void report_record_run(struct job *base)
{
    struct report_job *job = (struct report_job *)base;
    struct seal seal;
    const int64_t start_ms = clock_monotonic_ms();
    read_seal(job, &seal);
    /* A record that was closed stays so for as long as it says what there is to say. */
    const bool same = seal.revision > 0 && strcmp(seal.basis, job->basis) == 0 &&
                      (seal.closed || !job->closed) && is_there(job, 0, ".csv");
    /* Its spectra belong to another session by now. */
    if (same || job->n == 0) {
        job->result = REPORT_GOOD;
        job->revision = seal.revision;
        return;
    }
    if (strcmp(seal.basis, job->basis) == 0 && seal.closed) {
        /* Only its table is missing: the same revision once more. */
        job->closed = true;
        seal.closed = false;
    }
    finish(job, make_record(job, &seal), start_ms);
}

void report_bench_run(struct job *base)
{
    struct report_job *job = (struct report_job *)base;
    struct report_items items;
    struct pellet_text html = {0};
    const int64_t start_ms = clock_monotonic_ms();
    pellet_status status = report_items_read(job, true, &items);
    if (status == PELLET_OK) {
        const struct pellet_report report = describe(job, &items);
        status = pellet_report_bench(&report, &html);
    }
    if (status == PELLET_OK)
        status = check_here(job, &job->error);
    if (status == PELLET_OK)
        status = write_file(job, BENCH_NAME, html.data, html.length, &job->error);
    pellet_text_free(&html);
    report_items_clear(&items);
    finish(job, status, start_ms);
}
