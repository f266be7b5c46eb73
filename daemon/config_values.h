// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The values of a station's keys. Each reads one, checks it, and puts it into `place`: the member of its key,
 * or the whole station where one value sets several members (ordinate, range, since, command). What the
 * message of a refusal names is what is allowed.
 */
#ifndef PELLETD_CONFIG_VALUES_H
#define PELLETD_CONFIG_VALUES_H

#include "config_parts.h"

typedef pellet_status config_set_fn(const struct config_reading *reading, const struct pellet_yaml *node,
                                    void *place, struct pellet_error *error);

config_set_fn config_set_name, config_set_rules, config_set_globs, config_set_depth, config_set_points,
    config_set_column, config_set_template, config_set_ordinate, config_set_range, config_set_zone,
    config_set_seconds, config_set_minutes, config_set_size, config_set_mount, config_set_since,
    config_set_against, config_set_measured, config_set_watch, config_set_command;

#endif
