// SPDX-License-Identifier: GPL-3.0-or-later
/* The rule sets that are part of the program, so that it works without a single file of its own. */
#include "rules/shipped.h"
#include "pellet/rules.h"

#include <string.h>

static size_t shipped_count(void)
{
    size_t n = 0;
    while (pellet_shipped_rules[n].name != NULL)
        n++;
    return n;
}

const char *pellet_rules_shipped_name(size_t i)
{
    return i < shipped_count() ? pellet_shipped_rules[i].name : NULL;
}

static pellet_status fail_missing(const char *name, struct pellet_error *error)
{
    struct pellet_text names = {0};
    for (size_t i = 0; i < shipped_count(); i++)
        pellet_text_addf(&names, "%s%s", i > 0 ? ", " : "", pellet_shipped_rules[i].name);
    const pellet_status status =
        pellet_fail(error, PELLET_E_MISSING, "no rule set \"%.80s\" is shipped, there are %s", name,
                    pellet_text_string(&names));
    pellet_text_free(&names);
    return status;
}

const char *pellet_rules_shipped_yaml(const char *name)
{
    for (size_t i = 0; i < shipped_count(); i++) {
        if (strcmp(pellet_shipped_rules[i].name, name) == 0)
            return pellet_shipped_rules[i].yaml;
    }
    return NULL;
}

pellet_status pellet_rules_shipped(const char *name, struct pellet_rules *rules, struct pellet_error *error)
{
    for (size_t i = 0; i < shipped_count(); i++) {
        const struct pellet_shipped_rules *shipped = &pellet_shipped_rules[i];
        if (strcmp(shipped->name, name) == 0)
            return pellet_rules_read(shipped->yaml, shipped->n, name, rules, error);
    }
    return fail_missing(name, error);
}
