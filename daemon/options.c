// SPDX-License-Identifier: GPL-3.0-or-later
#include "options.h"

#include <getopt.h>
#include <stdio.h>
#include <string.h>

enum kind { FLAG, TEXT, TEXTS, COUNT, SEED, SECONDS, FORMAT };

/* One option: where its value goes, who takes it, and what the help says. */
struct row {
    const char *name;
    const char *value; /* how the help calls the value; NULL for a flag */
    enum kind kind;
    unsigned commands;
    size_t offset;
    const char *help;
};

#define AT(member) offsetof(struct options, member)

static const struct row rows[] = {
    {"config", "FILE", TEXT, FOR_WATCH | FOR_JUDGE | FOR_REPORT | FOR_CHECK | FOR_ALERTS, AT(config),
     "read the stations from FILE"},
    {"rules", "NAME|FILE", TEXT, FOR_JUDGE | FOR_WATCH, AT(rules),
     "judge by this rule set: routine, pharmacopoeial, teaching or a file of your own"},
    {"set", "KEY=VALUE", TEXTS, FOR_JUDGE | FOR_WATCH, AT(set),
     "as if the configuration said KEY: VALUE of the station; may be given again"},
    {"blank", "FILE", TEXT, FOR_JUDGE, AT(blank), "pair every sample with this blank"},
    {"again", NULL, FLAG, FOR_JUDGE, AT(again), "judge anew what already has a verdict"},
    {"verify", NULL, FLAG, FOR_JUDGE, AT(verify),
     "recompute the verdicts from the files they name; print what differs, write nothing"},
    {"out", "DIR", TEXT, FOR_JUDGE | FOR_WATCH | FOR_REPORT, AT(out),
     "write below DIR instead of beside the spectra"},
    {"no-write", NULL, FLAG, FOR_JUDGE, AT(no_write), "print only"},
    {"jobs", "N", COUNT, FOR_JUDGE | FOR_WATCH, AT(jobs), "judge on N threads (one a processor, 8 at most)"},
    {"format", "text|json", FORMAT, FOR_JUDGE, AT(json), "print lines for people, or one JSON object a line"},
    {"yaml", NULL, FLAG, FOR_RULES, AT(yaml),
     "print a shipped rule set as it is written, to make your own of it"},
    {"rescan", "SECONDS", SECONDS, FOR_WATCH, AT(rescan_s),
     "look through the whole folder this often, whatever the events say (300)"},
    {"pace", "SECONDS", SECONDS, FOR_DEMO, AT(pace_s), "wait this long between two files (2)"},
    {"seed", "N", SEED, FOR_DEMO, AT(seed), "vary amounts and noise; the story stays the same (1)"},
    {"help", NULL, FLAG, FOR_ALL, AT(help), "show this"},
    {"version", NULL, FLAG, FOR_ALL, AT(version), "show the version"},
};
enum { ROW_COUNT = sizeof rows / sizeof rows[0] };

static pellet_status number_of(const char *text, double lowest, double highest, double *value)
{
    double number = 0;
    if (pellet_number_parse(text, strlen(text), '.', &number) != PELLET_OK)
        return PELLET_E_NUMBER;
    if (number < lowest || number > highest)
        return PELLET_E_RANGE;
    *value = number;
    return PELLET_OK;
}

static pellet_status whole_of(const char *text, double lowest, double highest, unsigned long *value)
{
    double number = 0;
    pellet_status status = number_of(text, lowest, highest, &number);
    if (status == PELLET_OK && number != (double)(unsigned long)number)
        status = PELLET_E_NUMBER;
    if (status == PELLET_OK)
        *value = (unsigned long)number;
    return status;
}

static pellet_status set(const struct row *row, const char *text, struct options *options)
{
    void *place = (char *)options + row->offset;
    pellet_status status = PELLET_OK;
    unsigned long whole = 0;
    switch (row->kind) {
    case FLAG:
        *(bool *)place = true;
        break;
    case TEXT:
        *(const char **)place = text;
        status = *text ? PELLET_OK : PELLET_E_USAGE;
        break;
    case TEXTS:
        status = options->set.n < OPTIONS_SET_MAX ? PELLET_OK : PELLET_E_LIMIT;
        if (status == PELLET_OK)
            options->set.text[options->set.n++] = text;
        break;
    case COUNT:
        status = whole_of(text, 1, 256, &whole);
        if (status == PELLET_OK)
            *(unsigned *)place = (unsigned)whole;
        break;
    case SEED:
        status = whole_of(text, 0, 4294967295.0, (unsigned long *)place);
        break;
    case SECONDS:
        status = number_of(text, 0, 86400, (double *)place);
        break;
    case FORMAT:
        *(bool *)place = strcmp(text, "json") == 0;
        status = *(bool *)place || strcmp(text, "text") == 0 ? PELLET_OK : PELLET_E_USAGE;
        break;
    }
    return status;
}

/* The rows of one command as getopt_long wants them; `val` is the row plus 1. */
static void long_options(unsigned command, struct option list[ROW_COUNT + 1])
{
    size_t n = 0;
    for (int i = 0; i < ROW_COUNT; i++) {
        if (rows[i].commands & command)
            list[n++] =
                (struct option){rows[i].name, rows[i].value ? required_argument : no_argument, NULL, i + 1};
    }
    list[n] = (struct option){0};
}

pellet_status options_read(unsigned command, int argc, char **argv, struct options *options, int *first,
                           struct pellet_error *error)
{
    struct options found = {.pace_s = 2, .seed = 1, .rescan_s = 300};
    struct option list[ROW_COUNT + 1];
    long_options(command, list);
    opterr = 0;
    optind = 0;
    int which = 0;
    while ((which = getopt_long(argc, argv, ":hV", list, NULL)) != -1) {
        if (which == 'h')
            found.help = true;
        else if (which == 'V')
            found.version = true;
        else if (which == ':')
            return pellet_fail(error, PELLET_E_USAGE, "%s needs a value", argv[optind - 1]);
        else if (which == '?')
            return pellet_fail(error, PELLET_E_USAGE, "unknown option %s", argv[optind - 1]);
        else if (set(&rows[which - 1], optarg, &found) != PELLET_OK)
            return pellet_fail(error, PELLET_E_USAGE, "--%s takes %s, not '%s'", rows[which - 1].name,
                               rows[which - 1].value, optarg);
    }
    *options = found;
    *first = optind;
    return PELLET_OK;
}

void options_describe(unsigned command, struct pellet_text *out)
{
    for (int i = 0; i < ROW_COUNT; i++) {
        if (!(rows[i].commands & command))
            continue;
        char left[48];
        snprintf(left, sizeof left, "--%s%s%s", rows[i].name, rows[i].value ? " " : "",
                 rows[i].value ? rows[i].value : "");
        pellet_text_addf(out, "  %-20s  %s\n", left, rows[i].help);
    }
}
