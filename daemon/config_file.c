// SPDX-License-Identifier: GPL-3.0-or-later
/* Where the configuration is looked for, and how it is read. */
#include "config.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static bool candidate(int which, const char *given, char out[PATH_MAX])
{
    const char *home = getenv("HOME");
    const char *xdg = getenv("XDG_CONFIG_HOME");
    const char *from_environment = getenv("PELLETD_CONFIG");
    int n = -1;
    if (given)
        n = which == 0 ? snprintf(out, PATH_MAX, "%s", given) : -1;
    else if (from_environment && *from_environment)
        n = which == 0 ? snprintf(out, PATH_MAX, "%s", from_environment) : -1;
    else if (which == 0 && xdg && *xdg == '/')
        n = snprintf(out, PATH_MAX, "%s/pelletd/pelletd.yaml", xdg);
    else if (which == 0 && home && *home == '/')
        n = snprintf(out, PATH_MAX, "%s/.config/pelletd/pelletd.yaml", home);
    else if (which == 1)
        n = snprintf(out, PATH_MAX, "/etc/pelletd/pelletd.yaml");
    return n > 0 && n < PATH_MAX;
}

pellet_status read_path(const char *path, uint64_t limit, struct pellet_bytes *bytes,
                        struct pellet_error *error)
{
    char real[PATH_MAX];
    if (!realpath(path, real)) {
        pellet_status status = pellet_fail_errno(error, errno, "cannot read");
        pellet_error_set_file(error, path);
        return status;
    }
    char *slash = strrchr(real, '/');
    *slash = '\0';
    int folder = open(*real ? real : "/", O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (folder < 0)
        return pellet_fail_errno(error, errno, "cannot open the folder of %s", path);
    pellet_status status = pellet_read_file(folder, slash + 1, limit, bytes, NULL, error);
    close(folder);
    return status;
}

pellet_status config_load(const char *path, struct config *config, struct pellet_text *problems,
                          struct pellet_error *error)
{
    const char *from_environment = getenv("PELLETD_CONFIG");
    const bool must_exist = path || (from_environment && *from_environment);
    for (int which = 0; which < 2; which++) {
        char file[PATH_MAX];
        char whole[PATH_MAX];
        struct pellet_bytes bytes = {0};
        struct pellet_error problem = {0};
        if (!candidate(which, path, file))
            continue;
        pellet_status status = read_path(file, (uint64_t)1 << 20, &bytes, &problem);
        if (status == PELLET_E_MISSING && !must_exist)
            continue;
        if (status != PELLET_OK) {
            pellet_text_addf(problems, "%s: %s\n", file, problem.message);
            if (error)
                *error = problem;
            return status;
        }
        status =
            config_read(bytes.data, bytes.n, realpath(file, whole) ? whole : file, config, problems, error);
        pellet_bytes_free(&bytes);
        return status;
    }
    *config = (struct config){0};
    return PELLET_OK;
}
