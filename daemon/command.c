// SPDX-License-Identifier: GPL-3.0-or-later
#include "command.h"

#include "log.h"
#include "outlet.h"

#include <limits.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>

/* clang-format off */
const struct command commands[] = {
    {"watch", FOR_WATCH, "[--config FILE] [FOLDER]", "judge every spectrum the moment it lands",
     "Watch one folder on your own machine, without configuration or root:\n"
     "  pelletd watch ~/spectra/bench-1\n"
     "Watch the stations of a configuration (what the service does):\n"
     "  pelletd watch --config /etc/pelletd/pelletd.yaml\n"
     "Stop it with Ctrl-C; it finishes the file in hand. SIGHUP reads the configuration anew.\n",
     0, 1, command_watch},
    {"judge", FOR_JUDGE, "[OPTIONS] PATH...", "judge files or folders now, and print a line each",
     "Judge a folder and write the verdicts beside the spectra:\n"
     "  pelletd judge ~/spectra/2026-03-04\n"
     "Only look at one file, against a blank of your choice:\n"
     "  pelletd judge --no-write --blank blank-0900.csv caffeine_p1.csv\n"
     "Which of an archive did not pass?\n"
     "  pelletd judge --out /tmp/verdicts archive | grep -v ^pass\n"
     "What is to be made again, and what to do? The columns are verdict, file, why and what to do:\n"
     "  pelletd judge archive | grep ^remake | cut -f2,4\n"
     "Do the verdicts still follow from their inputs?\n"
     "  pelletd judge --verify ~/spectra/2026-03-04\n"
     "Exit: 0 all passed, 1 something did not, 2 wrong usage or configuration, 3 we could not read or write.\n",
     1, INT_MAX, command_judge},
    {"report", FOR_REPORT, "FOLDER", "write the session records of a folder anew",
     "Make records from the verdicts that are there; nothing is judged:\n"
     "  pelletd report ~/spectra/bench-1\n"
     "It prints where each record is: a page to read and sign, and the same as a table beside it (.csv).\n"
     "A closed session's record is never changed: where there is more to say it becomes a new revision, and the\n"
     "one before is kept in reports/revision-1/.\n"
     "Which files of this year were to be made again?\n"
     "  cut -d, -f3,9 ~/spectra/bench-1/reports/2026-*.csv | grep '\"remake\"$' | sort -u\n",
     1, 1, command_report},
    {"rules", FOR_RULES, "[--yaml] [NAME|FILE]", "check a rule set and print it in full",
     "What is judged, by which limit, and why:\n"
     "  pelletd rules\n"
     "Make your own from a shipped one, then check it:\n"
     "  pelletd rules --yaml teaching > our-lab.yaml\n"
     "  pelletd rules our-lab.yaml\n",
     0, 1, command_rules},
    {"check", FOR_CHECK, "[--config FILE]", "check the configuration, folders, rights and rule sets",
     "Before (re)starting the service:\n"
     "  pelletd check --config /etc/pelletd/pelletd.yaml && systemctl reload pelletd\n",
     0, 0, command_check},
    {"alerts", FOR_ALERTS, "[--config FILE]", "run the commands of alerts as they come",
     "Beside the service, as a process of its own (systemd runs it as pelletd-alerts.service):\n"
     "  pelletd alerts --config /etc/pelletd/pelletd.yaml\n"
     "It runs the `alert` command of a station for each verdict that is not pass, without a shell, at most once,\n"
     "with a time limit. The command finds PELLETD_VERDICT, PELLETD_FILE, PELLETD_SUMMARY, PELLETD_DO and others\n"
     "in its environment; pelletd.yaml(5) lists them.\n",
     0, 0, command_alerts},
    {"demo", FOR_DEMO, "FOLDER [--pace SECONDS] [--seed N]", "play an invented lab session into a folder",
     "See it work, in two terminals:\n"
     "  mkdir /tmp/bench && pelletd watch /tmp/bench\n"
     "  pelletd demo /tmp/bench\n",
     1, 1, command_demo},
    {0},
};
/* clang-format on */

static int print_text(struct pellet_text *text)
{
    fputs(pellet_text_string(text), stdout);
    int code = pellet_text_status(text) == PELLET_OK && fflush(stdout) == 0 ? EXIT_PASSED : EXIT_TROUBLE;
    pellet_text_free(text);
    return code;
}

static int print_version(void)
{
    struct pellet_text text = {0};
    pellet_text_adds(&text, "pelletd " PELLET_VERSION "\n");
    return print_text(&text);
}

static int print_help(const struct command *command)
{
    struct pellet_text text = {0};
    pellet_text_addf(&text, "pelletd %s %s\n\n%c%s.\n\n%s\nOptions:\n", command->name, command->usage,
                     command->purpose[0] - 'a' + 'A', command->purpose + 1, command->help);
    options_describe(command->bit, &text);
    return print_text(&text);
}

static int print_overview(void)
{
    struct pellet_text text = {0};
    pellet_text_adds(&text, "pelletd judges FT-IR spectra of KBr pellets the moment they are saved:\n"
                            "pass, remake, rescan or wait, with what to do, while the powder is still on the "
                            "bench.\n\nTry it:\n"
                            "  mkdir /tmp/bench && pelletd watch /tmp/bench     in one terminal\n"
                            "  pelletd demo /tmp/bench                          in another\n\n"
                            "Commands:\n");
    for (const struct command *command = commands; command->name; command++)
        pellet_text_addf(&text, "  %-7s %s\n", command->name, command->purpose);
    pellet_text_adds(&text, "\n`pelletd COMMAND --help` shows examples and options. `--version` shows the "
                            "version.\n");
    return print_text(&text);
}

static int usage_error(const struct command *command, const char *message)
{
    log_say(LOG_LEVEL_ERROR, command ? command->name : NULL, "%s; see pelletd %s%s--help", message,
            command ? command->name : "", command ? " " : "");
    return EXIT_USAGE;
}

static int run(const struct command *command, int argc, char **argv)
{
    struct options options;
    struct pellet_error error = {0};
    int first = 0;
    if (options_read(command->bit, argc, argv, &options, &first, &error) != PELLET_OK)
        return usage_error(command, error.message);
    if (options.help)
        return print_help(command);
    if (options.version)
        return print_version();
    int count = argc - first;
    if (count < command->arguments_min)
        return usage_error(command, "something to work on is missing");
    if (count > command->arguments_max)
        return usage_error(command, "too many arguments");
    return command->run(&options, count, argv + first);
}

int commands_run(int argc, char **argv)
{
    outlet_reserve();
    /* Beyond the largest size of a file (ulimit -f) a write is to fail like any other, and to be told. */
    signal(SIGXFSZ, SIG_IGN);
    if (argc < 2)
        return usage_error(NULL, "a command is missing");
    const char *name = argv[1];
    if (strcmp(name, "--help") == 0 || strcmp(name, "-h") == 0 || strcmp(name, "help") == 0)
        return print_overview();
    if (strcmp(name, "--version") == 0 || strcmp(name, "-V") == 0)
        return print_version();
    for (const struct command *command = commands; command->name; command++) {
        if (strcmp(name, command->name) == 0)
            return run(command, argc - 1, argv + 1);
    }
    struct pellet_error error = {0};
    pellet_fail(&error, PELLET_E_USAGE, "there is no command '%s'", name);
    return usage_error(NULL, error.message);
}
