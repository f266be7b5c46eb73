// SPDX-License-Identifier: GPL-3.0-or-later
#include "progress.h"

#include "log.h"

#include <stdio.h>
#include <sys/ioctl.h>
#include <unistd.h>

#define QUIET_MS 1000 /* work that is over by then needs no line */
#define DRAW_MS  200  /* between two lines */
#define RATE_MS  500  /* a rate over less is a guess */

struct progress progress_begin(void)
{
    return (struct progress){.shown = isatty(STDERR_FILENO)};
}

static void describe_left(double seconds, char *out, size_t size)
{
    const unsigned long whole = (unsigned long)(seconds + 0.5);
    if (whole >= 3600)
        snprintf(out, size, "%lu h %lu min", whole / 3600, whole % 3600 / 60);
    else if (whole >= 60)
        snprintf(out, size, "%lu min %lu s", whole / 60, whole % 60);
    else
        snprintf(out, size, "%lu s", whole);
}

void progress_describe(const struct progress *progress, size_t read, size_t done, size_t total,
                       int64_t now_ms, char *out, size_t size)
{
    const int64_t since_ms = now_ms - progress->counted_ms;
    char left[48];
    if (done == 0) {
        snprintf(out, size, "reading: %zu of %zu", read, total);
    } else if (progress->counted_ms == 0 || since_ms < RATE_MS || done <= progress->counted_from) {
        snprintf(out, size, "%zu of %zu", done, total);
    } else {
        const double rate = 1000.0 * (double)(done - progress->counted_from) / (double)since_ms;
        describe_left((double)(total - done) / rate, left, sizeof left);
        snprintf(out, size, "%zu of %zu, %.*f a second, %s left", done, total, rate < 10 ? 1 : 0, rate, left);
    }
}

/* A line that is longer than the terminal is wide would go on below, and stay there when it is wiped. */
static int columns_of_terminal(void)
{
    struct winsize size = {0};
    return ioctl(STDERR_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col > 1 ? size.ws_col - 1 : 79;
}

void progress_tell(struct progress *progress, size_t read, size_t done, size_t total, int64_t now_ms)
{
    char line[120];
    if (!progress->shown)
        return;
    if (progress->first_ms == 0)
        progress->first_ms = now_ms;
    if (progress->counted_ms == 0 && done > 0) {
        progress->counted_ms = now_ms;
        progress->counted_from = done;
    }
    if (now_ms - progress->first_ms < QUIET_MS || now_ms - progress->drawn_ms < DRAW_MS)
        return;
    progress_describe(progress, read, done, total, now_ms, line, sizeof line);
    fprintf(stderr, "%s%.*s", LOG_WIPE, columns_of_terminal(), line);
    progress->drawn = true;
    progress->drawn_ms = now_ms;
}

void progress_end(struct progress *progress)
{
    if (progress->drawn)
        fputs(LOG_WIPE, stderr);
    progress->drawn = false;
}

void progress_of_station(struct progress *progress, const struct station *station)
{
    size_t read = 0;
    size_t done = 0;
    size_t total = 0;
    for (size_t i = 0; progress->shown && i < station->index.n; i++) {
        const struct entry *entry = station->index.item[i];
        const bool counts = entry->wanted && entry->present;
        total += counts;
        read += counts && entry->stage > ENTRY_READING;
        done += counts && entry->stage >= ENTRY_DONE;
    }
    progress_tell(progress, read, done, total, clock_monotonic_ms());
}
