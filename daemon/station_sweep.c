// SPDX-License-Identifier: GPL-3.0-or-later
/* What a killed program left behind: its temporaries. */
#include "station.h"

#include <dirent.h>
#include <fcntl.h>
#include <string.h>
#include <unistd.h>

/* Ours alone: ".pelletd-" and 32 hexadecimal digits and ".tmp". */
static bool is_temporary(const char *name)
{
    static const char head[] = ".pelletd-";
    const size_t digits =
        strspn(name + (strncmp(name, head, sizeof head - 1) == 0 ? sizeof head - 1 : 0), "0123456789abcdef");
    return strncmp(name, head, sizeof head - 1) == 0 && digits == 32 &&
           strcmp(name + sizeof head - 1 + digits, ".tmp") == 0;
}

/* Only the holder of the lock sweeps: nobody else writes here then. */
static void sweep_if_temporary(const struct station *station, int directory, const char *name)
{
    if (station->writes && is_temporary(name))
        (void)unlinkat(directory, name, 0);
}

void station_sweep(const struct station *station, const char *folder, int64_t depth)
{
    int descriptor = pellet_open_beneath(station->place.output, folder, O_RDONLY | O_DIRECTORY, 0, NULL);
    DIR *directory = descriptor >= 0 ? fdopendir(descriptor) : NULL;
    if (!directory) {
        if (descriptor >= 0)
            close(descriptor);
        return;
    }
    for (struct dirent *item = readdir(directory); item; item = readdir(directory)) {
        struct stat st;
        sweep_if_temporary(station, descriptor, item->d_name);
        if (depth > 0 && *item->d_name != '.' &&
            fstatat(descriptor, item->d_name, &st, AT_SYMLINK_NOFOLLOW) == 0 && S_ISDIR(st.st_mode)) {
            struct pellet_text below = {0};
            pellet_text_addf(&below, "%s/%s", folder, item->d_name);
            if (pellet_text_status(&below) == PELLET_OK)
                station_sweep(station, below.data, depth - 1);
            pellet_text_free(&below);
        }
    }
    closedir(directory);
}
