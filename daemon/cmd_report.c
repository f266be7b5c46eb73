// SPDX-License-Identifier: GPL-3.0-or-later
/* The session records of a folder, made anew from the verdicts in it. Nothing is judged. */
#include "command.h"
#include "log.h"
#include "override.h"
#include "reports.h"

#include <errno.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct report_run {
    struct config config;
    struct pellet_arena arena;
    struct station_config station;
    struct reports *reports;
    const char *output; /* what the names of records are relative to */
    size_t records;
};

static void on_verdict(void *context, struct entry *entry, const struct pellet_verdict *verdict, bool fresh)
{
    struct report_run *run = context;
    (void)verdict;
    reports_told(run->reports, entry, fresh);
}

/* "path, what became of it", to be cut at the tab. */
static void on_record(void *context, const struct report_job *record)
{
    struct report_run *run = context;
    struct pellet_text line = {0};
    run->records++;
    if (record->result == REPORT_FAILED)
        return;
    pellet_text_add_visible(&line, run->output, strlen(run->output));
    pellet_text_addf(&line, "/reports/%s.html\t%s, %zu spectra", record->session,
                     record->result == REPORT_GOOD ? "as it was" : "written", record->n);
    if (record->revision > 1)
        pellet_text_addf(&line, ", revision %u", record->revision);
    puts(pellet_text_string(&line));
    pellet_text_free(&line);
}

static bool find_station(struct report_run *run, const struct options *options, const char *path)
{
    struct pellet_error error = {0};
    char resolved[PATH_MAX];
    if (!realpath(path, resolved)) {
        log_say(LOG_LEVEL_ERROR, path, "cannot find it: %s", strerror(errno));
        return false;
    }
    const struct station_config *known = config_station_of(&run->config, resolved);
    if (known)
        run->station = *known;
    else if (station_config_default(resolved, &run->arena, &run->station, &error) != PELLET_OK) {
        log_failure(LOG_LEVEL_ERROR, path, &error);
        return false;
    }
    if (override_station(options, &run->arena, &run->station, &error) != PELLET_OK) {
        log_failure(LOG_LEVEL_ERROR, path, &error);
        return false;
    }
    run->output = run->station.output ? run->station.output : run->station.folder;
    return true;
}

static bool write_records(struct report_run *run, struct station *station)
{
    const struct reports_wish wish = {.all = true, .on_record = on_record, .context = run};
    struct pellet_error error = {0};
    if (reports_new(station, &run->reports, &error) != PELLET_OK ||
        station_scan(station, true, NULL, NULL, &error) != PELLET_OK) {
        log_failure(LOG_LEVEL_ERROR, run->station.folder, &error);
        return false;
    }
    station_finish(station);
    const bool good = reports_finish(run->reports, &wish);
    if (run->records == 0)
        log_say(LOG_LEVEL_NOTICE, run->output,
                "no verdicts here, so there is nothing to record; `pelletd judge %s` judges what is there",
                run->station.folder);
    return good && !station->failed;
}

static int report(struct report_run *run)
{
    const struct station_options how = {.look_only = true, .on_verdict = on_verdict, .context = run};
    struct pellet_error error = {0};
    struct pellet_error lock_error = {0};
    struct station *station = NULL;
    bool good = false;
    if (station_open(&run->station, &how, &station, &lock_error, &error) != PELLET_OK)
        log_failure(LOG_LEVEL_ERROR, NULL, &error);
    else if (lock_error.status == PELLET_E_BUSY)
        log_say(LOG_LEVEL_ERROR, run->station.folder,
                "a pelletd is at work here, and keeps the records in reports/ up to date by itself");
    else if (lock_error.status != PELLET_OK)
        log_failure(LOG_LEVEL_ERROR, run->station.folder, &lock_error);
    else
        good = write_records(run, station);
    reports_free(run->reports);
    station_free(station);
    return good && fflush(stdout) == 0 && !ferror(stdout) ? EXIT_PASSED : EXIT_TROUBLE;
}

int command_report(const struct options *options, int count, char **arguments)
{
    struct report_run run = {0};
    struct pellet_text problems = {0};
    struct pellet_error error = {0};
    int code = EXIT_TROUBLE;
    (void)count;
    if (config_load(options->config, &run.config, &problems, &error) != PELLET_OK) {
        log_lines(LOG_LEVEL_ERROR, &problems);
        code = EXIT_USAGE;
    } else if (find_station(&run, options, arguments[0])) {
        code = report(&run);
    }
    pellet_text_free(&problems);
    config_clear(&run.config);
    pellet_arena_free(&run.arena);
    return code;
}
