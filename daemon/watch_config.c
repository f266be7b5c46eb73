// SPDX-License-Identifier: GPL-3.0-or-later
#include "watch_config.h"

#include "override.h"
#include "station.h"

static pellet_status load_folder(const char *folder, struct config *config, struct pellet_error *error)
{
    struct config made = {0};
    made.station = pellet_arena_alloc(&made.arena, sizeof *made.station);
    pellet_status status = made.station ? station_config_default(folder, &made.arena, made.station, error)
                                        : pellet_fail(error, PELLET_E_MEMORY, "no memory for a station");
    if (status != PELLET_OK) {
        pellet_arena_free(&made.arena);
        return status;
    }
    made.station_count = 1;
    *config = made;
    return PELLET_OK;
}

/* A folder that is a configured station keeps its settings. */
static pellet_status load(const struct options *options, const char *folder, struct config *config,
                          struct pellet_text *problems, struct pellet_error *error)
{
    struct config made = {0};
    pellet_status status = config_load(options->config, &made, problems, error);
    if (status != PELLET_OK)
        return status;
    const struct station_config *known = folder ? config_station_of(&made, folder) : NULL;
    if (known) {
        made.station[0] = *known;
        made.station_count = 1;
    } else if (folder) {
        config_clear(&made);
        status = load_folder(folder, &made, error);
        if (status != PELLET_OK)
            pellet_text_addf(problems, "%s: %s\n", folder, error->message);
    } else if (made.station_count == 0) {
        status = pellet_fail(error, PELLET_E_USAGE, "no station is configured");
        pellet_text_adds(problems, "no station is configured; name a folder (pelletd watch FOLDER) or a "
                                   "configuration (--config FILE)\n");
    }
    if (status == PELLET_OK)
        *config = made;
    else
        config_clear(&made);
    return status;
}

/* All rule sets must be good before anything is changed. */
static pellet_status check_rules(const struct config *config, struct pellet_text *problems,
                                 struct pellet_error *error)
{
    pellet_status first = PELLET_OK;
    for (size_t i = 0; i < config->station_count; i++) {
        struct pellet_rules rules;
        struct pellet_error problem = {0};
        pellet_status status = rules_find(config->station[i].rules, &rules, &problem);
        if (status == PELLET_OK) {
            pellet_rules_clear(&rules);
            continue;
        }
        pellet_text_addf(problems, "%s: rules %s", config->station[i].name, config->station[i].rules);
        if (problem.line > 0)
            pellet_text_addf(problems, ": line %zu, column %zu", problem.line, problem.column);
        pellet_text_addf(problems, ": %s\n", problem.message);
        if (first == PELLET_OK) {
            first = status;
            *error = problem;
        }
    }
    return first;
}

pellet_status watch_config_load(const struct options *options, const char *folder, struct config *config,
                                struct pellet_text *problems, struct pellet_error *error)
{
    struct config made = {0};
    pellet_status status = load(options, folder, &made, problems, error);
    if (status != PELLET_OK)
        return status;
    for (size_t i = 0; i < made.station_count && status == PELLET_OK; i++)
        status = override_station(options, &made.arena, &made.station[i], error);
    if (status != PELLET_OK)
        pellet_text_addf(problems, "--set: %s\n", error->message);
    else
        status = check_rules(&made, problems, error);
    if (status == PELLET_OK)
        *config = made;
    else
        config_clear(&made);
    return status;
}
