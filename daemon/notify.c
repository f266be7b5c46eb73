// SPDX-License-Identifier: GPL-3.0-or-later
#include "notify.h"

#include "place.h"

#ifdef PELLET_HAVE_SYSTEMD

#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <sys/time.h>
#include <systemd/sd-daemon.h>

bool notify_is_built_in(void)
{
    return true;
}

static void end_the_wait(int signal)
{
    (void)signal;
}

/* sd_notify waits until there is room in the manager's queue. A manager that does not read would keep us from
 * hearing SIGTERM for ever; a timer interrupts it, again and again should it come before the wait begins. */
static bool tell(const char *message)
{
    const struct sigaction interrupts = {.sa_handler = end_the_wait};
    const struct timeval wait = {.tv_sec = NOTIFY_WAIT_S};
    const struct itimerval on = {.it_interval = wait, .it_value = wait};
    const struct itimerval off = {0};
    sigset_t alarm;
    sigemptyset(&alarm);
    sigaddset(&alarm, SIGALRM);
    sigaction(SIGALRM, &interrupts, NULL);
    pthread_sigmask(SIG_UNBLOCK, &alarm, NULL);
    setitimer(ITIMER_REAL, &on, NULL);
    const int sent = sd_notify(0, message);
    setitimer(ITIMER_REAL, &off, NULL);
    pthread_sigmask(SIG_BLOCK, &alarm, NULL);
    return sent != -EINTR;
}

static bool tell_status(const char *before, const char *status)
{
    char message[256];
    snprintf(message, sizeof message, "%sSTATUS=%s", before, status);
    return tell(message);
}

bool notify_ready(const char *status)
{
    return tell_status("READY=1\n", status);
}

bool notify_status(const char *status)
{
    return tell_status("", status);
}

void notify_reloading(void)
{
    char message[80];
    snprintf(message, sizeof message, "RELOADING=1\nMONOTONIC_USEC=%lld",
             (long long)clock_monotonic_ms() * 1000);
    (void)tell(message);
}

void notify_stopping(void)
{
    (void)tell("STOPPING=1");
}

void notify_watchdog(void)
{
    (void)tell("WATCHDOG=1");
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

bool notify_ready(const char *status)
{
    (void)status;
    return true;
}

void notify_reloading(void)
{
}

void notify_stopping(void)
{
}

bool notify_status(const char *status)
{
    (void)status;
    return true;
}

void notify_watchdog(void)
{
}

int64_t notify_watchdog_ms(void)
{
    return 0;
}

#endif
