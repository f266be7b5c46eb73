// SPDX-License-Identifier: GPL-3.0-or-later
#include "config.h"

#include "core/yaml.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* ---------------------------------------------------------------- defaults */

static const char *const include_globs[] = {"*.csv", "*.txt", "*.dx", "*.jdx", "*.jcm"};
static const char *const blank_globs[] = {"blank*", "*_blank.*", "*-blank.*", "kbr.*"};
static const char *const open_beam_globs[] = {"open*beam*", "openbeam*"};
static const char *const film_globs[] = {"film*", "polystyrene*"};

#define GLOBS(array) ((struct glob_list){sizeof(array) / sizeof *(array), (const char **)(array)})

/* The zone of this machine: $TZ, else where /etc/localtime points to, else UTC. */
static const char *local_zone(struct pellet_arena *arena)
{
    static const char marker[] = "/zoneinfo/";
    const char *tz = getenv("TZ");
    if (tz && *tz)
        return pellet_arena_string(arena, *tz == ':' ? tz + 1 : tz);
    char target[PATH_MAX];
    ssize_t n = readlink("/etc/localtime", target, sizeof target - 1);
    if (n <= 0)
        return "UTC";
    target[n] = '\0';
    const char *zone = strstr(target, marker);
    return zone ? pellet_arena_string(arena, zone + sizeof marker - 1) : "UTC";
}

static void set_defaults(struct station_config *station, struct pellet_arena *arena)
{
    *station = (struct station_config){.include = GLOBS(include_globs),
                                       .rules = "routine",
                                       .blank = GLOBS(blank_globs),
                                       .open_beam = GLOBS(open_beam_globs),
                                       .film = GLOBS(film_globs),
                                       .sample_name = "{sample}_p{pellet}",
                                       .range_low = 400,
                                       .range_high = 4000,
                                       .timezone = local_zone(arena),
                                       .settle_s = 0.5,
                                       .mount = "",
                                       .since_time = PELLET_NO_TIME,
                                       .file_max_mib = 64,
                                       .alert.max_age_min = 15,
                                       .alert.time_limit_s = 10};
}

static bool is_name_byte(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || strchr("._-", c);
}

/* The last part of a folder's path, fit to stand in file names. */
static const char *name_after_folder(const char *folder, struct pellet_arena *arena)
{
    const char *slash = strrchr(folder, '/');
    char *name = pellet_arena_string(arena, slash && slash[1] ? slash + 1 : "station");
    for (char *c = name; c && *c; c++) {
        if (!is_name_byte(*c) || (c == name && *c == '.'))
            *c = '-';
    }
    return name;
}

pellet_status station_config_default(const char *folder, struct pellet_arena *arena,
                                     struct station_config *station, struct pellet_error *error)
{
    char resolved[PATH_MAX];
    if (!realpath(folder, resolved))
        return pellet_fail_errno(error, errno, "cannot use the folder");
    struct station_config made;
    set_defaults(&made, arena);
    made.folder = pellet_arena_string(arena, resolved);
    made.name = made.folder ? name_after_folder(made.folder, arena) : NULL;
    if (!made.name || !made.timezone)
        return pellet_fail(error, PELLET_E_MEMORY, "no memory for a station");
    *station = made;
    return PELLET_OK;
}

/* ---------------------------------------------------------------- the keys of a station */

struct config_reading {
    struct pellet_arena *arena;
    const char *base; /* folder that relative paths start from, "" or with a slash at the end */
    struct pellet_text *problems;
    const char *file;
    pellet_status first;
    struct pellet_error *error;
};

typedef pellet_status set_fn(const struct config_reading *reading, const struct pellet_yaml *node,
                             void *place, struct pellet_error *error);

static pellet_status set_name(const struct config_reading *reading, const struct pellet_yaml *node,
                              void *place, struct pellet_error *error)
{
    (void)reading;
    const char *name = NULL;
    pellet_status status = pellet_yaml_string(node, &name, error);
    if (status != PELLET_OK)
        return status;
    bool good = *name && *name != '.' && strlen(name) <= 64;
    for (const char *c = name; *c; c++)
        good = good && is_name_byte(*c);
    if (!good)
        return pellet_yaml_fail(node, PELLET_E_FORMAT, error,
                                "found '%s', allowed are up to 64 letters, digits, '.', '_' and '-', not "
                                "beginning with '.'",
                                name);
    *(const char **)place = name;
    return PELLET_OK;
}

static pellet_status set_path(const struct config_reading *reading, const struct pellet_yaml *node,
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
static pellet_status set_rules(const struct config_reading *reading, const struct pellet_yaml *node,
                               void *place, struct pellet_error *error)
{
    const char *rules = NULL;
    pellet_status status = pellet_yaml_string(node, &rules, error);
    if (status == PELLET_OK && (strchr(rules, '/') || strstr(rules, ".yaml")))
        return set_path(reading, node, place, error);
    if (status == PELLET_OK)
        *(const char **)place = rules;
    return status;
}

/* One pattern, or a list of them. */
static pellet_status set_globs(const struct config_reading *reading, const struct pellet_yaml *node,
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

static pellet_status set_depth(const struct config_reading *reading, const struct pellet_yaml *node,
                               void *place, struct pellet_error *error)
{
    (void)reading;
    return pellet_yaml_integer(node, 0, STATION_DEPTH_MAX, place, error);
}

static pellet_status set_template(const struct config_reading *reading, const struct pellet_yaml *node,
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

static pellet_status set_ordinate(const struct config_reading *reading, const struct pellet_yaml *node,
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
    static pellet_status function(const struct config_reading *reading, const struct pellet_yaml *node,      \
                                  void *place, struct pellet_error *error)                                   \
    {                                                                                                        \
        (void)reading;                                                                                       \
        static const char *const words[] = {__VA_ARGS__, NULL};                                              \
        size_t i = 0;                                                                                        \
        pellet_status status = pellet_yaml_word(node, words, &i, error);                                     \
        if (status == PELLET_OK)                                                                             \
            *(type *)place = (type)i;                                                                        \
        return status;                                                                                       \
    }
SET_WORD(set_against, enum pellet_ratioed_against, "unknown", "blank", "open beam")
SET_WORD(set_measured, enum measured_by, "auto", "file", "mtime")
SET_WORD(set_watch, enum watch_mode, "auto", "inotify", "poll")

static pellet_status set_range(const struct config_reading *reading, const struct pellet_yaml *node,
                               void *place, struct pellet_error *error)
{
    (void)reading;
    struct station_config *station = place;
    return pellet_yaml_range(node, PELLET_UNIT_WAVENUMBER, 10, 15000, &station->range_low,
                             &station->range_high, error);
}

static pellet_status set_zone(const struct config_reading *reading, const struct pellet_yaml *node,
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

static pellet_status set_seconds(const struct config_reading *reading, const struct pellet_yaml *node,
                                 void *place, struct pellet_error *error)
{
    (void)reading;
    return pellet_yaml_quantity(node, PELLET_UNIT_SECOND, 0.05, 3600, place, error);
}

static pellet_status set_minutes(const struct config_reading *reading, const struct pellet_yaml *node,
                                 void *place, struct pellet_error *error)
{
    (void)reading;
    return pellet_yaml_quantity(node, PELLET_UNIT_MINUTE, 0, 525600, place, error);
}

static pellet_status set_size(const struct config_reading *reading, const struct pellet_yaml *node,
                              void *place, struct pellet_error *error)
{
    (void)reading;
    return pellet_yaml_quantity(node, PELLET_UNIT_MIB, 0.01, 4096, place, error);
}

static pellet_status set_mount(const struct config_reading *reading, const struct pellet_yaml *node,
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

static pellet_status set_since(const struct config_reading *reading, const struct pellet_yaml *node,
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

static set_fn set_alert;

/* Every key, what reads it and where it goes; offset 0 is for those that set several members. */
static const struct key {
    const char *name;
    set_fn *set;
    size_t offset;
} keys[] = {
    {"name", set_name, offsetof(struct station_config, name)},
    {"folder", set_path, offsetof(struct station_config, folder)},
    {"include", set_globs, offsetof(struct station_config, include)},
    {"depth", set_depth, offsetof(struct station_config, depth)},
    {"rules", set_rules, offsetof(struct station_config, rules)},
    {"blank", set_globs, offsetof(struct station_config, blank)},
    {"open_beam", set_globs, offsetof(struct station_config, open_beam)},
    {"film", set_globs, offsetof(struct station_config, film)},
    {"sample_name", set_template, offsetof(struct station_config, sample_name)},
    {"ordinate", set_ordinate, 0},
    {"ratioed_against", set_against, offsetof(struct station_config, ratioed_against)},
    {"range", set_range, 0},
    {"measured", set_measured, offsetof(struct station_config, measured)},
    {"timezone", set_zone, offsetof(struct station_config, timezone)},
    {"settle", set_seconds, offsetof(struct station_config, settle_s)},
    {"watch", set_watch, offsetof(struct station_config, watch)},
    {"mount", set_mount, offsetof(struct station_config, mount)},
    {"output", set_path, offsetof(struct station_config, output)},
    {"since", set_since, 0},
    {"file_max", set_size, offsetof(struct station_config, file_max_mib)},
    {"alert", set_alert, 0},
};
enum { KEY_COUNT = sizeof keys / sizeof keys[0] };

static const struct key alert_keys[] = {
    {"command", set_globs, offsetof(struct station_config, alert)},
    {"max_age", set_minutes, offsetof(struct station_config, alert.max_age_min)},
    {"time_limit", set_seconds, offsetof(struct station_config, alert.time_limit_s)},
};
enum { ALERT_KEY_COUNT = sizeof alert_keys / sizeof alert_keys[0] };

/* ---------------------------------------------------------------- reading */

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

static const struct key *find_key(const struct key *table, size_t n, const char *name)
{
    for (size_t i = 0; i < n; i++) {
        if (strcmp(table[i].name, name) == 0)
            return &table[i];
    }
    return NULL;
}

static void list_keys(const struct key *table, size_t n, char *out, size_t size)
{
    size_t used = 0;
    *out = '\0';
    for (size_t i = 0; i < n && used < size; i++)
        used += (size_t)snprintf(out + used, size - used, "%s%s", i ? ", " : "", table[i].name);
}

static pellet_status set_key(const struct config_reading *reading, const struct key *table, size_t n,
                             const struct pellet_yaml *node, struct station_config *station,
                             struct pellet_error *error)
{
    const struct key *key = find_key(table, n, node->key);
    if (key)
        return key->set(reading, node, (char *)station + key->offset, error);
    char allowed[400];
    list_keys(table, n, allowed, sizeof allowed);
    return pellet_yaml_fail(node, PELLET_E_FORMAT, error, "there is no such key; allowed are %s", allowed);
}

/* The command goes through set_globs for its list; no pattern is meant, and '/' is what a program begins
 * with. */
static pellet_status set_command(const struct config_reading *reading, const struct pellet_yaml *node,
                                 struct station_config *station, struct pellet_error *error)
{
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

static pellet_status set_alert(const struct config_reading *reading, const struct pellet_yaml *node,
                               void *place, struct pellet_error *error)
{
    struct station_config *station = place;
    pellet_status status = pellet_yaml_expect(node, PELLET_YAML_MAPPING, error);
    for (const struct pellet_yaml *child = node->first; child && status == PELLET_OK; child = child->next) {
        if (strcmp(child->key, "command") == 0)
            status = set_command(reading, child, station, error);
        else
            status = set_key(reading, alert_keys, ALERT_KEY_COUNT, child, station, error);
    }
    return status;
}

static void read_station(struct config_reading *reading, const struct pellet_yaml *node,
                         struct station_config *station)
{
    struct pellet_error problem = {0};
    set_defaults(station, reading->arena);
    if (pellet_yaml_expect(node, PELLET_YAML_MAPPING, &problem) != PELLET_OK) {
        note(reading, &problem);
        return;
    }
    for (const struct pellet_yaml *child = node->first; child; child = child->next) {
        problem = (struct pellet_error){0};
        if (set_key(reading, keys, KEY_COUNT, child, station, &problem) != PELLET_OK)
            note(reading, &problem);
    }
    const struct pellet_yaml *folder = NULL;
    problem = (struct pellet_error){0};
    if (pellet_yaml_need(node, "folder", &folder, &problem) != PELLET_OK)
        note(reading, &problem);
    else if (station->folder && !station->name)
        station->name = name_after_folder(station->folder, reading->arena);
}

/* `inner` is `outer` or lies below it; both without a slash at the end. */
static bool path_within(const char *inner, const char *outer)
{
    size_t n = strlen(outer);
    while (n > 1 && outer[n - 1] == '/')
        n--;
    return strncmp(inner, outer, n) == 0 && (inner[n] == '\0' || inner[n] == '/' || n == 1);
}

/* As far as it exists; a folder may still be away. */
static const char *resolve(const char *path, char buffer[PATH_MAX])
{
    return realpath(path, buffer) ? buffer : path;
}

static void check_pair(struct config_reading *reading, const struct pellet_yaml *node,
                       const struct station_config *a, const struct station_config *b)
{
    char a_path[PATH_MAX];
    char b_path[PATH_MAX];
    struct pellet_error problem = {0};
    const char *a_folder = resolve(a->folder, a_path);
    const char *b_folder = resolve(b->folder, b_path);
    if (strcmp(a->name, b->name) == 0)
        pellet_yaml_fail(node, PELLET_E_FORMAT, &problem, "two stations are called '%s'", a->name);
    else if (path_within(a_folder, b_folder) || path_within(b_folder, a_folder))
        pellet_yaml_fail(node, PELLET_E_FORMAT, &problem,
                         "the folders of '%s' and '%s' lie within each other; each spectrum belongs to one "
                         "station",
                         a->name, b->name);
    else if (a->output && b->output && strcmp(a->output, b->output) == 0)
        pellet_yaml_fail(node, PELLET_E_FORMAT, &problem, "'%s' and '%s' have the same output", a->name,
                         b->name);
    else
        return;
    note(reading, &problem);
}

static void read_stations(struct config_reading *reading, const struct pellet_yaml *root,
                          struct config *config)
{
    static const char *const allowed[] = {"format", "stations", NULL};
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

/* ---------------------------------------------------------------- finding the file */

static bool candidate(int which, const char *given, char out[PATH_MAX])
{
    const char *home = getenv("HOME");
    const char *xdg = getenv("XDG_CONFIG_HOME");
    const char *from_environment = getenv("PELLETD_CONFIG");
    int n = -1;
    if (given)
        n = which == 0 ? snprintf(out, PATH_MAX, "%s", given) : -1;
    else if (from_environment && *from_environment)
        n = which == 0 ? snprintf(out, PATH_MAX, "%s", from_environment) : -1;
    else if (which == 0 && xdg && *xdg == '/')
        n = snprintf(out, PATH_MAX, "%s/pelletd/pelletd.yaml", xdg);
    else if (which == 0 && home && *home == '/')
        n = snprintf(out, PATH_MAX, "%s/.config/pelletd/pelletd.yaml", home);
    else if (which == 1)
        n = snprintf(out, PATH_MAX, "/etc/pelletd/pelletd.yaml");
    return n > 0 && n < PATH_MAX;
}

pellet_status read_path(const char *path, uint64_t limit, struct pellet_bytes *bytes,
                        struct pellet_error *error)
{
    char real[PATH_MAX];
    if (!realpath(path, real)) {
        pellet_status status = pellet_fail_errno(error, errno, "cannot read");
        pellet_error_set_file(error, path);
        return status;
    }
    char *slash = strrchr(real, '/');
    *slash = '\0';
    int folder = open(*real ? real : "/", O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (folder < 0)
        return pellet_fail_errno(error, errno, "cannot open the folder of %s", path);
    pellet_status status = pellet_read_file(folder, slash + 1, limit, bytes, NULL, error);
    close(folder);
    return status;
}

pellet_status config_load(const char *path, struct config *config, struct pellet_text *problems,
                          struct pellet_error *error)
{
    const char *from_environment = getenv("PELLETD_CONFIG");
    const bool must_exist = path || (from_environment && *from_environment);
    for (int which = 0; which < 2; which++) {
        char file[PATH_MAX];
        char whole[PATH_MAX];
        struct pellet_bytes bytes = {0};
        struct pellet_error problem = {0};
        if (!candidate(which, path, file))
            continue;
        pellet_status status = read_path(file, (uint64_t)1 << 20, &bytes, &problem);
        if (status == PELLET_E_MISSING && !must_exist)
            continue;
        if (status != PELLET_OK) {
            pellet_text_addf(problems, "%s: %s\n", file, problem.message);
            if (error)
                *error = problem;
            return status;
        }
        status =
            config_read(bytes.data, bytes.n, realpath(file, whole) ? whole : file, config, problems, error);
        pellet_bytes_free(&bytes);
        return status;
    }
    *config = (struct config){0};
    return PELLET_OK;
}

void config_clear(struct config *config)
{
    pellet_arena_free(&config->arena);
    *config = (struct config){0};
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
