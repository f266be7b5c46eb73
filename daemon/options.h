// SPDX-License-Identifier: GPL-3.0-or-later
/* The options of all commands, and the table that says which command takes which. */
#ifndef PELLETD_OPTIONS_H
#define PELLETD_OPTIONS_H

#include "pellet/core.h"

/* Bits of the commands, for the table of options. */
enum {
    FOR_WATCH = 1,
    FOR_JUDGE = 2,
    FOR_REPORT = 4,
    FOR_RULES = 8,
    FOR_CHECK = 16,
    FOR_DEMO = 32,
    FOR_ALERTS = 64,
    FOR_ALL = 127,
};

#define OPTIONS_SET_MAX 32

/* As given; NULL, false and 0 where not given, unless said otherwise. Strings belong to argv. */
struct options {
    const char *config;
    const char *rules;
    struct {
        size_t n;
        const char *text[OPTIONS_SET_MAX];
    } set; /* each KEY=VALUE */
    const char *blank;
    const char *out;
    bool again;
    bool verify;
    bool no_write;
    bool json;
    bool yaml;
    unsigned jobs;      /* 0: as many as there are processors */
    double pace_s;      /* 2 */
    unsigned long seed; /* 1 */
    double rescan_s;    /* 300: how often a watched folder is looked through whatever the events say */
    bool help;
    bool version;
};

/* Exit codes (design: the program). */
enum { EXIT_PASSED = 0, EXIT_NOT_PASSED = 1, EXIT_USAGE = 2, EXIT_TROUBLE = 3 };

/*
 * Read the options of one command, which may stand before, between or after its other arguments.
 *
 * Given:     command  its bit
 * Returned:  options  all set, defaults included; untouched on error
 *            first    index in argv of the first argument that is no option (argv is permuted)
 * Errors:    E_USAGE with a message for the person
 */
pellet_status options_read(unsigned command, int argc, char **argv, struct options *options, int *first,
                           struct pellet_error *error);

/* The lines of --help for the options of a command. */
void options_describe(unsigned command, struct pellet_text *out);

#endif
