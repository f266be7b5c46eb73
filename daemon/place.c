// SPDX-License-Identifier: GPL-3.0-or-later
#include "place.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

struct pellet_read_options place_read_options(const struct station_config *config)
{
    return (struct pellet_read_options){.ordinate = config->ordinate,
                                        .ordinate_percent = config->ordinate_percent,
                                        .timezone = config->timezone,
                                        .column = config->column,
                                        .bytes_max = (uint64_t)(config->file_max_mib * PELLET_MIB),
                                        .points_max = (size_t)config->points_max,
                                        .line_max = (size_t)(config->line_max_mib * PELLET_MIB)};
}

pellet_status place_look(const struct place *place, const char *name, struct stat *st,
                         struct pellet_error *error)
{
    struct pellet_error opening = {0};
    pellet_status status = PELLET_OK;
    int file = pellet_open_beneath(place->folder, name, O_PATH | O_NOFOLLOW, 0, &opening);
    if (file < 0)
        status = opening.status;
    else if (fstat(file, st) < 0)
        status = pellet_fail_errno(&opening, errno, "cannot look at it");
    if (file >= 0)
        close(file);
    if (status != PELLET_OK && error)
        *error = opening;
    return status;
}

void place_output_name(const char *name, const char *folder, const char *ending, struct pellet_text *out)
{
    pellet_text_addf(out, "reports/%s/", folder);
    pellet_derived_name(name, ending, out);
}

pellet_ns clock_now(void)
{
    struct timespec now;
    clock_gettime(CLOCK_REALTIME, &now);
    return (pellet_ns)now.tv_sec * PELLET_NS_PER_S + now.tv_nsec;
}

int64_t clock_monotonic_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_BOOTTIME, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}
