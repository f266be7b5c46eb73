// SPDX-License-Identifier: GPL-3.0-or-later
/* The manual pages name what the tables hold: a new check, parameter or key is not forgotten there. */
#include "testing.h"

#include "judge/verdict_fields.h"
#include "pellet/checks.h"

#include <string.h>

static char *manual(const char *name)
{
    char path[4096];
    char *text = calloc(1, 1 << 17);
    snprintf(path, sizeof path, "%s/config/man/%s", PELLET_TREE, name);
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    assert_non_null(text);
    const size_t n = fread(text, 1, (1 << 17) - 1, file);
    assert_true(n > 0);
    fclose(file);
    return text;
}

/* The word stands in the page, on a line of macros and not as a part of another word. */
static bool has_word(const char *page, const char *word)
{
    const size_t n = strlen(word);
    for (const char *at = page; (at = strstr(at, word)) != NULL; at += n) {
        if (at[-1] == ' ' && (at[n] == ' ' || at[n] == '\n'))
            return true;
    }
    return false;
}

/* From the entry of one check to that of the next. */
static char *section_of(const char *page, const char *id)
{
    char start[64];
    snprintf(start, sizeof start, "\n.It Cm %s\n", id);
    const char *checks = strstr(page, "\n.Sh CHECKS\n");
    const char *from = strstr(checks, start);
    if (from == NULL)
        fail_msg("%s has no entry", id);
    const char *to = strstr(from + 1, "\n.It ");
    const char *end = strstr(from + 1, "\n.El");
    return strndup(from, (size_t)((to != NULL && to < end ? to : end) - from) + 1);
}

/* "limit : Li 0.002 A": as the page writes a parameter with its standard. */
static bool has_standard(const char *section, const struct pellet_parameter *parameter)
{
    char key[64];
    snprintf(key, sizeof key, ".Cm %s : Li ", parameter->key);
    const char *at = strstr(section, key);
    double low;
    double high;
    if (at == NULL)
        return false;
    char *value = strndup(at + strlen(key), strcspn(at + strlen(key), "\n"));
    char *comma = strpbrk(value, " ") != NULL ? strstr(value, " ,") : NULL;
    if (comma == NULL)
        comma = strstr(value, " ;");
    if (comma == NULL)
        comma = strstr(value, " .");
    if (comma != NULL)
        *comma = '\0';
    bool same;
    if (parameter->kind == PELLET_PARAMETER_RANGE) {
        same = pellet_range_parse(value, parameter->unit, &low, &high, NULL) == PELLET_OK &&
               low == parameter->standard.low && high == parameter->standard.high;
    } else {
        same = pellet_quantity_parse(value, parameter->unit, &high, NULL) == PELLET_OK &&
               high == parameter->standard.high;
    }
    free(value);
    return same;
}

static void rules_page_lists_every_parameter(void **state)
{
    (void)state;
    char *page = manual("pelletd-rules.5");
    for (size_t i = 0; i < pellet_check_count(); i++) {
        const struct pellet_check *check = pellet_check_at(i);
        char *section = section_of(page, check->id);
        for (size_t p = 0; p < PELLET_PARAMETERS_MAX && check->parameter[p].key != NULL; p++) {
            if (!has_standard(section, &check->parameter[p]))
                fail_msg("%s.%s is not there with its standard:%s", check->id, check->parameter[p].key,
                         section);
        }
        free(section);
    }
    free(page);
}

static void assert_keys_listed(const char *page, const struct verdict_field *fields)
{
    for (const struct verdict_field *field = fields; field->key != NULL; field++) {
        if (!has_word(page, field->key))
            fail_msg("%s is not there", field->key);
        if (field->inner != NULL)
            assert_keys_listed(page, field->inner);
    }
}

static void verdict_page_lists_every_key(void **state)
{
    (void)state;
    char *page = manual("pelletd-verdict.5");
    assert_keys_listed(page, pellet_verdict_fields);
    assert_true(has_word(page, "check"));
    free(page);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rules_page_lists_every_parameter),
        cmocka_unit_test(verdict_page_lists_every_key),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
