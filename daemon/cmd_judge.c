// SPDX-License-Identifier: GPL-3.0-or-later
#include "command.h"
#include "line.h"
#include "log.h"
#include "override.h"
#include "progress.h"
#include "reports.h"
#include "station.h"
#include "verify.h"

#include <errno.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* What the command carries through all its folders. */
struct judge_run {
    const struct options *options;
    struct config config;
    struct pellet_arena arena;
    struct line_style style;
    struct progress progress;
    struct reports *reports; /* of the folder in hand */
    bool not_passed, trouble, wrong;
};

/* The files of one folder that were asked for; `all` where the folder itself was. */
struct judge_group {
    struct station_config station;
    bool all;
    size_t n, capacity;
    const char **name; /* relative to the station folder */
};

static void said(struct judge_run *run, const char *what, const struct pellet_error *error)
{
    log_failure(LOG_LEVEL_ERROR, what, error);
    run->trouble = true;
}

/* ---------------------------------------------------------------- which folders, which files */

/* Whether it is a folder, perhaps by a link; a link to anything else is not followed, but refused by name
 * like any other spectrum. False, with errno set, where that cannot be told. */
static bool look(const char *path, bool *folder)
{
    struct stat st;
    struct stat target;
    if (lstat(path, &st) < 0)
        return false;
    *folder = S_ISDIR(st.st_mode);
    if (!S_ISLNK(st.st_mode))
        return true;
    const bool followed = stat(path, &target) == 0;
    *folder = followed && S_ISDIR(target.st_mode);
    return followed || errno == ENOENT || errno == ELOOP;
}

/* The station of a path and its name there; "" for the folder itself. */
static bool find_station(struct judge_run *run, const char *path, struct station_config *station,
                         const char **name)
{
    struct pellet_error error = {0};
    char resolved[PATH_MAX];
    char parent[PATH_MAX];
    bool folder = false;
    const char *slash = strrchr(path, '/');
    snprintf(parent, sizeof parent, "%.*s", slash ? (int)(slash - path) + 1 : 1, slash ? path : ".");
    if (!look(path, &folder)) {
        pellet_fail_errno(&error, errno, "cannot read it");
        said(run, path, &error);
        return false;
    }
    if (!realpath(folder ? path : parent, resolved)) {
        pellet_fail_errno(&error, errno, "cannot find it");
        said(run, path, &error);
        return false;
    }
    const struct station_config *known = config_station_of(&run->config, resolved);
    if (known)
        *station = *known;
    else if (station_config_default(resolved, &run->arena, station, &error) != PELLET_OK) {
        said(run, path, &error);
        return false;
    }
    char known_folder[PATH_MAX];
    const char *base = realpath(station->folder, known_folder) ? known_folder : station->folder;
    const char *below = resolved + strlen(base);
    below += *below == '/';
    if (folder)
        *name = pellet_arena_string(&run->arena, below);
    else
        *name =
            pellet_arena_printf(&run->arena, "%s%s%s", below, *below ? "/" : "", slash ? slash + 1 : path);
    if (override_station(run->options, &run->arena, station, &error) != PELLET_OK) {
        log_say(LOG_LEVEL_ERROR, "--set", "%s", error.message);
        run->wrong = true;
        return false;
    }
    return *name != NULL;
}

static bool add_name(struct judge_run *run, struct judge_group *group, const char *name)
{
    if (!*name)
        group->all = true;
    if (group->n == group->capacity) {
        size_t capacity = group->capacity ? 2 * group->capacity : 16;
        const char **list = pellet_arena_alloc(&run->arena, capacity * sizeof *list);
        if (!list)
            return false;
        if (group->n > 0)
            memcpy(list, group->name, group->n * sizeof *list);
        group->name = list;
        group->capacity = capacity;
    }
    group->name[group->n++] = name;
    return true;
}

/* Files of one folder are judged together, in the order of their folders. */
static struct judge_group *group_paths(struct judge_run *run, int count, char **paths, size_t *groups)
{
    struct judge_group *list = pellet_arena_alloc(&run->arena, ((size_t)count + 1) * sizeof *list);
    *groups = 0;
    for (int i = 0; list && i < count && !run->wrong; i++) {
        struct station_config station;
        const char *name = NULL;
        size_t g = 0;
        if (!find_station(run, paths[i], &station, &name))
            continue;
        while (g < *groups && strcmp(list[g].station.folder, station.folder) != 0)
            g++;
        if (g == *groups)
            list[(*groups)++].station = station;
        if (!add_name(run, &list[g], name))
            return NULL;
    }
    return list;
}

/* "sub" asks for all below it, "sub/a.csv" for itself. */
static bool is_asked_for(const struct judge_group *group, const char *name)
{
    for (size_t i = 0; i < group->n && !group->all; i++) {
        size_t n = strlen(group->name[i]);
        if (strncmp(name, group->name[i], n) == 0 && (name[n] == '\0' || name[n] == '/'))
            return true;
    }
    return group->all;
}

/* ---------------------------------------------------------------- what is printed */

static void on_verdict(void *context, struct entry *entry, const struct pellet_verdict *verdict, bool fresh)
{
    struct judge_run *run = context;
    struct pellet_text line = {0};
    if (line_of_verdict(verdict, &run->style, &line) == PELLET_OK) {
        free(entry->line);
        entry->line = line.data;
    } else {
        pellet_text_free(&line);
        run->trouble = true;
    }
    if (run->reports)
        reports_told(run->reports, entry, fresh);
}

static void on_turn(void *context, const struct station *station)
{
    struct judge_run *run = context;
    progress_of_station(&run->progress, station);
}

static int compare_entries(const void *a, const void *b)
{
    return entry_compare(*(struct entry *const *)a, *(struct entry *const *)b);
}

/* The entries asked for, in the order in which they were measured. */
static struct entry **sorted(const struct station *station, size_t *n)
{
    struct entry **list = malloc((station->index.n + 1) * sizeof(struct entry *));
    *n = 0;
    for (size_t i = 0; list && i < station->index.n; i++) {
        if (station->index.item[i]->wanted)
            list[(*n)++] = station->index.item[i];
    }
    if (list)
        qsort(list, *n, sizeof(struct entry *), compare_entries);
    return list;
}

static void print_lines(struct judge_run *run, const struct station *station)
{
    size_t n = 0;
    struct entry **list = sorted(station, &n);
    if (!list) {
        run->trouble = true;
        return;
    }
    for (size_t i = 0; i < n; i++) {
        if (!list[i]->line || !list[i]->judged)
            continue;
        run->not_passed = run->not_passed || list[i]->outcome != PELLET_PASS;
        fputs(list[i]->line, stdout);
    }
    free(list);
}

/* What differs in one verdict, "name: key ..." a line. */
static void print_difference(const char *name, const struct pellet_text *text)
{
    for (const char *line = pellet_text_string(text); *line;) {
        size_t length = strcspn(line, "\n");
        struct pellet_text shown = {0};
        pellet_text_add_visible(&shown, name, strlen(name));
        pellet_text_adds(&shown, ": ");
        pellet_text_add_visible(&shown, line, length);
        puts(pellet_text_string(&shown));
        pellet_text_free(&shown);
        line += length + (line[length] == '\n');
    }
}

static void print_differences(struct judge_run *run, struct station *station)
{
    size_t n = 0;
    struct entry **list = sorted(station, &n);
    run->progress = progress_begin();
    if (!list) {
        run->trouble = true;
        return;
    }
    for (size_t i = 0; i < n; i++) {
        struct pellet_text text = {0};
        if (list[i]->present && list[i]->stage != ENTRY_FOREIGN && verify_entry(station, list[i], &text) > 0)
            run->not_passed = true;
        if (text.length > 0)
            progress_end(&run->progress);
        print_difference(list[i]->name, &text);
        pellet_text_free(&text);
        progress_tell(&run->progress, n, i + 1, n, clock_monotonic_ms());
    }
    progress_end(&run->progress);
    free(list);
}

/* ---------------------------------------------------------------- judging one folder */

static void want(struct judge_run *run, struct station *station, const struct judge_group *group)
{
    struct pellet_error error = {0};
    for (size_t i = 0; i < station->index.n; i++)
        station->index.item[i]->wanted = is_asked_for(group, station->index.item[i]->name);
    for (size_t i = 0; i < group->n && !group->all; i++) {
        struct pellet_text path = {0};
        struct stat st;
        pellet_text_addf(&path, "%s/%s", group->station.folder, group->name[i]);
        bool folder = stat(pellet_text_string(&path), &st) == 0 && S_ISDIR(st.st_mode);
        if (!folder && !station_want(station, group->name[i])) {
            pellet_fail(&error, PELLET_E_MISSING, "it is not there");
            said(run, group->name[i], &error);
        }
        pellet_text_free(&path);
    }
}

/* Bad rules are wrong usage, not trouble. */
static bool rules_are_good(struct judge_run *run, const struct station_config *station)
{
    struct pellet_rules rules;
    struct pellet_error error = {0};
    if (rules_find(station->rules, &rules, &error) == PELLET_OK) {
        pellet_rules_clear(&rules);
        return true;
    }
    log_failure(LOG_LEVEL_ERROR, NULL, &error);
    run->wrong = true;
    return false;
}

/* What is judged now is the whole of its session. */
static void write_records(struct judge_run *run, bool all)
{
    const struct reports_wish wish = {.all = all, .closed = true};
    if (!reports_finish(run->reports, &wish))
        run->trouble = true;
    reports_free(run->reports);
    run->reports = NULL;
}

static void judge_group(struct judge_run *run, const struct judge_group *group)
{
    const struct options *options = run->options;
    const struct station_options how = {.jobs = options->jobs,
                                        .again = options->again,
                                        .keep = options->no_write || options->verify,
                                        .look_only = options->verify,
                                        .blank = options->blank,
                                        .whole_verdicts = options->json,
                                        .on_verdict = on_verdict,
                                        .on_turn = on_turn,
                                        .context = run};
    struct pellet_error error = {0};
    struct pellet_error lock_error = {0};
    struct station *station = NULL;
    if (!rules_are_good(run, &group->station))
        return;
    if (station_open(&group->station, &how, &station, &lock_error, &error) != PELLET_OK) {
        said(run, NULL, &error);
        return;
    }
    if (lock_error.status != PELLET_OK)
        said(run, group->station.folder, &lock_error);
    if (station->writes && reports_new(station, &run->reports, &error) != PELLET_OK)
        said(run, group->station.folder, &error);
    if (station_scan(station, true, NULL, NULL, &error) != PELLET_OK)
        said(run, group->station.folder, &error);
    want(run, station, group);
    station_finish(station);
    station_close_session(station);
    station_finish(station);
    progress_end(&run->progress);
    if (options->verify)
        print_differences(run, station);
    else
        print_lines(run, station);
    if (run->reports)
        write_records(run, group->all);
    run->trouble = run->trouble || station->failed;
    station_free(station);
}

static int usage(const char *message)
{
    log_say(LOG_LEVEL_ERROR, "judge", "%s", message);
    return EXIT_USAGE;
}

static bool load_config(struct judge_run *run)
{
    struct pellet_text problems = {0};
    struct pellet_error error = {0};
    pellet_status status = config_load(run->options->config, &run->config, &problems, &error);
    if (status != PELLET_OK)
        log_lines(LOG_LEVEL_ERROR, &problems);
    pellet_text_free(&problems);
    return status == PELLET_OK;
}

static int exit_code(const struct judge_run *run)
{
    if (run->wrong)
        return EXIT_USAGE;
    if (run->trouble)
        return EXIT_TROUBLE;
    return run->not_passed ? EXIT_NOT_PASSED : EXIT_PASSED;
}

int command_judge(const struct options *options, int count, char **arguments)
{
    struct judge_run run = {.options = options,
                            .style = line_style_for(STDOUT_FILENO, options->json),
                            .progress = progress_begin()};
    if (options->again && options->verify)
        return usage("--again and --verify exclude each other");
    if (options->out && options->no_write)
        return usage("--out and --no-write exclude each other");
    if (!load_config(&run))
        return EXIT_USAGE;
    size_t groups = 0;
    struct judge_group *list = group_paths(&run, count, arguments, &groups);
    run.trouble = run.trouble || !list;
    for (size_t i = 0; i < groups; i++)
        judge_group(&run, &list[i]);
    if (fflush(stdout) != 0 || ferror(stdout)) {
        log_say(LOG_LEVEL_ERROR, "judge", "cannot write to standard output");
        run.trouble = true;
    }
    config_clear(&run.config);
    pellet_arena_free(&run.arena);
    return exit_code(&run);
}
