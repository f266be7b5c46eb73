// SPDX-License-Identifier: GPL-3.0-or-later
/* The manual pages name every key of the configuration, every command and every option. */
#include "testing.h"

#include "command.h"
#include "config.h"

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
    const char *list = strstr(pellet_text_string(&problems), "allowed are ");
    assert_non_null(list);
    list += strlen("allowed are ");
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

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_key_is_in_the_manual),
        cmocka_unit_test(every_command_and_option_is_in_the_manual),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
