// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Telling the service manager how we are; nothing happens where there is none. For one thread, while all
 * others block SIGALRM, which ends the wait for a manager that does not read.
 */
#ifndef PELLETD_NOTIFY_H
#define PELLETD_NOTIFY_H

#include "pellet/core.h"

#define NOTIFY_WAIT_S 1 /* for each message */

/* Whether this program was built to tell anybody. */
bool notify_is_built_in(void);

/* False: the manager does not read now, and is to be told again later. */
bool notify_ready(const char *status);
bool notify_status(const char *status);
void notify_reloading(void);
void notify_stopping(void);
void notify_watchdog(void);
/* How often the watchdog wants to hear of us (half its time, ms); 0: not at all. */
int64_t notify_watchdog_ms(void);

#endif
