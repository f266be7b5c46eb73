// SPDX-License-Identifier: GPL-3.0-or-later
/* The manual pages name every key of the configuration, every command, option and check, and nothing else. */
#include "testing.h"

#include "command.h"
#include "config.h"

#include "pellet/checks.h"

#include <stdlib.h>
#include <string.h>

#define PAGE_MAX ((size_t)1 << 17)

static char *manual(const char *name)
{
    char path[4096];
    char *text = calloc(1, PAGE_MAX);
    snprintf(path, sizeof path, "%s/config/man/%s", PELLET_TREE, name);
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    assert_non_null(text);
    assert_true(fread(text, 1, PAGE_MAX - 1, file) > 0);
    fclose(file);
    return text;
}

/* The reader of the configuration lists the keys it knows when it meets one that it does not. */
static char *keys_allowed(const char *yaml)
{
    struct config config;
    struct pellet_text problems = {0};
    struct pellet_error error = {0};
    assert_int_not_equal(config_read(yaml, strlen(yaml), "keys.yaml", &config, &problems, &error), PELLET_OK);
    const char *list = strstr(pellet_text_string(&problems), "allowed ");
    assert_non_null(list);
    list = strchr(list + strlen("allowed "), ' ') + 1; /* "are", "is" */
    char *copy = strndup(list, strcspn(list, "\n"));
    pellet_text_free(&problems);
    return copy;
}

/* Each key has an entry that says its default, unless there can be none. */
static void assert_entries(const char *page, char *keys)
{
    static const char *const without_default[] = {"folder", "command"};
    char *rest = NULL;
    size_t n = 0;
    for (char *key = strtok_r(keys, ", ", &rest); key; key = strtok_r(NULL, ", ", &rest), n++) {
        char start[64];
        snprintf(start, sizeof start, "\n.It Cm %s ", key);
        const char *entry = strstr(page, start);
        if (!entry) {
            snprintf(start, sizeof start, "\n.It Cm %s\n", key);
            entry = strstr(page, start);
        }
        if (!entry)
            fail_msg("%s has no entry", key);
        bool needs = true;
        for (size_t i = 0; i < sizeof without_default / sizeof *without_default; i++)
            needs = needs && strcmp(key, without_default[i]) != 0;
        const char *said =
            strcmp(key, "ordinate") == 0 || strcmp(key, "column") == 0 ? "no default" : "Default:";
        const char *end = strcmp(key, "alert") == 0 ? NULL : strstr(entry + 1, "\n.It ");
        const char *found = strstr(entry, said);
        if (needs && (!found || (end && found > end)))
            fail_msg("%s does not say its default", key);
    }
    assert_true(n >= 3);
    free(keys);
}

static void every_key_is_in_the_manual(void **state)
{
    (void)state;
    char *page = manual("pelletd.yaml.5");
    assert_entries(page, keys_allowed("format: 1\nstations:\n  - folder: /x\n    nothing: 1\n"));
    assert_entries(page, keys_allowed("format: 1\nstations:\n  - folder: /x\n    alert: {nothing: 1}\n"));
    free(page);
}

static void every_command_and_option_is_in_the_manual(void **state)
{
    (void)state;
    char *page = manual("pelletd.8");
    for (const struct command *command = commands; command->name; command++) {
        char entry[64];
        snprintf(entry, sizeof entry, "\n.It Cm %s", command->name);
        if (!strstr(page, entry))
            fail_msg("the command %s has no entry", command->name);
        struct pellet_text help = {0};
        options_describe(command->bit, &help);
        char *rest = NULL;
        for (char *line = strtok_r(help.data, "\n", &rest); line; line = strtok_r(NULL, "\n", &rest)) {
            char option[32];
            assert_int_equal(sscanf(line, "  --%31[a-z-]", option), 1);
            snprintf(entry, sizeof entry, "\n.It Fl -%s", option);
            if (!strstr(page, entry))
                fail_msg("the option --%s of %s has no entry", option, command->name);
        }
        pellet_text_free(&help);
    }
    free(page);
}

/* ---------------------------------------------------------------- nothing that is gone */

/* The entries "\n.It KIND WORD" of a page between two headings, as words with a blank before and
 * after each. */
static char *entries(const char *page, const char *from, const char *to, const char *kind)
{
    struct pellet_text words = {0};
    const char *at = strstr(page, from);
    const char *const end = to ? strstr(page, to) : page + strlen(page);
    char start[32];
    assert_true(at && end && at < end);
    snprintf(start, sizeof start, "\n.It %s", kind);
    pellet_text_addc(&words, ' ');
    for (at = strstr(at, start); at && at < end; at = strstr(at, start)) {
        at += strlen(start);
        pellet_text_add(&words, at, strcspn(at, " \n"));
        pellet_text_addc(&words, ' ');
    }
    return words.data;
}

static void assert_each(char *words, bool (*known)(const char *word), const char *what)
{
    char *rest = NULL;
    size_t n = 0;
    for (char *word = strtok_r(words, " ", &rest); word; word = strtok_r(NULL, " ", &rest), n++) {
        if (!known(word))
            fail_msg("the manual has the %s %s, which is not there any more", what, word);
    }
    assert_true(n > 0);
    free(words);
}

static bool is_command(const char *word)
{
    const struct command *command = commands;
    while (command->name && strcmp(command->name, word) != 0)
        command++;
    return command->name != NULL;
}

static bool is_option(const char *word)
{
    struct pellet_text help = {0};
    char line[64];
    options_describe(FOR_ALL, &help);
    snprintf(line, sizeof line, "  -%s ", word); /* the entry holds one of the two strokes */
    const bool found = strstr(pellet_text_string(&help), line) != NULL;
    pellet_text_free(&help);
    return found;
}

static bool is_check(const char *word)
{
    return pellet_check_find(word) != NULL;
}

static bool is_key(const char *word)
{
    static const char *const yaml[] = {"format: 1\nnothing: 1\n",
                                       "format: 1\nstations:\n  - folder: /x\n    nothing: 1\n",
                                       "format: 1\nstations:\n  - folder: /x\n    alert: {nothing: 1}\n"};
    bool found = false;
    for (size_t i = 0; i < sizeof yaml / sizeof *yaml && !found; i++) {
        char *keys = keys_allowed(yaml[i]);
        char *rest = NULL;
        for (char *key = strtok_r(keys, ", ", &rest); key; key = strtok_r(NULL, ", ", &rest))
            found = found || strcmp(key, word) == 0;
        free(keys);
    }
    return found;
}

static void nothing_is_in_the_manual_that_is_gone(void **state)
{
    (void)state;
    char *page = manual("pelletd.8");
    assert_each(entries(page, "\n.Sh COMMANDS", "\n.Sh OPTIONS", "Cm "), is_command, "command");
    assert_each(entries(page, "\n.Sh OPTIONS", "\n.Sh SPECTRA", "Fl "), is_option, "option");
    free(page);
    page = manual("pelletd.yaml.5");
    assert_each(entries(page, "\n.Sh ", NULL, "Cm "), is_key, "key");
    free(page);
    page = manual("pelletd-rules.5");
    assert_each(entries(page, "\n.Sh CHECKS", NULL, "Cm "), is_check, "check");
    free(page);
}

static void every_check_is_in_the_manual(void **state)
{
    (void)state;
    char *page = manual("pelletd-rules.5");
    char *words = entries(page, "\n.Sh CHECKS", NULL, "Cm ");
    for (size_t i = 0; i < pellet_check_count(); i++) {
        char word[64];
        snprintf(word, sizeof word, " %s ", pellet_check_at(i)->id);
        if (!strstr(words, word))
            fail_msg("the check%shas no entry", word);
    }
    free(words);
    free(page);
}

/* What a written verdict has at its left margin, the page explains. */
static void every_key_of_a_verdict_is_in_the_manual(void **state)
{
    (void)state;
    struct pellet_verdict verdict = {.format = PELLET_VERDICT_FORMAT,
                                     .outcome = PELLET_PASS,
                                     .summary = "s",
                                     .instruction = "",
                                     .file = "a.csv",
                                     .sample = "a",
                                     .station = "s",
                                     .session = "2026",
                                     .by = "pelletd",
                                     .rules_name = "routine"};
    struct pellet_text text = {0};
    char *page = manual("pelletd-verdict.5");
    char *rest = NULL;
    size_t n = 0;
    assert_int_equal(pellet_verdict_write(&verdict, &text), PELLET_OK);
    for (char *line = strtok_r(text.data, "\n", &rest); line; line = strtok_r(NULL, "\n", &rest)) {
        char key[64], entry[3][80];
        if (sscanf(line, "%63[a-z_0-9]:", key) != 1)
            continue;
        snprintf(entry[0], sizeof entry[0], "\n.It Cm %s\n", key);
        snprintf(entry[1], sizeof entry[1], "\n.It Cm %s ,", key);
        snprintf(entry[2], sizeof entry[2], " , %s", key);
        if (!strstr(page, entry[0]) && !strstr(page, entry[1]) && !strstr(page, entry[2]))
            fail_msg("the key %s of a verdict has no entry", key);
        n++;
    }
    assert_true(n > 20);
    pellet_text_free(&text);
    free(page);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_key_is_in_the_manual),
        cmocka_unit_test(every_command_and_option_is_in_the_manual),
        cmocka_unit_test(nothing_is_in_the_manual_that_is_gone),
        cmocka_unit_test(every_check_is_in_the_manual),
        cmocka_unit_test(every_key_of_a_verdict_is_in_the_manual),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
