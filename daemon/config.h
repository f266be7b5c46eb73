// SPDX-License-Identifier: GPL-3.0-or-later
/* The configuration: which folders are stations, and the settings of each. */
#ifndef PELLETD_CONFIG_H
#define PELLETD_CONFIG_H

#include "globs.h"
#include "pellet/judge.h"

enum measured_by { MEASURED_AUTO, MEASURED_FILE, MEASURED_MTIME };
enum watch_mode { WATCH_AUTO, WATCH_INOTIFY, WATCH_POLL };
enum since_kind { SINCE_ALL, SINCE_INSTALL, SINCE_DATE };

#define STATION_DEPTH_MAX  16
#define STATION_POINTS_MAX 100000000 /* what `points_max` may be at most: 1.6 GB in memory */
/* A point each 0.04 cm-1, where bands of solids are wider than 1: more are no spectrum of a pellet. Judging
 * takes more than in proportion to the points, and whoever can write to the folder chooses them
 * (tests/bench/points.sh). */
#define STATION_POINTS 100000
#define PELLET_MIB     1048576.0

/* The settings of one station. Strings belong to the configuration's arena. */
struct station_config {
    const char *name;   /* letters, digits, '.', '_' and '-' */
    const char *folder; /* absolute */
    struct glob_list include;
    int64_t depth;     /* of sub-folders that are watched too */
    const char *rules; /* name of a shipped rule set, or a file */
    struct glob_list blank, open_beam, film;
    const char *sample_name;
    enum pellet_ordinate ordinate;
    bool ordinate_percent;
    enum pellet_ratioed_against ratioed_against;
    double range_low, range_high; /* cm-1 */
    enum measured_by measured;
    const char *timezone;
    double settle_s;
    enum watch_mode watch;
    const char *mount;  /* "" or what must be mounted: "required" or a mount point */
    const char *output; /* NULL: beside the spectra */
    enum since_kind since;
    pellet_ns since_time;
    const char *column;  /* of files with several ordinates: the one that is the spectrum; NULL: none is */
    double file_max_mib; /* larger files are refused, and so are more points or a longer line */
    int64_t points_max;
    double line_max_mib;
    struct {
        size_t n;
        const char **argv; /* the command; n is 0 where there is no alert */
        double max_age_min;
        double time_limit_s;
    } alert;
};

struct config {
    const char *file; /* NULL: built-in defaults */
    size_t station_count;
    struct station_config *station;
    const char *metrics;       /* where numbers for a monitoring system are written; NULL: nowhere */
    const char *spool;         /* where alerts wait to be run; NULL: see alerts_folder */
    struct pellet_arena arena; /* owns all of the above */
};

/*
 * Read a configuration from its text.
 *
 * Given:     file      its name, for messages and as the folder that relative paths start from
 * Returned:  config    cleared by config_clear; untouched on error
 *            problems  one line for each thing that is wrong, not just the first
 * Errors:    E_FORMAT and the like, of the first problem
 */
pellet_status config_read(const char *yaml, size_t n, const char *file, struct config *config,
                          struct pellet_text *problems, struct pellet_error *error);

/*
 * Find and read the configuration: `path` if given, else $PELLETD_CONFIG,
 * $XDG_CONFIG_HOME/pelletd/pelletd.yaml
 * (~/.config where that is not set), /etc/pelletd/pelletd.yaml. Where none of the last two exists, a
 * configuration without stations results.
 */
pellet_status config_load(const char *path, struct config *config, struct pellet_text *problems,
                          struct pellet_error *error);
void config_clear(struct config *config);

/* Read a file that the person named: unlike a spectrum, it may be reached through symbolic links. */
pellet_status read_path(const char *path, uint64_t limit, struct pellet_bytes *bytes,
                        struct pellet_error *error);

/* A station on built-in defaults for `folder`, named after it; strings come from `arena`. */
pellet_status station_config_default(const char *folder, struct pellet_arena *arena,
                                     struct station_config *station, struct pellet_error *error);

/* `inner` is `outer` or lies below it; absolute paths without a slash at the end. */
bool path_within(const char *inner, const char *outer);

/* The station whose folder is `path` or holds it, both resolved; NULL where there is none. */
const struct station_config *config_station_of(const struct config *config, const char *path);

/* ---------------------------------------------------------------- settings (settings.c) */

/*
 * What of a station's settings can change a verdict, as canonical text and its SHA-256: two stations with the
 * same hash judge alike.
 */
pellet_status station_settings(const struct station_config *station, struct pellet_settings *settings,
                               struct pellet_error *error); /* E_MEMORY; untouched then */

#endif
