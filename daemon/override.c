// SPDX-License-Identifier: GPL-3.0-or-later
#include "override.h"

#include "config_parts.h"

#include <string.h>

/* The line of a configuration that sets the same. A plain scalar of YAML may not begin with these. */
static const char *line_of(const char *assignment, const char *equals, struct pellet_arena *arena)
{
    const bool quote = equals[1] && strchr("*&!%@`", equals[1]) && !strchr(equals, '\'');
    return pellet_arena_printf(arena, quote ? "%.*s: '%s'" : "%.*s: %s", (int)(equals - assignment),
                               assignment, equals + 1);
}

static pellet_status set_one(const char *assignment, struct pellet_arena *arena,
                             struct station_config *station, struct pellet_error *error)
{
    const struct config_reading reading = {.arena = arena, .base = ""};
    const struct pellet_yaml *root = NULL;
    const char *equals = strchr(assignment, '=');
    if (!equals || equals == assignment)
        return pellet_fail(error, PELLET_E_USAGE, "write KEY=VALUE, such as ordinate=absorbance");
    const char *line = line_of(assignment, equals, arena);
    if (!line)
        return pellet_fail(error, PELLET_E_MEMORY, "no memory for a setting");
    pellet_status status = pellet_yaml_read(line, strlen(line), arena, &root, error);
    if (status == PELLET_OK)
        status = pellet_yaml_expect(root, PELLET_YAML_MAPPING, error);
    if (status != PELLET_OK)
        return status;
    if (root->count != 1 || strcmp(root->first->key, "folder") == 0)
        return pellet_fail(error, PELLET_E_USAGE, "one key at a time, and not the folder");
    return config_set_key(&reading, root->first, station, error);
}

pellet_status override_station(const struct options *options, struct pellet_arena *arena,
                               struct station_config *station, struct pellet_error *error)
{
    pellet_status status = PELLET_OK;
    for (size_t i = 0; i < options->set.n && status == PELLET_OK; i++)
        status = set_one(options->set.text[i], arena, station, error);
    if (options->rules)
        station->rules = options->rules;
    if (options->out)
        station->output = options->out;
    return status;
}
