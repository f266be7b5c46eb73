// SPDX-License-Identifier: GPL-3.0-or-later
#include "config_values.h"

#include <stdio.h>
#include <string.h>

pellet_status config_set_name(const struct config_reading *reading, const struct pellet_yaml *node,
                              void *place, struct pellet_error *error)
{
    (void)reading;
    const char *name = NULL;
    pellet_status status = pellet_yaml_string(node, &name, error);
    if (status != PELLET_OK)
        return status;
    bool good = *name && *name != '.' && strlen(name) <= 64;
    for (const char *c = name; *c; c++)
        good = good && config_is_name_byte(*c);
    if (!good)
        return pellet_yaml_fail(node, PELLET_E_FORMAT, error,
                                "found '%s', allowed are up to 64 letters, digits, '.', '_' and '-', not "
                                "beginning with '.'",
                                name);
    *(const char **)place = name;
    return PELLET_OK;
}

pellet_status config_set_path(const struct config_reading *reading, const struct pellet_yaml *node,
                              void *place, struct pellet_error *error)
{
    const char *path = NULL;
    pellet_status status = pellet_yaml_string(node, &path, error);
    if (status != PELLET_OK)
        return status;
    if (!*path)
        return pellet_yaml_fail(node, PELLET_E_FORMAT, error, "a path is missing");
    const char *whole =
        *path == '/' ? path : pellet_arena_printf(reading->arena, "%s%s", reading->base, path);
    if (!whole)
        return pellet_fail(error, PELLET_E_MEMORY, "no memory for the configuration");
    *(const char **)place = whole;
    return PELLET_OK;
}

/* A rule set by name, or a file: what holds a slash or ends in .yaml is a file. */
pellet_status config_set_rules(const struct config_reading *reading, const struct pellet_yaml *node,
                               void *place, struct pellet_error *error)
{
    const char *rules = NULL;
    pellet_status status = pellet_yaml_string(node, &rules, error);
    if (status == PELLET_OK && (strchr(rules, '/') || strstr(rules, ".yaml")))
        return config_set_path(reading, node, place, error);
    if (status == PELLET_OK)
        *(const char **)place = rules;
    return status;
}

/* One pattern, or a list of them. */
pellet_status config_set_globs(const struct config_reading *reading, const struct pellet_yaml *node,
                               void *place, struct pellet_error *error)
{
    size_t n = node->kind == PELLET_YAML_SEQUENCE ? node->count : 1;
    const char **pattern = pellet_arena_alloc(reading->arena, (n + 1) * sizeof *pattern);
    if (!pattern)
        return pellet_fail(error, PELLET_E_MEMORY, "no memory for the configuration");
    const struct pellet_yaml *item = node->kind == PELLET_YAML_SEQUENCE ? node->first : node;
    for (size_t i = 0; i < n; i++) {
        pellet_status status = pellet_yaml_string(item, &pattern[i], error);
        if (status != PELLET_OK)
            return status;
        if (strchr(pattern[i], '/'))
            return pellet_yaml_fail(item, PELLET_E_FORMAT, error,
                                    "patterns are about file names, so '/' cannot stand in them");
        item = item->next;
    }
    *(struct glob_list *)place = (struct glob_list){n, pattern};
    return PELLET_OK;
}

pellet_status config_set_depth(const struct config_reading *reading, const struct pellet_yaml *node,
                               void *place, struct pellet_error *error)
{
    (void)reading;
    return pellet_yaml_integer(node, 0, STATION_DEPTH_MAX, place, error);
}

pellet_status config_set_points(const struct config_reading *reading, const struct pellet_yaml *node,
                                void *place, struct pellet_error *error)
{
    (void)reading;
    return pellet_yaml_integer(node, PELLET_POINTS_MIN, STATION_POINTS_MAX, place, error);
}

/* The name of a column as a file's heading has it. */
pellet_status config_set_column(const struct config_reading *reading, const struct pellet_yaml *node,
                                void *place, struct pellet_error *error)
{
    (void)reading;
    const char *column = NULL;
    pellet_status status = pellet_yaml_string(node, &column, error);
    if (status != PELLET_OK)
        return status;
    if (!*column)
        return pellet_yaml_fail(node, PELLET_E_FORMAT, error,
                                "the name of a column is missing; without a name it is 'column 2' and so on");
    *(const char **)place = column;
    return PELLET_OK;
}

pellet_status config_set_template(const struct config_reading *reading, const struct pellet_yaml *node,
                                  void *place, struct pellet_error *error)
{
    (void)reading;
    const char *template = NULL;
    pellet_status status = pellet_yaml_string(node, &template, error);
    if (status != PELLET_OK)
        return status;
    const char *fault = sample_template_fault(template);
    if (*fault)
        return pellet_yaml_fail(node, PELLET_E_FORMAT, error, "found '%s': %s", template, fault);
    *(const char **)place = template;
    return PELLET_OK;
}

pellet_status config_set_ordinate(const struct config_reading *reading, const struct pellet_yaml *node,
                                  void *place, struct pellet_error *error)
{
    (void)reading;
    static const char *const words[] = {"single_beam", "transmittance", "transmittance %", "absorbance",
                                        NULL};
    static const enum pellet_ordinate ordinates[] = {
        PELLET_ORDINATE_SINGLE_BEAM, PELLET_ORDINATE_TRANSMITTANCE, PELLET_ORDINATE_TRANSMITTANCE,
        PELLET_ORDINATE_ABSORBANCE};
    struct station_config *station = place;
    size_t i = 0;
    pellet_status status = pellet_yaml_word(node, words, &i, error);
    if (status != PELLET_OK)
        return status;
    station->ordinate = ordinates[i];
    station->ordinate_percent = i == 2;
    return PELLET_OK;
}

/* Words that stand in the order of their enumeration. */
#define SET_WORD(function, type, ...)                                                                        \
    pellet_status function(const struct config_reading *reading, const struct pellet_yaml *node,             \
                           void *place, struct pellet_error *error)                                          \
    {                                                                                                        \
        (void)reading;                                                                                       \
        static const char *const words[] = {__VA_ARGS__, NULL};                                              \
        size_t i = 0;                                                                                        \
        pellet_status status = pellet_yaml_word(node, words, &i, error);                                     \
        if (status == PELLET_OK)                                                                             \
            *(type *)place = (type)i;                                                                        \
        return status;                                                                                       \
    }
SET_WORD(config_set_against, enum pellet_ratioed_against, "unknown", "blank", "open beam")
SET_WORD(config_set_measured, enum measured_by, "auto", "file", "mtime")
SET_WORD(config_set_watch, enum watch_mode, "auto", "inotify", "poll")

pellet_status config_set_range(const struct config_reading *reading, const struct pellet_yaml *node,
                               void *place, struct pellet_error *error)
{
    (void)reading;
    struct station_config *station = place;
    return pellet_yaml_range(node, PELLET_UNIT_WAVENUMBER, 10, 15000, &station->range_low,
                             &station->range_high, error);
}

pellet_status config_set_zone(const struct config_reading *reading, const struct pellet_yaml *node,
                              void *place, struct pellet_error *error)
{
    (void)reading;
    const char *zone = NULL;
    pellet_status status = pellet_yaml_string(node, &zone, error);
    if (status != PELLET_OK)
        return status;
    const struct pellet_civil noon = {.year = 2026, .month = 1, .day = 1, .hour = 12};
    pellet_ns time = 0;
    if (pellet_time_from_civil(&noon, zone, &time) != PELLET_OK)
        return pellet_yaml_fail(node, PELLET_E_FORMAT, error,
                                "found '%s', allowed is the name of a time zone, as in 'Europe/Berlin'",
                                zone);
    *(const char **)place = zone;
    return PELLET_OK;
}

pellet_status config_set_seconds(const struct config_reading *reading, const struct pellet_yaml *node,
                                 void *place, struct pellet_error *error)
{
    (void)reading;
    return pellet_yaml_quantity(node, PELLET_UNIT_SECOND, 0.05, 3600, place, error);
}

pellet_status config_set_minutes(const struct config_reading *reading, const struct pellet_yaml *node,
                                 void *place, struct pellet_error *error)
{
    (void)reading;
    return pellet_yaml_quantity(node, PELLET_UNIT_MINUTE, 0, 525600, place, error);
}

pellet_status config_set_size(const struct config_reading *reading, const struct pellet_yaml *node,
                              void *place, struct pellet_error *error)
{
    (void)reading;
    return pellet_yaml_quantity(node, PELLET_UNIT_MIB, 0.01, 4096, place, error);
}

pellet_status config_set_mount(const struct config_reading *reading, const struct pellet_yaml *node,
                               void *place, struct pellet_error *error)
{
    (void)reading;
    const char *mount = NULL;
    pellet_status status = pellet_yaml_string(node, &mount, error);
    if (status != PELLET_OK)
        return status;
    if (strcmp(mount, "required") != 0 && *mount != '/')
        return pellet_yaml_fail(node, PELLET_E_FORMAT, error,
                                "found '%s', allowed is 'required' or the mount point, as in '/mnt/bench-1'",
                                mount);
    *(const char **)place = mount;
    return PELLET_OK;
}

pellet_status config_set_since(const struct config_reading *reading, const struct pellet_yaml *node,
                               void *place, struct pellet_error *error)
{
    (void)reading;
    struct station_config *station = place;
    const char *text = NULL;
    pellet_status status = pellet_yaml_string(node, &text, error);
    if (status != PELLET_OK)
        return status;
    char whole[40];
    pellet_ns time = PELLET_NO_TIME;
    snprintf(whole, sizeof whole, strlen(text) == 10 ? "%sT00:00:00Z" : "%s", text);
    if (strcmp(text, "all") == 0)
        station->since = SINCE_ALL;
    else if (strcmp(text, "install") == 0)
        station->since = SINCE_INSTALL;
    else if (pellet_time_parse(whole, &time) == PELLET_OK)
        station->since = SINCE_DATE;
    else
        return pellet_yaml_fail(node, PELLET_E_FORMAT, error,
                                "found '%s', allowed are 'all', 'install' or a date, as in '2026-03-04'",
                                text);
    station->since_time = time;
    return PELLET_OK;
}

/* A program and its arguments; no shell is asked. */
pellet_status config_set_command(const struct config_reading *reading, const struct pellet_yaml *node,
                                 void *place, struct pellet_error *error)
{
    struct station_config *station = place;
    pellet_status status = pellet_yaml_expect(node, PELLET_YAML_SEQUENCE, error);
    if (status != PELLET_OK)
        return status;
    const char **argv = pellet_arena_alloc(reading->arena, (node->count + 1) * sizeof *argv);
    if (!argv)
        return pellet_fail(error, PELLET_E_MEMORY, "no memory for the configuration");
    size_t n = 0;
    for (const struct pellet_yaml *item = node->first; item; item = item->next) {
        status = pellet_yaml_string(item, &argv[n++], error);
        if (status != PELLET_OK)
            return status;
    }
    if (n == 0 || *argv[0] != '/')
        return pellet_yaml_fail(node, PELLET_E_FORMAT, error,
                                "allowed is a list of the program's full path and its arguments, as in "
                                "[/usr/local/bin/tell, bench]");
    station->alert.n = n;
    station->alert.argv = argv;
    return PELLET_OK;
}
