// SPDX-License-Identifier: GPL-3.0-or-later
/* The configuration that the service is to work with. */
#ifndef PELLETD_WATCH_CONFIG_H
#define PELLETD_WATCH_CONFIG_H

#include "config.h"
#include "options.h"

/*
 * Read it, for all stations or for the one `folder` (NULL: all), and see that all rule sets are good: nothing
 * is to be changed before all is.
 *
 * Returned:  config    untouched on error
 *            problems  a line for each
 */
pellet_status watch_config_load(const struct options *options, const char *folder, struct config *config,
                                struct pellet_text *problems, struct pellet_error *error);

#endif
