// SPDX-License-Identifier: GPL-3.0-or-later
#include "fleet.h"

#include "alerts.h"
#include "log.h"

#include <stdlib.h>

struct fleet *fleet_start(struct config *config, const struct watch_options *how)
{
    struct fleet *fleet = calloc(1, sizeof *fleet);
    struct station_watch **watch = calloc(config->station_count, sizeof *watch);
    struct claims *claims = claims_new();
    struct watch_options options = *how;
    if (!fleet || !watch || !claims) {
        free(fleet);
        free(watch);
        claims_free(claims);
        log_say(LOG_LEVEL_ERROR, "watch", "no memory for the stations");
        return NULL;
    }
    fleet->config = *config;
    fleet->watch = watch;
    fleet->claims = claims;
    *config = (struct config){0};
    options.claims = claims;
    options.name_stations = fleet->config.station_count > 1;
    if (alerts_folder(&fleet->config, fleet->spool))
        options.spool = fleet->spool;
    for (size_t i = 0; i < fleet->config.station_count; i++) {
        struct pellet_error error = {0};
        if (station_watch_start(&fleet->config.station[i], &options, &watch[fleet->n], &error) == PELLET_OK)
            fleet->n++;
        else
            log_failure(LOG_LEVEL_ERROR, fleet->config.station[i].name, &error);
    }
    return fleet;
}

void fleet_stop(struct fleet *fleet)
{
    for (size_t i = 0; i < fleet->n; i++)
        station_watch_stop(fleet->watch[i]);
}

bool fleet_join(struct fleet *fleet, int64_t until_ms)
{
    bool all = true;
    for (size_t i = 0; i < fleet->n; i++) {
        if (fleet->watch[i] && station_watch_join(fleet->watch[i], until_ms))
            fleet->watch[i] = NULL;
        all = all && !fleet->watch[i];
    }
    if (!all)
        return false;
    config_clear(&fleet->config);
    claims_free(fleet->claims);
    free(fleet->watch);
    free(fleet);
    return true;
}

void fleet_say_hanging(const struct fleet *fleet)
{
    for (size_t i = 0; i < fleet->n; i++) {
        if (fleet->watch[i])
            log_say(LOG_LEVEL_WARNING, fleet->watch[i]->config->name, "hangs; it is left to itself");
    }
}

void fleet_abandon(struct fleet *fleet)
{
    for (size_t i = 0; i < fleet->n; i++) {
        if (fleet->watch[i])
            station_watch_abandon(fleet->watch[i]);
    }
}
