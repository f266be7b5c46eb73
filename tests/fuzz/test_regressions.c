// SPDX-License-Identifier: GPL-3.0-or-later
/* Every input that once broke a reader, and the seeds of the fuzzers, through the same properties. */
#include "testing.h"

#include "property.h"

#include <dirent.h>

static size_t replay(property_reader *reader, const char *folder)
{
    char path[4096];
    size_t count = 0;
    snprintf(path, sizeof path, "%s/tests/fuzz/%s", PELLET_TREE, folder);
    DIR *directory = opendir(path);
    if (directory == NULL) /* a reader that nothing has broken yet has no folder */
        return 0;
    for (const struct dirent *entry; (entry = readdir(directory)) != NULL;) {
        if (entry->d_name[0] == '.')
            continue;
        snprintf(path, sizeof path, "%s/tests/fuzz/%s/%s", PELLET_TREE, folder, entry->d_name);
        FILE *file = fopen(path, "rb");
        assert_non_null(file);
        uint8_t *bytes = malloc(1 << 20);
        assert_non_null(bytes);
        const size_t n = fread(bytes, 1, 1 << 20, file);
        fclose(file);
        print_message("%s\n", entry->d_name);
        property_of_reader(reader, bytes, n);
        free(bytes);
        count++;
    }
    closedir(directory);
    return count;
}

static void csv(void **state)
{
    (void)state;
    assert_true(replay(pellet_csv_read, "corpus/csv") > 0);
    replay(pellet_csv_read, "regressions/csv");
}

static void jcamp(void **state)
{
    (void)state;
    assert_true(replay(pellet_jcamp_read, "corpus/jcamp") > 0);
    replay(pellet_jcamp_read, "regressions/jcamp");
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(csv), cmocka_unit_test(jcamp)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
