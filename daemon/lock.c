// SPDX-License-Identifier: GPL-3.0-or-later
#include "lock.h"

#include <errno.h>
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

pellet_status lock_take(int folder, int *fd, struct pellet_error *error)
{
    int file = pellet_open_beneath(folder, LOCK_NAME, O_RDWR | O_CREAT | O_NONBLOCK, 0666, error);
    if (file < 0)
        return error ? error->status : PELLET_E_IO;
    struct flock whole = {.l_type = F_WRLCK, .l_whence = SEEK_SET};
    if (fcntl(file, F_OFD_SETLK, &whole) < 0) {
        int why = errno;
        close(file);
        if (why == EAGAIN || why == EACCES)
            return pellet_fail(error, PELLET_E_BUSY,
                               "another pelletd writes here (it holds %s); nothing is written by this one",
                               LOCK_NAME);
        return pellet_fail_errno(error, why, "cannot lock %s", LOCK_NAME);
    }
    *fd = file;
    return PELLET_OK;
}

pellet_ns lock_made(int fd)
{
    struct stat st;
    if (fstat(fd, &st) < 0)
        return PELLET_NO_TIME;
    return pellet_ns_of_file(st.st_mtim);
}
