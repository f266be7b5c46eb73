// SPDX-License-Identifier: GPL-3.0-or-later
/* Every file of a folder through one property: how seeds and regressions run in ordinary builds. */
#ifndef PELLET_FUZZ_REPLAY_H
#define PELLET_FUZZ_REPLAY_H

#include "testing.h"

#include <dirent.h>

#define REPLAY_BYTES_MAX (2 << 20)

typedef void replay_property(const uint8_t *bytes, size_t n);

static inline void replay_file(replay_property *property, const char *path)
{
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    uint8_t *bytes = malloc(REPLAY_BYTES_MAX);
    assert_non_null(bytes);
    const size_t n = fread(bytes, 1, REPLAY_BYTES_MAX, file);
    fclose(file);
    print_message("%s\n", path);
    property(bytes, n);
    free(bytes);
}

/* How many files there were; none where a reader that nothing has broken yet has no folder. */
static inline size_t replay(replay_property *property, const char *folder)
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

#endif
