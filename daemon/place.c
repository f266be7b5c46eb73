// SPDX-License-Identifier: GPL-3.0-or-later
#include "place.h"

#include <string.h>
#include <time.h>

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
