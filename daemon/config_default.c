// SPDX-License-Identifier: GPL-3.0-or-later
/* What a station is where nothing is said. */
#include "config_parts.h"

#include <errno.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char *const include_globs[] = {"*.csv", "*.txt", "*.dx", "*.jdx", "*.jcm"};
static const char *const blank_globs[] = {"blank*", "*_blank.*", "*-blank.*", "kbr.*"};
static const char *const open_beam_globs[] = {"open*beam*", "openbeam*"};
static const char *const film_globs[] = {"film*", "polystyrene*"};

#define GLOBS(array) ((struct glob_list){sizeof(array) / sizeof *(array), (const char **)(array)})

/* The zone of this machine: $TZ, else where /etc/localtime points to, else UTC. */
static const char *local_zone(struct pellet_arena *arena)
{
    static const char marker[] = "/zoneinfo/";
    const char *tz = getenv("TZ");
    if (tz && *tz)
        return pellet_arena_string(arena, *tz == ':' ? tz + 1 : tz);
    char target[PATH_MAX];
    ssize_t n = readlink("/etc/localtime", target, sizeof target - 1);
    if (n <= 0)
        return "UTC";
    target[n] = '\0';
    const char *zone = strstr(target, marker);
    return zone ? pellet_arena_string(arena, zone + sizeof marker - 1) : "UTC";
}

void config_set_defaults(struct station_config *station, struct pellet_arena *arena)
{
    *station = (struct station_config){.include = GLOBS(include_globs),
                                       .rules = "routine",
                                       .blank = GLOBS(blank_globs),
                                       .open_beam = GLOBS(open_beam_globs),
                                       .film = GLOBS(film_globs),
                                       .sample_name = "{sample}_p{pellet}",
                                       .range_low = 400,
                                       .range_high = 4000,
                                       .timezone = local_zone(arena),
                                       .settle_s = 0.5,
                                       .mount = "",
                                       .since_time = PELLET_NO_TIME,
                                       .file_max_mib = (double)PELLET_READ_BYTES_MAX / PELLET_MIB,
                                       .points_max = STATION_POINTS,
                                       .line_max_mib = (double)PELLET_READ_LINE_MAX / PELLET_MIB,
                                       .alert.max_age_min = 15,
                                       .alert.time_limit_s = 10};
}

bool config_is_name_byte(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || strchr("._-", c);
}

/* The last part of a folder's path, fit to stand in file names. */
const char *config_name_after_folder(const char *folder, struct pellet_arena *arena)
{
    const char *slash = strrchr(folder, '/');
    char *name = pellet_arena_string(arena, slash && slash[1] ? slash + 1 : "station");
    for (char *c = name; c && *c; c++) {
        if (!config_is_name_byte(*c) || (c == name && *c == '.'))
            *c = '-';
    }
    return name;
}

pellet_status station_config_default(const char *folder, struct pellet_arena *arena,
                                     struct station_config *station, struct pellet_error *error)
{
    char resolved[PATH_MAX];
    if (!realpath(folder, resolved))
        return pellet_fail_errno(error, errno, "cannot use the folder");
    struct station_config made;
    config_set_defaults(&made, arena);
    made.folder = pellet_arena_string(arena, resolved);
    made.name = made.folder ? config_name_after_folder(made.folder, arena) : NULL;
    if (!made.name || !made.timezone)
        return pellet_fail(error, PELLET_E_MEMORY, "no memory for a station");
    *station = made;
    return PELLET_OK;
}
