// SPDX-License-Identifier: GPL-3.0-or-later
/* What must hold for any bytes given to the readers of rule sets and verdicts. A broken property aborts. */
#ifndef PELLET_FUZZ_PROPERTY_YAML_H
#define PELLET_FUZZ_PROPERTY_YAML_H

#include "pellet/judge.h"
#include "property.h"

static inline void property_of_error(const struct pellet_error *error)
{
    property_holds(error->status != PELLET_OK && error->message[0] != '\0', "an error says what is wrong");
    property_holds(pellet_utf8_valid(error->message, strlen(error->message)), "a message is UTF-8");
    property_holds(strchr(error->message, '\n') == NULL, "a message is one line");
}

/* A rule set is refused, or it is whole: every limit in its bounds, and fit to be printed. */
static inline void property_of_rules(const uint8_t *bytes, size_t n)
{
    struct pellet_rules rules = {0};
    struct pellet_error error = {0};
    struct pellet_text text = {0};
    if (pellet_rules_read((const char *)bytes, n, "fuzz.yaml", &rules, &error) != PELLET_OK) {
        property_of_error(&error);
        property_holds(rules.rule == NULL, "an error leaves the output alone");
        return;
    }
    property_holds(rules.rule_count == pellet_check_count(), "each check has its rule");
    for (size_t i = 0; i < rules.rule_count; i++) {
        const struct pellet_parameter *parameter = pellet_check_at(i)->parameter;
        property_holds(rules.rule[i].outcome > PELLET_PASS && rules.rule[i].outcome < PELLET_NOT_CHECKED,
                       "an outcome changes something");
        for (size_t p = 0; p < PELLET_PARAMETERS_MAX && parameter[p].key != NULL; p++) {
            const struct pellet_limit limit = rules.rule[i].parameter[p];
            property_holds(limit.low >= parameter[p].lowest && limit.high <= parameter[p].highest &&
                               limit.low <= limit.high,
                           "a limit is within its bounds");
        }
    }
    for (size_t i = 0; i < rules.window_count; i++)
        property_holds(rules.window[i].low_cm1 < rules.window[i].high_cm1, "a window has a width");
    pellet_rules_print(&rules, &text);
    property_holds(pellet_utf8_valid(pellet_text_string(&text), text.length), "what is printed is UTF-8");
    property_holds(strchr(pellet_text_string(&text), '\x1b') == NULL, "what is printed moves no cursor");
    pellet_text_free(&text);
    pellet_rules_clear(&rules);
}

/* What was read is written, and read and written once more, to the same bytes. */
static inline void property_of_read_verdict(const struct pellet_verdict *verdict)
{
    struct pellet_text first = {0};
    struct pellet_text second = {0};
    struct pellet_text json = {0};
    struct pellet_text lines = {0};
    struct pellet_verdict again = {0};
    struct pellet_error error = {0};
    property_holds(pellet_verdict_write(verdict, &first) == PELLET_OK, "a verdict can be written");
    property_holds(pellet_verdict_json(verdict, &json) == PELLET_OK, "and as JSON");
    property_holds(memchr(json.data, '\n', json.length) == NULL, "JSON is one line");
    property_holds(pellet_utf8_valid(first.data, first.length), "a verdict is UTF-8");
    if (first.length <= (size_t)1 << 20) { /* escapes can make it longer than what was read */
        property_holds(pellet_verdict_read(first.data, first.length, &again, &error) == PELLET_OK,
                       "what was written is read");
        property_holds(pellet_verdict_write(&again, &second) == PELLET_OK, "and written");
        property_holds(first.length == second.length && memcmp(first.data, second.data, first.length) == 0,
                       "to the same bytes");
        property_holds(pellet_verdict_compare(verdict, &again, &lines) == 0, "and compares equal");
    }
    pellet_verdict_clear(&again);
    pellet_text_free(&first);
    pellet_text_free(&second);
    pellet_text_free(&json);
    pellet_text_free(&lines);
}

static inline void property_of_verdict_file(const char *yaml, size_t n)
{
    struct pellet_verdict verdict = {0};
    struct pellet_error error = {0};
    if (pellet_verdict_read_brief(yaml, n, &verdict, &error) != PELLET_OK)
        property_of_error(&error);
    pellet_verdict_clear(&verdict);
    error = (struct pellet_error){0};
    if (pellet_verdict_read(yaml, n, &verdict, &error) != PELLET_OK) {
        property_of_error(&error);
        property_holds(verdict.file == NULL, "an error leaves the output alone");
        return;
    }
    property_of_read_verdict(&verdict);
    pellet_verdict_clear(&verdict);
}

/* The bytes as they are, and again as a forger would plant them: with a digest and an end that fit. */
static inline void property_of_verdict(const uint8_t *bytes, size_t n)
{
    struct pellet_text forged = {0};
    char digest[PELLET_SHA256_HEX];
    property_of_verdict_file((const char *)bytes, n);
    pellet_text_add(&forged, bytes, n);
    pellet_text_addc(&forged, '\n');
    pellet_sha256_hex(forged.data, forged.length, digest);
    pellet_text_addf(&forged, "check: %s\n...\n", digest);
    property_of_verdict_file(forged.data, forged.length);
    pellet_text_free(&forged);
}

#endif
