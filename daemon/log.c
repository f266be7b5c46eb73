// SPDX-License-Identifier: GPL-3.0-or-later
#include "log.h"

#include "outlet.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

bool log_is_journal(int fd)
{
    const char *stream = getenv("JOURNAL_STREAM");
    unsigned long long device = 0;
    unsigned long long inode = 0;
    struct stat st;
    if (!stream || sscanf(stream, "%llu:%llu", &device, &inode) != 2 || fstat(fd, &st) < 0)
        return false;
    return st.st_dev == device && st.st_ino == inode;
}

static void say(enum journal_event event, enum log_level level, const char *what, const char *message)
{
    int saved = errno;
    struct pellet_text line = {0};
    const bool fields = journal_takes_fields();
    if (!fields && log_is_journal(STDERR_FILENO))
        pellet_text_addf(&line, "<%d>", (int)level);
    else if (!fields && isatty(STDERR_FILENO))
        pellet_text_adds(&line, LOG_WIPE);
    if (!fields)
        pellet_text_adds(&line, "pelletd: ");
    if (what && *what) {
        pellet_text_add_visible(&line, what, strlen(what));
        pellet_text_adds(&line, ": ");
    }
    pellet_text_add_visible(&line, message, strlen(message));
    if (!fields)
        pellet_text_addc(&line, '\n');
    if (pellet_text_status(&line) == PELLET_OK && fields)
        journal_send(event, (int)level, pellet_text_string(&line));
    else if (pellet_text_status(&line) == PELLET_OK)
        (void)outlet_write(STDERR_FILENO, line.data, line.length, OUTLET_WAIT_MS);
    pellet_text_free(&line);
    errno = saved;
}

void log_say(enum log_level level, const char *what, const char *format, ...)
{
    char message[1024];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(message, sizeof message, format, arguments);
    va_end(arguments);
    say(JOURNAL_OTHER, level, what, message);
}

void log_event(enum journal_event event, enum log_level level, const char *what, const char *format, ...)
{
    char message[1024];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(message, sizeof message, format, arguments);
    va_end(arguments);
    say(event, level, what, message);
}

void log_failure(enum log_level level, const char *what, const struct pellet_error *error)
{
    struct pellet_text message = {0};
    if (!what)
        what = error->file;
    else if (*error->file && !strstr(what, error->file)) /* once is enough */
        pellet_text_addf(&message, "%s: ", error->file);
    if (error->line > 0 && error->column > 0)
        pellet_text_addf(&message, "line %zu, column %zu: ", error->line, error->column);
    else if (error->line > 0)
        pellet_text_addf(&message, "line %zu: ", error->line);
    pellet_text_adds(&message, *error->message ? error->message : pellet_status_text(error->status));
    say(JOURNAL_OTHER, level, what, pellet_text_string(&message));
    pellet_text_free(&message);
}

void log_lines(enum log_level level, const struct pellet_text *lines)
{
    for (const char *line = pellet_text_string(lines); *line;) {
        size_t n = strcspn(line, "\n");
        log_say(level, NULL, "%.*s", (int)n, line);
        line += n + (line[n] == '\n');
    }
}
