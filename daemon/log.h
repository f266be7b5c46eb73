// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Messages for the person who runs the program, on stderr: `pelletd: what: why`. Under systemd each line
 * carries its priority. One message is one write, so that threads do not mix their lines.
 */
#ifndef PELLETD_LOG_H
#define PELLETD_LOG_H

#include "journal.h"

/* Takes away what stands in the terminal's line: progress, before a message or a newer line. */
#define LOG_WIPE "\r\033[K"

/* The numbers are those of syslog, which the journal reads from "<N>" at the start of a line. */
enum log_level { LOG_LEVEL_ERROR = 3, LOG_LEVEL_WARNING = 4, LOG_LEVEL_NOTICE = 5, LOG_LEVEL_INFO = 6 };

/* `what` is what was being done or to which file (any bytes; shown with \xNN); NULL leaves it out. */
void log_say(enum log_level level, const char *what, const char *format, ...) PELLET_PRINTF(3, 4);

/* The same, as an event of its own kind in the journal. */
void log_event(enum journal_event event, enum log_level level, const char *what, const char *format, ...)
    PELLET_PRINTF(4, 5);

/* The same from an error: file, line, column and message. `what` NULL takes the error's file. */
void log_failure(enum log_level level, const char *what, const struct pellet_error *error);

/* A message for each line of `lines`, as a list of problems has them. */
void log_lines(enum log_level level, const struct pellet_text *lines);

/* Whether the descriptor is the journal's socket (JOURNAL_STREAM names its device and inode). */
bool log_is_journal(int fd);

#endif
