// SPDX-License-Identifier: GPL-3.0-or-later
#include "command.h"
#include "log.h"
#include "station.h"

#include <stdio.h>
#include <unistd.h>

/* A name is taken for a shipped rule set first, then for a file. */
static pellet_status find(const char *name, struct pellet_rules *rules, struct pellet_error *error)
{
    pellet_status status = rules_find(name, rules, error);
    if (status == PELLET_E_MISSING && access(name, F_OK) == 0) {
        struct pellet_text path = {0};
        pellet_text_addf(&path, "./%s", name);
        status = rules_find(pellet_text_string(&path), rules, error);
        pellet_text_free(&path);
    }
    return status;
}

/* What is printed: the rule set in full, or the text of a shipped one. */
static pellet_status describe(const char *name, bool yaml, struct pellet_text *text,
                              struct pellet_error *error)
{
    struct pellet_rules rules;
    if (yaml && pellet_rules_shipped_yaml(name)) {
        pellet_text_adds(text, pellet_rules_shipped_yaml(name));
        return PELLET_OK;
    }
    /* A file is YAML already: asked for as such, it is told which names there are. */
    pellet_status status = yaml ? pellet_rules_shipped(name, &rules, error) : find(name, &rules, error);
    if (status != PELLET_OK)
        return status;
    pellet_rules_print(&rules, text);
    pellet_rules_clear(&rules);
    return PELLET_OK;
}

int command_rules(const struct options *options, int count, char **arguments)
{
    struct pellet_error error = {0};
    struct pellet_text text = {0};
    if (describe(count > 0 ? arguments[0] : "routine", options->yaml, &text, &error) != PELLET_OK) {
        log_failure(LOG_LEVEL_ERROR, NULL, &error);
        return EXIT_USAGE;
    }
    bool written = pellet_text_status(&text) == PELLET_OK &&
                   fwrite(pellet_text_string(&text), 1, text.length, stdout) == text.length &&
                   fflush(stdout) == 0;
    pellet_text_free(&text);
    if (!written)
        log_say(LOG_LEVEL_ERROR, "rules", "cannot write to standard output");
    return written ? EXIT_PASSED : EXIT_TROUBLE;
}
