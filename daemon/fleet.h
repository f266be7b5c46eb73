// SPDX-License-Identifier: GPL-3.0-or-later
/* One configuration at work: a thread for each of its stations. */
#ifndef PELLETD_FLEET_H
#define PELLETD_FLEET_H

#include "station_watch.h"

#include <limits.h>

struct fleet {
    struct config config;
    size_t n;
    struct station_watch **watch; /* NULL: that thread has ended */
    char spool[PATH_MAX];         /* "": no alert can be kept */
    struct claims *claims;
    struct fleet *next; /* in a list of those that hang */
};

/*
 * Start all stations. A fleet with fewer threads than stations is one that could not be started whole; why is
 * said.
 *
 * Given:     config   taken over
 *            how      for all stations; what belongs to the fleet itself is set here
 * Returned:  the fleet, for fleet_join once its threads were asked to stop; NULL: no memory
 */
struct fleet *fleet_start(struct config *config, const struct watch_options *how);
/* Ask all stations to stop; they finish the files in hand. */
void fleet_stop(struct fleet *fleet);
/* Wait for their end until `until_ms` (monotonic). True: all have ended, and the fleet is freed. */
bool fleet_join(struct fleet *fleet, int64_t until_ms);
/* Say which stations have not ended. */
void fleet_say_hanging(const struct fleet *fleet);
/* The program ends without those that hang. All that they may still touch stays. */
void fleet_abandon(struct fleet *fleet);

#endif
