// SPDX-License-Identifier: GPL-3.0-or-later
/* The checks of a rule set: each entry against its row of the table of checks (lib/checks/table.c). */
#include "rules/read_parts.h"

#include <math.h>
#include <string.h>

#define WINDOWS_MAX      64
#define HEIGHT_LOWEST_A  (-3.0)
#define HEIGHT_HIGHEST_A 3.0

/* ---------------------------------------------------------------- windows */

static pellet_status read_window_limits(struct pellet_rules_reading *reading, const struct pellet_yaml *node,
                                        struct pellet_window_rule *window)
{
    const struct pellet_yaml *highest = pellet_yaml_get(node, "highest");
    const struct pellet_yaml *lowest = pellet_yaml_get(node, "lowest");
    pellet_status status = PELLET_OK;
    if (highest == NULL && lowest == NULL)
        return pellet_yaml_fail(node, PELLET_E_FORMAT, reading->error,
                                "one of the keys \"highest\" and \"lowest\" is missing");
    if (highest != NULL)
        status = pellet_yaml_quantity(highest, PELLET_UNIT_ABSORBANCE, HEIGHT_LOWEST_A, HEIGHT_HIGHEST_A,
                                      &window->highest, reading->error);
    if (status == PELLET_OK && lowest != NULL)
        status = pellet_yaml_quantity(lowest, PELLET_UNIT_ABSORBANCE, HEIGHT_LOWEST_A, HEIGHT_HIGHEST_A,
                                      &window->lowest, reading->error);
    if (status == PELLET_OK && window->highest < window->lowest)
        return pellet_yaml_fail(node, PELLET_E_RANGE, reading->error,
                                "highest is below lowest: nothing could pass");
    return status;
}

static pellet_status read_window_range(struct pellet_rules_reading *reading, const struct pellet_yaml *node,
                                       struct pellet_window_rule *window)
{
    const struct pellet_yaml *range;
    pellet_status status = pellet_yaml_need(node, "range", &range, reading->error);
    if (status == PELLET_OK)
        status =
            pellet_yaml_range(range, PELLET_UNIT_WAVENUMBER, PELLET_RULES_LOWEST_CM1,
                              PELLET_RULES_HIGHEST_CM1, &window->low_cm1, &window->high_cm1, reading->error);
    if (status == PELLET_OK && window->low_cm1 == window->high_cm1)
        return pellet_yaml_fail(range, PELLET_E_RANGE, reading->error, "the window has no width");
    return status;
}

static pellet_status read_window(struct pellet_rules_reading *reading, const struct pellet_yaml *node,
                                 struct pellet_window_rule *window)
{
    static const char *const keys[] = {"name", "range", "highest", "lowest", "outcome", "source", NULL};
    const struct pellet_yaml *name;
    pellet_status status = pellet_yaml_only(node, keys, reading->error);
    if (status == PELLET_OK)
        status = pellet_yaml_need(node, "name", &name, reading->error);
    if (status == PELLET_OK)
        status = pellet_rules_take_name(reading, name, &window->name);
    if (status == PELLET_OK)
        status = read_window_range(reading, node, window);
    if (status == PELLET_OK)
        status = read_window_limits(reading, node, window);
    const struct pellet_yaml *outcome = pellet_yaml_get(node, "outcome");
    if (status == PELLET_OK && outcome != NULL)
        status = pellet_rules_take_outcome(outcome, &window->outcome, reading->error);
    const struct pellet_yaml *source = pellet_yaml_get(node, "source");
    if (status == PELLET_OK && source != NULL)
        status = pellet_rules_take_text(reading, source, &window->source);
    return status;
}

static pellet_status read_windows(struct pellet_rules_reading *reading, const struct pellet_yaml *list,
                                  const struct pellet_rule *rule)
{
    pellet_status status = pellet_yaml_expect(list, PELLET_YAML_SEQUENCE, reading->error);
    if (status != PELLET_OK)
        return status;
    if (list->count > WINDOWS_MAX)
        return pellet_yaml_fail(list, PELLET_E_LIMIT, reading->error, "found %zu windows, allowed are %d",
                                list->count, WINDOWS_MAX);
    struct pellet_rules *rules = &reading->rules;
    rules->window = pellet_arena_alloc(&rules->arena, (list->count + 1) * sizeof *rules->window);
    if (rules->window == NULL)
        return pellet_rules_fail_memory(reading->error);
    for (const struct pellet_yaml *node = list->first; node != NULL; node = node->next) {
        struct pellet_window_rule *window = &rules->window[rules->window_count];
        *window = (struct pellet_window_rule){
            .highest = NAN, .lowest = NAN, .outcome = rule->outcome, .source = rule->source};
        status = read_window(reading, node, window);
        if (status != PELLET_OK)
            return status;
        rules->window_count++;
    }
    return PELLET_OK;
}

/* ---------------------------------------------------------------- checks */

static bool has_windows(const struct pellet_check *check)
{
    return strcmp(check->id, "windows") == 0;
}

static void entry_keys(const struct pellet_check *check, const char *keys[RULES_KEYS_MAX + 1])
{
    static const char *const common[] = {"on", "required", "outcome", "source"};
    size_t n = 0;
    while (n < PELLET_PARAMETERS_MAX && check->parameter[n].key != NULL) {
        keys[n] = check->parameter[n].key;
        n++;
    }
    if (has_windows(check))
        keys[n++] = "list";
    for (size_t i = 0; i < sizeof common / sizeof *common; i++)
        keys[n++] = common[i];
    keys[n] = NULL;
}

static pellet_status read_parameters(struct pellet_rules_reading *reading, const struct pellet_yaml *entry,
                                     const struct pellet_check *check, struct pellet_rule *rule)
{
    for (size_t i = 0; i < PELLET_PARAMETERS_MAX && check->parameter[i].key != NULL; i++) {
        const struct pellet_parameter *parameter = &check->parameter[i];
        const struct pellet_yaml *node = pellet_yaml_get(entry, parameter->key);
        if (node == NULL)
            continue;
        const pellet_status status =
            pellet_rules_take_limit(node, parameter->kind, parameter->unit, parameter->lowest,
                                    parameter->highest, &rule->parameter[i], reading->error);
        if (status != PELLET_OK)
            return status;
    }
    return PELLET_OK;
}

/* Every entry may hold these four, whatever the check. */
static pellet_status read_common(struct pellet_rules_reading *reading, const struct pellet_yaml *entry,
                                 struct pellet_rule *rule)
{
    const struct pellet_yaml *on = pellet_yaml_get(entry, "on");
    const struct pellet_yaml *required = pellet_yaml_get(entry, "required");
    const struct pellet_yaml *outcome = pellet_yaml_get(entry, "outcome");
    const struct pellet_yaml *source = pellet_yaml_get(entry, "source");
    pellet_status status = PELLET_OK;
    if (on != NULL)
        status = pellet_yaml_bool(on, &rule->on, reading->error);
    if (status == PELLET_OK && required != NULL)
        status = pellet_yaml_bool(required, &rule->required, reading->error);
    if (status == PELLET_OK && outcome != NULL)
        status = pellet_rules_take_outcome(outcome, &rule->outcome, reading->error);
    if (status == PELLET_OK && source != NULL)
        status = pellet_rules_take_text(reading, source, &rule->source);
    if (status == PELLET_OK && rule->required && !rule->on)
        status = pellet_yaml_fail(entry, PELLET_E_FORMAT, reading->error,
                                  "required and switched off at once: no pellet could pass");
    return status;
}

/* An entry is a mapping, or the one word `off` or `on`. */
static pellet_status read_entry(struct pellet_rules_reading *reading, const struct pellet_yaml *entry,
                                const struct pellet_check *check)
{
    const char *keys[RULES_KEYS_MAX + 1];
    struct pellet_rule *rule = &reading->rules.rule[pellet_check_index(check)];
    if (entry->kind == PELLET_YAML_SCALAR)
        return pellet_yaml_bool(entry, &rule->on, reading->error);
    entry_keys(check, keys);
    pellet_status status = pellet_yaml_only(entry, keys, reading->error);
    if (status == PELLET_OK)
        status = read_parameters(reading, entry, check, rule);
    if (status == PELLET_OK)
        status = read_common(reading, entry, rule);
    const struct pellet_yaml *list = pellet_yaml_get(entry, "list");
    if (status == PELLET_OK && list != NULL)
        status = read_windows(reading, list, rule);
    return status;
}

static pellet_status fail_unknown_check(const struct pellet_yaml *entry, struct pellet_error *error)
{
    struct pellet_text list = {0};
    for (size_t i = 0; i < pellet_check_count(); i++)
        pellet_text_addf(&list, "%s%s", i > 0 ? ", " : "", pellet_check_at(i)->id);
    const pellet_status status = pellet_fail_at(error, PELLET_E_FORMAT, entry->key_line, entry->key_column,
                                                "checks.%.60s: there is no such check, allowed are %s",
                                                entry->key, pellet_text_string(&list));
    pellet_text_free(&list);
    return status;
}

pellet_status pellet_rules_read_checks(struct pellet_rules_reading *reading, const struct pellet_yaml *root)
{
    const struct pellet_yaml *checks = pellet_yaml_get(root, "checks");
    if (checks == NULL)
        return PELLET_OK;
    pellet_status status = pellet_yaml_expect(checks, PELLET_YAML_MAPPING, reading->error);
    if (status != PELLET_OK)
        return status;
    for (const struct pellet_yaml *entry = checks->first; entry != NULL; entry = entry->next) {
        const struct pellet_check *check = pellet_check_find(entry->key);
        if (check == NULL)
            return fail_unknown_check(entry, reading->error);
        status = read_entry(reading, entry, check);
        if (status != PELLET_OK)
            return status;
    }
    return PELLET_OK;
}
