// SPDX-License-Identifier: GPL-3.0-or-later
/* Commands that are still to be written say so. */
#include "command.h"
#include "log.h"

static int not_yet(const char *what)
{
    log_say(LOG_LEVEL_ERROR, what, "this command is not written yet");
    return EXIT_USAGE;
}

int command_report(const struct options *options, int count, char **arguments)
{
    (void)options, (void)count, (void)arguments;
    return not_yet("report");
}
