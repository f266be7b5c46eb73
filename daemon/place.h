// SPDX-License-Identifier: GPL-3.0-or-later
/* What the threads of a station share and none of them changes. */
#ifndef PELLETD_PLACE_H
#define PELLETD_PLACE_H

#include "config.h"
#include "spectrum_cache.h"

#include <sys/stat.h>

struct place {
    const struct station_config *config;
    int folder; /* descriptor of the station folder */
    int output; /* descriptor of the folder that is written to; the same where nothing else is configured */
    struct spectrum_cache *cache;
    const struct pellet_rules *rules;
    struct pellet_settings settings;
};

/*
 * Whether a station's folder is where its configuration says, is still the one that was opened as `folder`
 * (-1: none was), and lies on what must be mounted. `why` says what is amiss.
 */
bool station_is_here(const struct station_config *config, int folder, char *why, size_t size);

/* What is there under this name in the station folder, a symbolic link not followed. */
pellet_status place_look(const struct place *place, const char *name, struct stat *st,
                         struct pellet_error *error);

/* How a station's files are read where they do not say it themselves, and the limits beyond which they are
 * not. */
struct pellet_read_options place_read_options(const struct station_config *config);

/* "sub/caffeine.csv" -> "reports/ratioed/sub/caffeine.csv.jdx", with long names cut as those of verdicts */
void place_output_name(const char *name, const char *folder, const char *ending, struct pellet_text *out);

/* Wall-clock time, for `judged`, and monotonic time, for waiting. */
pellet_ns clock_now(void);
int64_t clock_monotonic_ms(void);

#endif
