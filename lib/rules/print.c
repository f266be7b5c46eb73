// SPDX-License-Identifier: GPL-3.0-or-later
/* A rule set as a person reads it: settings, then each check with its limits, what they mean and their
 * source. */
#include "rules/settings.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define LINE_WIDTH   96
#define NAME_COLUMN  2  /* where the names of settings and parameters begin */
#define VALUE_COLUMN 22 /* where values begin */
#define TEXT_COLUMN  42 /* where meanings begin */

static void add_spaces(struct pellet_text *out, size_t n)
{
    while (n-- > 0)
        pellet_text_addc(out, ' ');
}

/* Bytes since the last line break. */
static size_t column_of(const struct pellet_text *out)
{
    size_t n = 0;
    while (n < out->length && out->data[out->length - 1 - n] != '\n')
        n++;
    return n;
}

/* Go to a column, at least one space on. */
static void add_tab(struct pellet_text *out, size_t column)
{
    const size_t at = column_of(out);
    add_spaces(out, at < column ? column - at : 1);
}

/* A text of any bytes from the present column on, broken between words, and the line's end. */
static void add_wrapped(struct pellet_text *out, size_t indent, const char *string)
{
    struct pellet_text visible = {0};
    pellet_text_add_visible(&visible, string, strlen(string));
    bool fresh = true;
    for (const char *word = pellet_text_string(&visible); *word != '\0';) {
        const size_t n = strcspn(word, " ");
        if (!fresh && column_of(out) + 1 + n > LINE_WIDTH) {
            pellet_text_addc(out, '\n');
            add_spaces(out, indent);
        } else if (!fresh) {
            pellet_text_addc(out, ' ');
        }
        pellet_text_add(out, word, n);
        fresh = false;
        word += n;
        word += strspn(word, " ");
    }
    pellet_text_addc(out, '\n');
    out->failed |= visible.failed;
    pellet_text_free(&visible);
}

/* "0.02 A" or "1950..2050 cm-1", as the rule set writes it. */
static void format_limit(struct pellet_limit limit, enum pellet_parameter_kind kind, enum pellet_unit unit,
                         char *out, size_t size)
{
    char low[32];
    char high[32];
    pellet_number_format(limit.low, low);
    pellet_number_format(limit.high, high);
    const char *space = unit == PELLET_UNIT_NONE ? "" : " ";
    if (kind == PELLET_PARAMETER_RANGE)
        snprintf(out, size, "%s..%s%s%s", low, high, space, pellet_unit_name(unit));
    else
        snprintf(out, size, "%s%s%s", high, space, pellet_unit_name(unit));
}

static void add_line(struct pellet_text *out, const char *name, const char *value, const char *meaning)
{
    add_spaces(out, NAME_COLUMN);
    pellet_text_adds(out, name);
    add_tab(out, VALUE_COLUMN);
    pellet_text_adds(out, value);
    add_tab(out, TEXT_COLUMN);
    add_wrapped(out, TEXT_COLUMN, meaning);
}

static void add_limit(struct pellet_text *out, const char *name, struct pellet_limit limit,
                      enum pellet_parameter_kind kind, enum pellet_unit unit, const char *meaning)
{
    char value[96];
    format_limit(limit, kind, unit, value, sizeof value);
    add_line(out, name, value, meaning);
}

static void add_settings(const struct pellet_rules *rules, struct pellet_text *out)
{
    const struct pellet_rules_setting *setting;
    for (size_t i = 0; (setting = pellet_rules_setting_at(i)) != NULL; i++) {
        char name[40];
        snprintf(name, sizeof name, "%s.%s", setting->section, setting->key);
        add_limit(out, name, pellet_rules_setting_get(rules, setting), setting->kind, setting->unit,
                  setting->meaning);
    }
    add_line(out, "blank.accept", rules->blank_accept_any ? "any" : "pass",
             rules->blank_accept_any ? "refused blanks serve too, with a warning"
                                     : "only accepted blanks serve");
    add_line(out, "explain", rules->explain ? "true" : "false", "longer explanations");
}

static void add_window(const struct pellet_window_rule *window, struct pellet_text *out)
{
    struct pellet_text meaning = {0};
    char range[96];
    char value[96];
    const struct pellet_limit ends = {window->low_cm1, window->high_cm1};
    format_limit(ends, PELLET_PARAMETER_RANGE, PELLET_UNIT_WAVENUMBER, range, sizeof range);
    if (!isnan(window->highest)) {
        format_limit((struct pellet_limit){window->highest, window->highest}, PELLET_PARAMETER_QUANTITY,
                     PELLET_UNIT_ABSORBANCE, value, sizeof value);
        pellet_text_addf(&meaning, "highest %s, ", value);
    }
    if (!isnan(window->lowest)) {
        format_limit((struct pellet_limit){window->lowest, window->lowest}, PELLET_PARAMETER_QUANTITY,
                     PELLET_UNIT_ABSORBANCE, value, sizeof value);
        pellet_text_addf(&meaning, "lowest %s, ", value);
    }
    pellet_text_addf(&meaning, "else %s; source: %s", pellet_outcome_id(window->outcome), window->source);
    add_spaces(out, NAME_COLUMN);
    pellet_text_add_visible(out, window->name, strlen(window->name));
    add_tab(out, VALUE_COLUMN);
    pellet_text_adds(out, range);
    add_tab(out, TEXT_COLUMN);
    add_wrapped(out, TEXT_COLUMN, pellet_text_string(&meaning));
    out->failed |= meaning.failed;
    pellet_text_free(&meaning);
}

/* "sample, blank": the kinds of file a check looks at. */
static void add_roles(unsigned roles, struct pellet_text *out)
{
    const char *before = "";
    add_spaces(out, NAME_COLUMN);
    pellet_text_adds(out, "for");
    add_tab(out, VALUE_COLUMN);
    for (unsigned role = 0; role < PELLET_ROLE_COUNT; role++) {
        if ((roles & PELLET_FOR(role)) == 0)
            continue;
        pellet_text_addf(out, "%s%s", before, pellet_role_id((enum pellet_role)role));
        before = ", ";
    }
    pellet_text_addc(out, '\n');
}

static void add_name_and_text(struct pellet_text *out, const char *name, const char *text)
{
    add_spaces(out, NAME_COLUMN);
    pellet_text_adds(out, name);
    add_tab(out, VALUE_COLUMN);
    add_wrapped(out, VALUE_COLUMN, text);
}

static void add_check(const struct pellet_rules *rules, size_t i, struct pellet_text *out)
{
    const struct pellet_check *check = pellet_check_at(i);
    const struct pellet_rule *rule = &rules->rule[i];
    pellet_text_addf(out, "\n%s", check->id);
    add_tab(out, VALUE_COLUMN);
    pellet_text_adds(out, rule->on ? pellet_outcome_id(rule->outcome) : "off");
    if (rule->required)
        pellet_text_adds(out, ", required");
    add_tab(out, TEXT_COLUMN);
    add_wrapped(out, TEXT_COLUMN, check->meaning);
    for (size_t p = 0; p < PELLET_PARAMETERS_MAX && check->parameter[p].key != NULL; p++) {
        const struct pellet_parameter *parameter = &check->parameter[p];
        add_limit(out, parameter->key, rule->parameter[p], parameter->kind, parameter->unit,
                  parameter->meaning);
    }
    for (size_t w = 0; strcmp(check->id, "windows") == 0 && w < rules->window_count; w++)
        add_window(&rules->window[w], out);
    add_roles(check->roles, out);
    add_name_and_text(out, "source", rule->source);
    if (strcmp(rule->source, check->source) != 0)
        add_name_and_text(out, "method", check->source);
}

void pellet_rules_print(const struct pellet_rules *rules, struct pellet_text *out)
{
    pellet_text_adds(out, "rule set");
    add_tab(out, VALUE_COLUMN);
    add_wrapped(out, VALUE_COLUMN, rules->name);
    if (rules->title[0] != '\0') {
        add_spaces(out, VALUE_COLUMN);
        add_wrapped(out, VALUE_COLUMN, rules->title);
    }
    pellet_text_adds(out, "sha256");
    add_tab(out, VALUE_COLUMN);
    pellet_text_addf(out, "%s\n\nsettings\n", rules->sha256);
    add_settings(rules, out);
    for (size_t i = 0; i < rules->rule_count; i++)
        add_check(rules, i, out);
}
