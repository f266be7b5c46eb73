// SPDX-License-Identifier: GPL-3.0-or-later
#include "config_parts.h"

#include <limits.h>
#include <stdlib.h>
#include <string.h>

/* Note a problem as a line; the first one also becomes the error. */
static void note(struct config_reading *reading, const struct pellet_error *problem)
{
    pellet_text_addf(reading->problems, "%s", reading->file);
    if (problem->line > 0)
        pellet_text_addf(reading->problems, ": line %zu, column %zu", problem->line, problem->column);
    pellet_text_addf(reading->problems, ": %s\n", problem->message);
    if (reading->first == PELLET_OK) {
        reading->first = problem->status;
        if (reading->error)
            *reading->error = *problem;
    }
}

static void read_station(struct config_reading *reading, const struct pellet_yaml *node,
                         struct station_config *station)
{
    struct pellet_error problem = {0};
    config_set_defaults(station, reading->arena);
    if (pellet_yaml_expect(node, PELLET_YAML_MAPPING, &problem) != PELLET_OK) {
        note(reading, &problem);
        return;
    }
    for (const struct pellet_yaml *child = node->first; child; child = child->next) {
        problem = (struct pellet_error){0};
        if (config_set_key(reading, child, station, &problem) != PELLET_OK)
            note(reading, &problem);
    }
    const struct pellet_yaml *folder = NULL;
    problem = (struct pellet_error){0};
    if (pellet_yaml_need(node, "folder", &folder, &problem) != PELLET_OK)
        note(reading, &problem);
    else if (station->folder && !station->name)
        station->name = config_name_after_folder(station->folder, reading->arena);
}

bool path_within(const char *inner, const char *outer)
{
    size_t n = strlen(outer);
    while (n > 1 && outer[n - 1] == '/')
        n--;
    return strncmp(inner, outer, n) == 0 && (inner[n] == '\0' || inner[n] == '/' || n == 1);
}

/* Absolute paths without "//", "." and "..". Links are not followed: a share that hangs would keep the whole
 * service waiting, and its station finds out by itself (claims.h). */
static void tidy(const char *path, char out[PATH_MAX])
{
    size_t n = 0;
    for (const char *part = path; *part && n < PATH_MAX - 1;) {
        part += strspn(part, "/");
        const size_t length = strcspn(part, "/");
        if (length == 2 && strncmp(part, "..", 2) == 0) {
            while (n > 0 && out[--n] != '/')
                continue;
        } else if (length > 0 && !(length == 1 && *part == '.') && n + length + 1 < PATH_MAX) {
            out[n++] = '/';
            memcpy(out + n, part, length);
            n += length;
        }
        part += length;
    }
    if (n == 0)
        out[n++] = '/';
    out[n] = '\0';
}

static bool output_within(const struct station_config *station, const char *folder)
{
    char output[PATH_MAX];
    if (!station->output)
        return false;
    tidy(station->output, output);
    return path_within(output, folder);
}

static void check_pair(struct config_reading *reading, const struct pellet_yaml *node,
                       const struct station_config *a, const struct station_config *b)
{
    char a_path[PATH_MAX];
    char b_path[PATH_MAX];
    struct pellet_error problem = {0};
    tidy(a->folder, a_path);
    tidy(b->folder, b_path);
    if (strcmp(a->name, b->name) == 0)
        pellet_yaml_fail(node, PELLET_E_FORMAT, &problem, "two stations are called '%s'", a->name);
    else if (path_within(a_path, b_path) || path_within(b_path, a_path))
        pellet_yaml_fail(node, PELLET_E_FORMAT, &problem,
                         "the folders of '%s' and '%s' lie within each other; each spectrum belongs to one "
                         "station",
                         a->name, b->name);
    else if (output_within(a, b_path) || output_within(b, a_path))
        pellet_yaml_fail(node, PELLET_E_FORMAT, &problem,
                         "the output of '%s' or '%s' lies in the folder of the other", a->name, b->name);
    else if (a->output && b->output && strcmp(a->output, b->output) == 0)
        pellet_yaml_fail(node, PELLET_E_FORMAT, &problem, "'%s' and '%s' have the same output", a->name,
                         b->name);
    else
        return;
    note(reading, &problem);
}

static void read_paths(struct config_reading *reading, const struct pellet_yaml *root, struct config *config)
{
    const struct {
        const char *key;
        const char **place;
    } paths[] = {{"metrics", &config->metrics}, {"spool", &config->spool}};
    for (const struct pellet_yaml *child = root->first; child; child = child->next) {
        for (size_t i = 0; i < sizeof paths / sizeof paths[0]; i++) {
            struct pellet_error problem = {0};
            if (strcmp(child->key, paths[i].key) == 0 &&
                config_set_path(reading, child, (void *)paths[i].place, &problem) != PELLET_OK)
                note(reading, &problem);
        }
    }
}

static void read_stations(struct config_reading *reading, const struct pellet_yaml *root,
                          struct config *config)
{
    static const char *const allowed[] = {"format", "stations", "metrics", "spool", NULL};
    struct pellet_error problem = {0};
    const struct pellet_yaml *list = NULL;
    if (pellet_yaml_expect(root, PELLET_YAML_MAPPING, &problem) != PELLET_OK ||
        pellet_yaml_format(root, 1, &problem) != PELLET_OK ||
        pellet_yaml_only(root, allowed, &problem) != PELLET_OK ||
        pellet_yaml_need(root, "stations", &list, &problem) != PELLET_OK ||
        pellet_yaml_expect(list, PELLET_YAML_SEQUENCE, &problem) != PELLET_OK) {
        note(reading, &problem);
        return;
    }
    read_paths(reading, root, config);
    config->station = pellet_arena_alloc(reading->arena, (list->count + 1) * sizeof *config->station);
    if (!config->station) {
        pellet_fail(&problem, PELLET_E_MEMORY, "no memory for the configuration");
        note(reading, &problem);
        return;
    }
    for (const struct pellet_yaml *item = list->first; item; item = item->next) {
        struct station_config *station = &config->station[config->station_count++];
        read_station(reading, item, station);
        for (struct station_config *other = config->station; other < station; other++) {
            if (station->folder && station->name && other->folder && other->name)
                check_pair(reading, item, other, station);
        }
    }
}

pellet_status config_read(const char *yaml, size_t n, const char *file, struct config *config,
                          struct pellet_text *problems, struct pellet_error *error)
{
    struct config made = {0};
    struct pellet_error problem = {0};
    const struct pellet_yaml *root = NULL;
    const char *slash = strrchr(file, '/');
    struct config_reading reading = {
        .arena = &made.arena, .problems = problems, .file = file, .error = error};
    reading.base = slash ? pellet_arena_copy(&made.arena, file, (size_t)(slash - file) + 1) : "";
    made.file = pellet_arena_string(&made.arena, file);
    if (!made.file || !reading.base)
        pellet_fail(&problem, PELLET_E_MEMORY, "no memory for the configuration");
    if (problem.status == PELLET_OK && pellet_yaml_read(yaml, n, &made.arena, &root, &problem) == PELLET_OK)
        read_stations(&reading, root, &made);
    else
        note(&reading, &problem);
    if (reading.first != PELLET_OK) {
        config_clear(&made);
        return reading.first;
    }
    *config = made;
    return PELLET_OK;
}

void config_clear(struct config *config)
{
    pellet_arena_free(&config->arena);
    *config = (struct config){0};
}

/* As far as it exists; a folder may still be away. */
static const char *resolve(const char *path, char buffer[PATH_MAX])
{
    return realpath(path, buffer) ? buffer : path;
}

const struct station_config *config_station_of(const struct config *config, const char *path)
{
    char wanted[PATH_MAX];
    char folder[PATH_MAX];
    if (!realpath(path, wanted))
        return NULL;
    for (size_t i = 0; i < config->station_count; i++) {
        if (path_within(wanted, resolve(config->station[i].folder, folder)))
            return &config->station[i];
    }
    return NULL;
}
