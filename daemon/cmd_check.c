// SPDX-License-Identifier: GPL-3.0-or-later
/* Will the service work with this configuration? What is right goes to stdout, what is wrong to stderr. */
#include "claims.h"
#include "command.h"
#include "lock.h"
#include "log.h"
#include "station.h"
#include "watcher.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

struct check_run {
    struct claims *claims;  /* of the stations looked at so far; NULL: no memory */
    bool bad_configuration; /* exit 2 */
    bool trouble;           /* exit 3 */
};

static void check_rules(struct check_run *run, const struct station_config *station)
{
    struct pellet_rules rules;
    struct pellet_error error = {0};
    if (rules_find(station->rules, &rules, &error) != PELLET_OK) {
        log_failure(LOG_LEVEL_ERROR, station->name, &error);
        run->bad_configuration = true;
        return;
    }
    printf("  rules: %s (%.12s)\n", rules.name, rules.sha256);
    pellet_rules_clear(&rules);
}

static int open_folder(struct check_run *run, const struct station_config *station, const char *what,
                       const char *path)
{
    int folder = open(path, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (folder < 0) {
        log_say(LOG_LEVEL_ERROR, station->name, "%s %s: %s", what, path, strerror(errno));
        run->trouble = true;
    }
    return folder;
}

static void check_folder(struct check_run *run, const struct station_config *station)
{
    char why[200];
    if (!station_is_here(station, -1, why, sizeof why)) {
        log_say(LOG_LEVEL_ERROR, station->name, "folder %s: %s", station->folder, why);
        run->trouble = true;
        return;
    }
    int folder = open_folder(run, station, "folder", station->folder);
    if (folder < 0)
        return;
    const int output = station->output ? open(station->output, O_PATH | O_DIRECTORY | O_CLOEXEC) : -1;
    if (run->claims && !claims_take(run->claims, station->name, folder, output, why, sizeof why)) {
        log_say(LOG_LEVEL_ERROR, station->name, "%s", why);
        run->bad_configuration = true;
    }
    printf("  folder: %s, %s\n", station->folder, watcher_choose(station->watch, folder)->name);
    if (output >= 0)
        close(output);
    close(folder);
}

/* Whether files can be made where verdicts go. A lock that is held shows that somebody can. */
static void check_output(struct check_run *run, const struct station_config *station)
{
    struct pellet_error error = {0};
    const char *path = station->output ? station->output : station->folder;
    int lock = -1;
    int folder = open_folder(run, station, "output", path);
    if (folder < 0)
        return;
    pellet_status status = lock_take(folder, &lock, &error);
    if (status == PELLET_OK || status == PELLET_E_BUSY) {
        printf("  output: %s%s\n", path, status == PELLET_E_BUSY ? " (a pelletd is at work there)" : "");
    } else {
        log_say(LOG_LEVEL_ERROR, station->name, "output %s: %s", path, error.message);
        run->trouble = true;
    }
    if (lock >= 0)
        close(lock);
    close(folder);
}

/* A path as systemd reads it in a unit: % doubled, blanks and quotes escaped. */
static void print_unit_path(const char *path)
{
    for (const unsigned char *c = (const unsigned char *)path; *c; c++) {
        if (*c == '%')
            fputs("%%", stdout);
        else if (*c <= ' ' || *c == '"' || *c == '\'' || *c == '\\' || *c == 0x7f)
            printf("\\x%02x", *c);
        else
            putchar(*c);
    }
}

/* The service may write nowhere by itself; this opens the folders of the stations and nothing else. */
static void print_drop_in(const struct config *config)
{
    puts("\nFor the service, as /etc/systemd/system/pelletd.service.d/stations.conf:\n");
    puts("[Unit]");
    for (size_t i = 0; i < config->station_count; i++) {
        const struct station_config *station = &config->station[i];
        if (!*station->mount)
            continue;
        fputs("RequiresMountsFor=", stdout);
        print_unit_path(*station->mount == '/' ? station->mount : station->folder);
        putchar('\n');
    }
    puts("\n[Service]");
    for (size_t i = 0; i < config->station_count; i++) {
        const struct station_config *station = &config->station[i];
        /* The dash: a folder that is away must not keep the service from starting. */
        fputs("ReadWritePaths=-", stdout);
        print_unit_path(station->output ? station->output : station->folder);
        putchar('\n');
    }
    if (config->metrics) {
        char parent[PATH_MAX];
        snprintf(parent, sizeof parent, "%.*s", (int)(strrchr(config->metrics, '/') - config->metrics),
                 config->metrics);
        fputs("ReadWritePaths=-", stdout);
        print_unit_path(*parent ? parent : "/");
        putchar('\n');
    }
    if (config->spool) {
        fputs("ReadWritePaths=-", stdout);
        print_unit_path(config->spool);
        putchar('\n');
    }
}

int command_check(const struct options *options, int count, char **arguments)
{
    (void)count;
    (void)arguments;
    struct check_run run = {0};
    struct config config = {0};
    struct pellet_text problems = {0};
    struct pellet_error error = {0};
    pellet_status status = config_load(options->config, &config, &problems, &error);
    log_lines(LOG_LEVEL_ERROR, &problems);
    pellet_text_free(&problems);
    if (status != PELLET_OK)
        return EXIT_USAGE;
    run.claims = claims_new();
    printf("configuration: %s\n", config.file ? config.file : "none found; built-in defaults, no stations");
    for (size_t i = 0; i < config.station_count; i++) {
        printf("%s\n", config.station[i].name);
        check_folder(&run, &config.station[i]);
        check_output(&run, &config.station[i]);
        check_rules(&run, &config.station[i]);
    }
    if (config.station_count > 0)
        print_drop_in(&config);
    config_clear(&config);
    claims_free(run.claims);
    if (fflush(stdout) != 0)
        run.trouble = true;
    return run.bad_configuration ? EXIT_USAGE : run.trouble ? EXIT_TROUBLE : EXIT_PASSED;
}
