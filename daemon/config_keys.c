// SPDX-License-Identifier: GPL-3.0-or-later
/* The keys of a station: a table of what reads each and where it goes. */
#include "config_values.h"

#include <stdio.h>
#include <string.h>

static config_set_fn set_alert;

/* Every key, what reads it and where it goes; offset 0 is for those that set several members. */
static const struct key {
    const char *name;
    config_set_fn *set;
    size_t offset;
} keys[] = {
    {"name", config_set_name, offsetof(struct station_config, name)},
    {"folder", config_set_path, offsetof(struct station_config, folder)},
    {"include", config_set_globs, offsetof(struct station_config, include)},
    {"depth", config_set_depth, offsetof(struct station_config, depth)},
    {"rules", config_set_rules, offsetof(struct station_config, rules)},
    {"blank", config_set_globs, offsetof(struct station_config, blank)},
    {"open_beam", config_set_globs, offsetof(struct station_config, open_beam)},
    {"film", config_set_globs, offsetof(struct station_config, film)},
    {"sample_name", config_set_template, offsetof(struct station_config, sample_name)},
    {"ordinate", config_set_ordinate, 0},
    {"column", config_set_column, offsetof(struct station_config, column)},
    {"ratioed_against", config_set_against, offsetof(struct station_config, ratioed_against)},
    {"range", config_set_range, 0},
    {"measured", config_set_measured, offsetof(struct station_config, measured)},
    {"timezone", config_set_zone, offsetof(struct station_config, timezone)},
    {"settle", config_set_seconds, offsetof(struct station_config, settle_s)},
    {"watch", config_set_watch, offsetof(struct station_config, watch)},
    {"mount", config_set_mount, offsetof(struct station_config, mount)},
    {"output", config_set_path, offsetof(struct station_config, output)},
    {"since", config_set_since, 0},
    {"file_max", config_set_size, offsetof(struct station_config, file_max_mib)},
    {"points_max", config_set_points, offsetof(struct station_config, points_max)},
    {"line_max", config_set_size, offsetof(struct station_config, line_max_mib)},
    {"alert", set_alert, 0},
};
enum { KEY_COUNT = sizeof keys / sizeof keys[0] };

static const struct key alert_keys[] = {
    {"command", config_set_command, 0},
    {"max_age", config_set_minutes, offsetof(struct station_config, alert.max_age_min)},
    {"time_limit", config_set_seconds, offsetof(struct station_config, alert.time_limit_s)},
};
enum { ALERT_KEY_COUNT = sizeof alert_keys / sizeof alert_keys[0] };

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

static pellet_status set_alert(const struct config_reading *reading, const struct pellet_yaml *node,
                               void *place, struct pellet_error *error)
{
    struct station_config *station = place;
    pellet_status status = pellet_yaml_expect(node, PELLET_YAML_MAPPING, error);
    for (const struct pellet_yaml *child = node->first; child && status == PELLET_OK; child = child->next)
        status = set_key(reading, alert_keys, ALERT_KEY_COUNT, child, station, error);
    return status;
}

pellet_status config_set_key(const struct config_reading *reading, const struct pellet_yaml *node,
                             struct station_config *station, struct pellet_error *error)
{
    return set_key(reading, keys, KEY_COUNT, node, station, error);
}
