// SPDX-License-Identifier: GPL-3.0-or-later
/* The commands. Each takes its options and other arguments and returns the exit code. */
#ifndef PELLETD_COMMAND_H
#define PELLETD_COMMAND_H

#include "options.h"

struct command {
    const char *name;
    unsigned bit;
    const char *usage;   /* what follows the name */
    const char *purpose; /* one line */
    const char *help;    /* how it is used, by example */
    int arguments_min, arguments_max;
    int (*run)(const struct options *options, int count, char **arguments);
};

int command_watch(const struct options *options, int count, char **arguments);
int command_judge(const struct options *options, int count, char **arguments);
int command_report(const struct options *options, int count, char **arguments);
int command_rules(const struct options *options, int count, char **arguments);
int command_check(const struct options *options, int count, char **arguments);
int command_alerts(const struct options *options, int count, char **arguments);
int command_demo(const struct options *options, int count, char **arguments);

/* The table, ended by a row without a name. */
extern const struct command commands[];

/* The whole program but main(), so that it can be tested. */
int commands_run(int argc, char **argv);

#endif
