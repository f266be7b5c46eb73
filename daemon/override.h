// SPDX-License-Identifier: GPL-3.0-or-later
/* What the command line says of a station goes before its configuration. */
#ifndef PELLETD_OVERRIDE_H
#define PELLETD_OVERRIDE_H

#include "config.h"
#include "options.h"

/*
 * Apply --rules, --out and each --set KEY=VALUE to a station. VALUE is what would stand after the key in the
 * configuration, but for a pattern, which needs no quotes there ("*.CSV").
 *
 * Given:    arena  owns the strings of what was set
 * Errors:   E_USAGE where it is not KEY=VALUE or the key is `folder`; else what the key's reader says
 */
pellet_status override_station(const struct options *options, struct pellet_arena *arena,
                               struct station_config *station, struct pellet_error *error);

#endif
