// SPDX-License-Identifier: GPL-3.0-or-later
/* The seeds and every input that once broke the readers of rule sets and verdicts, through their properties.
 */
#include "testing.h"

#include "property_yaml.h"

#include <dirent.h>

#define INPUT_BYTES_MAX (2 << 20)

static void replay_file(void (*property)(const uint8_t *, size_t), const char *path)
{
    FILE *file = fopen(path, "rb");
    uint8_t *bytes = malloc(INPUT_BYTES_MAX);
    assert_non_null(file);
    assert_non_null(bytes);
    const size_t n = fread(bytes, 1, INPUT_BYTES_MAX, file);
    fclose(file);
    print_message("%s\n", path);
    property(bytes, n);
    free(bytes);
}

static size_t replay(void (*property)(const uint8_t *, size_t), const char *folder)
{
    char path[4096];
    size_t count = 0;
    snprintf(path, sizeof path, "%s/tests/fuzz/%s", PELLET_TREE, folder);
    DIR *directory = opendir(path);
    if (directory == NULL)
        return 0;
    for (const struct dirent *entry; (entry = readdir(directory)) != NULL;) {
        if (entry->d_name[0] == '.')
            continue;
        snprintf(path, sizeof path, "%s/tests/fuzz/%s/%s", PELLET_TREE, folder, entry->d_name);
        replay_file(property, path);
        count++;
    }
    closedir(directory);
    return count;
}

static void rules(void **state)
{
    (void)state;
    assert_true(replay(property_of_rules, "corpus/rules") > 0);
    replay(property_of_rules, "regressions/rules");
    replay(property_of_rules, "../../config/rules");
}

static void verdict(void **state)
{
    (void)state;
    assert_true(replay(property_of_verdict, "corpus/verdict") > 0);
    replay(property_of_verdict, "regressions/verdict");
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(rules), cmocka_unit_test(verdict)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
