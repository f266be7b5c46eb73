// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * A rule set from YAML. What stands in it is checked against two tables: the settings (settings.c) and the
 * checks with their parameters (lib/checks/table.c). Where the text is silent, the tables' standards hold.
 */
#include "core/yaml.h"
#include "rules/settings.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define KEYS_MAX         (PELLET_PARAMETERS_MAX + 6)
#define NAME_BYTES_MAX   64
#define WINDOWS_MAX      64
#define HEIGHT_LOWEST_A  (-3.0)
#define HEIGHT_HIGHEST_A 3.0

/* What a reading carries along. */
struct reading {
    struct pellet_rules rules;
    struct pellet_error *error;
};

static pellet_status fail_memory(struct pellet_error *error)
{
    return pellet_fail(error, PELLET_E_MEMORY, "no memory for a rule set");
}

static pellet_status take_text(struct reading *reading, const struct pellet_yaml *node, const char **text)
{
    const char *string;
    const pellet_status status = pellet_yaml_string(node, &string, reading->error);
    if (status != PELLET_OK)
        return status;
    const char *copy = pellet_arena_string(&reading->rules.arena, string);
    if (copy == NULL)
        return fail_memory(reading->error);
    *text = copy;
    return PELLET_OK;
}

static pellet_status take_name(struct reading *reading, const struct pellet_yaml *node, const char **name)
{
    const char *text = "";
    const pellet_status status = take_text(reading, node, &text);
    if (status != PELLET_OK)
        return status;
    if (text[0] == '\0' || strlen(text) > NAME_BYTES_MAX)
        return pellet_yaml_fail(node, PELLET_E_RANGE, reading->error,
                                "found %zu bytes, allowed is a name of 1 to %d", strlen(text),
                                NAME_BYTES_MAX);
    *name = text;
    return PELLET_OK;
}

/* A quantity or a range, as a row of either table wants it. */
static pellet_status take_limit(const struct pellet_yaml *node, enum pellet_parameter_kind kind,
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

/* Only what changes something may be named: a pass or a not_checked cannot be asked for. */
static pellet_status take_outcome(const struct pellet_yaml *node, enum pellet_outcome *outcome,
                                  struct pellet_error *error)
{
    static const char *const words[] = {"note", "wait", "rescan", "remake", NULL};
    size_t index;
    const pellet_status status = pellet_yaml_word(node, words, &index, error);
    if (status == PELLET_OK)
        pellet_outcome_from_id(words[index], outcome);
    return status;
}

/* ---------------------------------------------------------------- settings */

static pellet_status read_accept(struct reading *reading, const struct pellet_yaml *section)
{
    static const char *const words[] = {"pass", "any", NULL};
    const struct pellet_yaml *node = pellet_yaml_get(section, "accept");
    size_t index;
    if (node == NULL)
        return PELLET_OK;
    const pellet_status status = pellet_yaml_word(node, words, &index, reading->error);
    if (status == PELLET_OK)
        reading->rules.blank_accept_any = index == 1;
    return status;
}

/* The keys of a section are those of its rows; `blank` holds one word besides. */
static void section_keys(const char *section, const char *keys[KEYS_MAX + 1])
{
    size_t n = 0;
    const struct pellet_rules_setting *setting;
    for (size_t i = 0; (setting = pellet_rules_setting_at(i)) != NULL; i++) {
        if (strcmp(setting->section, section) == 0)
            keys[n++] = setting->key;
    }
    if (strcmp(section, "blank") == 0)
        keys[n++] = "accept";
    keys[n] = NULL;
}

static pellet_status read_setting(struct reading *reading, const struct pellet_yaml *root,
                                  const struct pellet_rules_setting *setting)
{
    const char *keys[KEYS_MAX + 1];
    const struct pellet_yaml *section = pellet_yaml_get(root, setting->section);
    if (section == NULL)
        return PELLET_OK;
    section_keys(setting->section, keys);
    pellet_status status = pellet_yaml_only(section, keys, reading->error);
    const struct pellet_yaml *node = pellet_yaml_get(section, setting->key);
    if (status != PELLET_OK || node == NULL)
        return status;
    struct pellet_limit value;
    status = take_limit(node, setting->kind, setting->unit, setting->lowest, setting->highest, &value,
                        reading->error);
    if (status == PELLET_OK)
        pellet_rules_setting_set(&reading->rules, setting, value);
    return status;
}

static pellet_status read_settings(struct reading *reading, const struct pellet_yaml *root)
{
    const struct pellet_rules_setting *setting;
    for (size_t i = 0; (setting = pellet_rules_setting_at(i)) != NULL; i++) {
        const pellet_status status = read_setting(reading, root, setting);
        if (status != PELLET_OK)
            return status;
    }
    pellet_status status = read_accept(reading, pellet_yaml_get(root, "blank"));
    const struct pellet_yaml *node = pellet_yaml_get(root, "explain");
    if (status == PELLET_OK && node != NULL)
        status = pellet_yaml_bool(node, &reading->rules.explain, reading->error);
    node = pellet_yaml_get(root, "name");
    if (status == PELLET_OK && node != NULL)
        status = take_name(reading, node, &reading->rules.name);
    node = pellet_yaml_get(root, "title");
    if (status == PELLET_OK && node != NULL)
        status = take_text(reading, node, &reading->rules.title);
    return status;
}

/* ---------------------------------------------------------------- windows */

static pellet_status read_window_limits(struct reading *reading, const struct pellet_yaml *node,
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

static pellet_status read_window_range(struct reading *reading, const struct pellet_yaml *node,
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

static pellet_status read_window(struct reading *reading, const struct pellet_yaml *node,
                                 struct pellet_window_rule *window)
{
    static const char *const keys[] = {"name", "range", "highest", "lowest", "outcome", "source", NULL};
    const struct pellet_yaml *name;
    pellet_status status = pellet_yaml_only(node, keys, reading->error);
    if (status == PELLET_OK)
        status = pellet_yaml_need(node, "name", &name, reading->error);
    if (status == PELLET_OK)
        status = take_name(reading, name, &window->name);
    if (status == PELLET_OK)
        status = read_window_range(reading, node, window);
    if (status == PELLET_OK)
        status = read_window_limits(reading, node, window);
    const struct pellet_yaml *outcome = pellet_yaml_get(node, "outcome");
    if (status == PELLET_OK && outcome != NULL)
        status = take_outcome(outcome, &window->outcome, reading->error);
    const struct pellet_yaml *source = pellet_yaml_get(node, "source");
    if (status == PELLET_OK && source != NULL)
        status = take_text(reading, source, &window->source);
    return status;
}

static pellet_status read_windows(struct reading *reading, const struct pellet_yaml *list,
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
        return fail_memory(reading->error);
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

static void entry_keys(const struct pellet_check *check, const char *keys[KEYS_MAX + 1])
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

static pellet_status read_parameters(struct reading *reading, const struct pellet_yaml *entry,
                                     const struct pellet_check *check, struct pellet_rule *rule)
{
    for (size_t i = 0; i < PELLET_PARAMETERS_MAX && check->parameter[i].key != NULL; i++) {
        const struct pellet_parameter *parameter = &check->parameter[i];
        const struct pellet_yaml *node = pellet_yaml_get(entry, parameter->key);
        if (node == NULL)
            continue;
        const pellet_status status = take_limit(node, parameter->kind, parameter->unit, parameter->lowest,
                                                parameter->highest, &rule->parameter[i], reading->error);
        if (status != PELLET_OK)
            return status;
    }
    return PELLET_OK;
}

/* Every entry may hold these four, whatever the check. */
static pellet_status read_common(struct reading *reading, const struct pellet_yaml *entry,
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
        status = take_outcome(outcome, &rule->outcome, reading->error);
    if (status == PELLET_OK && source != NULL)
        status = take_text(reading, source, &rule->source);
    if (status == PELLET_OK && rule->required && !rule->on)
        status = pellet_yaml_fail(entry, PELLET_E_FORMAT, reading->error,
                                  "required and switched off at once: no pellet could pass");
    return status;
}

/* An entry is a mapping, or the one word `off` or `on`. */
static pellet_status read_entry(struct reading *reading, const struct pellet_yaml *entry,
                                const struct pellet_check *check)
{
    const char *keys[KEYS_MAX + 1];
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

static pellet_status read_checks(struct reading *reading, const struct pellet_yaml *root)
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

/* ---------------------------------------------------------------- the whole */

static pellet_status set_standards(struct reading *reading, const char *name)
{
    struct pellet_rules *rules = &reading->rules;
    const struct pellet_rules_setting *setting;
    for (size_t i = 0; (setting = pellet_rules_setting_at(i)) != NULL; i++)
        pellet_rules_setting_set(rules, setting, setting->standard);
    rules->name = pellet_arena_string(&rules->arena, name);
    rules->title = "";
    rules->rule_count = pellet_check_count();
    rules->rule = pellet_arena_alloc(&rules->arena, rules->rule_count * sizeof *rules->rule);
    if (rules->name == NULL || rules->rule == NULL)
        return fail_memory(reading->error);
    for (size_t i = 0; i < rules->rule_count; i++)
        pellet_rule_standard(pellet_check_at(i), &rules->rule[i]);
    return PELLET_OK;
}

static pellet_status read_root(struct reading *reading, const struct pellet_yaml *root)
{
    static const char *const keys[] = {"format",    "name",   "title",   "session", "blank",
                                       "open_beam", "advice", "explain", "checks",  NULL};
    pellet_status status = pellet_yaml_format(root, PELLET_RULES_FORMAT, reading->error);
    if (status == PELLET_OK)
        status = pellet_yaml_only(root, keys, reading->error);
    if (status == PELLET_OK)
        status = read_settings(reading, root);
    if (status == PELLET_OK)
        status = read_checks(reading, root);
    return status;
}

pellet_status pellet_rules_read(const char *yaml, size_t n, const char *name, struct pellet_rules *rules,
                                struct pellet_error *error)
{
    struct reading reading = {.error = error};
    struct pellet_arena tree = {0};
    const struct pellet_yaml *root;
    if (error != NULL)
        snprintf(error->file, sizeof error->file, "%s", name);
    pellet_status status = pellet_yaml_read(yaml, n, &tree, &root, error);
    if (status == PELLET_OK)
        status = set_standards(&reading, name);
    if (status == PELLET_OK)
        status = read_root(&reading, root);
    pellet_arena_free(&tree);
    if (status != PELLET_OK) {
        pellet_arena_free(&reading.rules.arena);
        return status;
    }
    pellet_sha256_hex(yaml, n, reading.rules.sha256);
    *rules = reading.rules;
    return PELLET_OK;
}

void pellet_rules_clear(struct pellet_rules *rules)
{
    if (rules == NULL)
        return;
    pellet_arena_free(&rules->arena);
    *rules = (struct pellet_rules){0};
}
