// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * A rule set from YAML. What stands in it is checked against two tables: the settings (settings.c) and the
 * checks with their parameters (lib/checks/table.c). Where the text is silent, the tables' standards hold.
 */
#include "rules/read_parts.h"

#include <stdio.h>
#include <string.h>

/* ---------------------------------------------------------------- settings */

static pellet_status read_accept(struct pellet_rules_reading *reading, const struct pellet_yaml *section)
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
static void section_keys(const char *section, const char *keys[RULES_KEYS_MAX + 1])
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

static pellet_status read_setting(struct pellet_rules_reading *reading, const struct pellet_yaml *root,
                                  const struct pellet_rules_setting *setting)
{
    const char *keys[RULES_KEYS_MAX + 1];
    const struct pellet_yaml *section = pellet_yaml_get(root, setting->section);
    if (section == NULL)
        return PELLET_OK;
    section_keys(setting->section, keys);
    pellet_status status = pellet_yaml_only(section, keys, reading->error);
    const struct pellet_yaml *node = pellet_yaml_get(section, setting->key);
    if (status != PELLET_OK || node == NULL)
        return status;
    struct pellet_limit value;
    status = pellet_rules_take_limit(node, setting->kind, setting->unit, setting->lowest, setting->highest,
                                     &value, reading->error);
    if (status == PELLET_OK)
        pellet_rules_setting_set(&reading->rules, setting, value);
    return status;
}

static pellet_status read_settings(struct pellet_rules_reading *reading, const struct pellet_yaml *root)
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
        status = pellet_rules_take_name(reading, node, &reading->rules.name);
    node = pellet_yaml_get(root, "title");
    if (status == PELLET_OK && node != NULL)
        status = pellet_rules_take_text(reading, node, &reading->rules.title);
    return status;
}

/* ---------------------------------------------------------------- the whole */

static pellet_status set_standards(struct pellet_rules_reading *reading, const char *name)
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
        return pellet_rules_fail_memory(reading->error);
    for (size_t i = 0; i < rules->rule_count; i++)
        pellet_rule_standard(pellet_check_at(i), &rules->rule[i]);
    return PELLET_OK;
}

static pellet_status read_root(struct pellet_rules_reading *reading, const struct pellet_yaml *root)
{
    static const char *const keys[] = {"format",    "name",   "title",   "session", "blank",
                                       "open_beam", "advice", "explain", "checks",  NULL};
    pellet_status status = pellet_yaml_format(root, PELLET_RULES_FORMAT, reading->error);
    if (status == PELLET_OK)
        status = pellet_yaml_only(root, keys, reading->error);
    if (status == PELLET_OK)
        status = read_settings(reading, root);
    if (status == PELLET_OK)
        status = pellet_rules_read_checks(reading, root);
    return status;
}

pellet_status pellet_rules_read(const char *yaml, size_t n, const char *name, struct pellet_rules *rules,
                                struct pellet_error *error)
{
    struct pellet_rules_reading reading = {.error = error};
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
