// SPDX-License-Identifier: GPL-3.0-or-later
/* What the files of the configuration share: config.c reads it, config_keys.c each key of a station, with
 * config_values.c its value. */
#ifndef PELLETD_CONFIG_PARTS_H
#define PELLETD_CONFIG_PARTS_H

#include "config.h"
#include "core/yaml.h"

/* One configuration being read. */
struct config_reading {
    struct pellet_arena *arena;
    const char *base; /* folder that relative paths start from, "" or with a slash at the end */
    struct pellet_text *problems;
    const char *file;
    pellet_status first;
    struct pellet_error *error;
};

/* One key of a station. E_FORMAT and the like, with its place in the file. */
pellet_status config_set_key(const struct config_reading *reading, const struct pellet_yaml *node,
                             struct station_config *station, struct pellet_error *error);

/* A path, relative to the configuration's own folder; `place` is where the string's address goes. */
pellet_status config_set_path(const struct config_reading *reading, const struct pellet_yaml *node,
                              void *place, struct pellet_error *error);

/* Built-in defaults; folder and name stay NULL. */
void config_set_defaults(struct station_config *station, struct pellet_arena *arena);
bool config_is_name_byte(char c);
/* The last part of a folder's path, fit to stand in file names; NULL: no memory. */
const char *config_name_after_folder(const char *folder, struct pellet_arena *arena);

#endif
