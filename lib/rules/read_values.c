// SPDX-License-Identifier: GPL-3.0-or-later
/* Single values of a rule set: a text, a name, a limit with its unit, an outcome. */
#include "rules/read_parts.h"

#include <string.h>

#define NAME_BYTES_MAX 64

pellet_status pellet_rules_fail_memory(struct pellet_error *error)
{
    return pellet_fail(error, PELLET_E_MEMORY, "no memory for a rule set");
}

pellet_status pellet_rules_take_text(struct pellet_rules_reading *reading, const struct pellet_yaml *node,
                                     const char **text)
{
    const char *string;
    const pellet_status status = pellet_yaml_string(node, &string, reading->error);
    if (status != PELLET_OK)
        return status;
    const char *copy = pellet_arena_string(&reading->rules.arena, string);
    if (copy == NULL)
        return pellet_rules_fail_memory(reading->error);
    *text = copy;
    return PELLET_OK;
}

pellet_status pellet_rules_take_name(struct pellet_rules_reading *reading, const struct pellet_yaml *node,
                                     const char **name)
{
    const char *text = "";
    const pellet_status status = pellet_rules_take_text(reading, node, &text);
    if (status != PELLET_OK)
        return status;
    if (text[0] == '\0' || strlen(text) > NAME_BYTES_MAX)
        return pellet_yaml_fail(node, PELLET_E_RANGE, reading->error,
                                "found %zu bytes, allowed is a name of 1 to %d", strlen(text),
                                NAME_BYTES_MAX);
    *name = text;
    return PELLET_OK;
}

pellet_status pellet_rules_take_limit(const struct pellet_yaml *node, enum pellet_parameter_kind kind,
                                      enum pellet_unit unit, double lowest, double highest,
                                      struct pellet_limit *limit, struct pellet_error *error)
{
    if (kind == PELLET_PARAMETER_RANGE)
        return pellet_yaml_range(node, unit, lowest, highest, &limit->low, &limit->high, error);
    const pellet_status status = pellet_yaml_quantity(node, unit, lowest, highest, &limit->low, error);
    if (status == PELLET_OK)
        limit->high = limit->low;
    return status;
}

pellet_status pellet_rules_take_outcome(const struct pellet_yaml *node, enum pellet_outcome *outcome,
                                        struct pellet_error *error)
{
    static const char *const words[] = {"note", "wait", "rescan", "remake", NULL};
    size_t index;
    const pellet_status status = pellet_yaml_word(node, words, &index, error);
    if (status == PELLET_OK)
        pellet_outcome_from_id(words[index], outcome);
    return status;
}
