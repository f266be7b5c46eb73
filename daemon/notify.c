// SPDX-License-Identifier: GPL-3.0-or-later
#include "notify.h"

#include "place.h"

#ifdef PELLET_HAVE_SYSTEMD

#include <systemd/sd-daemon.h>

bool notify_is_built_in(void)
{
    return true;
}

void notify_ready(const char *status)
{
    (void)sd_notifyf(0, "READY=1\nSTATUS=%s", status);
}

void notify_reloading(void)
{
    (void)sd_notifyf(0, "RELOADING=1\nMONOTONIC_USEC=%lld", (long long)clock_monotonic_ms() * 1000);
}

void notify_stopping(void)
{
    (void)sd_notify(0, "STOPPING=1");
}

void notify_status(const char *status)
{
    (void)sd_notifyf(0, "STATUS=%s", status);
}

void notify_watchdog(void)
{
    (void)sd_notify(0, "WATCHDOG=1");
}

int64_t notify_watchdog_ms(void)
{
    uint64_t us = 0;
    return sd_watchdog_enabled(0, &us) > 0 ? (int64_t)(us / 2000) : 0;
}

#else

bool notify_is_built_in(void)
{
    return false;
}

void notify_ready(const char *status)
{
    (void)status;
}

void notify_reloading(void)
{
}

void notify_stopping(void)
{
}

void notify_status(const char *status)
{
    (void)status;
}

void notify_watchdog(void)
{
}

int64_t notify_watchdog_ms(void)
{
    return 0;
}

#endif
