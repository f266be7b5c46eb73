// SPDX-License-Identifier: GPL-3.0-or-later
#include "outlet.h"

#include "place.h"

#include <errno.h>
#include <fcntl.h>
#include <poll.h>
#include <stdio.h>
#include <sys/stat.h>
#include <unistd.h>

void outlet_reserve(void)
{
    for (int fd = 0; fd <= STDERR_FILENO; fd++) {
        if (fcntl(fd, F_GETFD) < 0)
            (void)open("/", O_PATH | O_CLOEXEC); /* becomes `fd`, the lowest that is free */
    }
}

/* O_NONBLOCK belongs to the open file, which we share with the shell and with whoever else writes there; so
 * the pipe or terminal is opened once more, for us alone. */
void outlet_never_block(int fd)
{
    char path[40];
    struct stat st;
    if (fstat(fd, &st) < 0 || !(S_ISFIFO(st.st_mode) || isatty(fd)))
        return;
    snprintf(path, sizeof path, "/proc/self/fd/%d", fd);
    const int own = open(path, O_WRONLY | O_NONBLOCK | O_NOCTTY | O_CLOEXEC);
    if (own < 0)
        return;
    (void)dup2(own, fd);
    close(own);
}

static bool wait_for_room(int fd, int64_t until_ms)
{
    struct pollfd room = {.fd = fd, .events = POLLOUT};
    const int64_t left_ms = until_ms - clock_monotonic_ms();
    return left_ms > 0 && poll(&room, 1, (int)left_ms) != 0;
}

bool outlet_write(int fd, const char *bytes, size_t n, int wait_ms)
{
    const int64_t until_ms = clock_monotonic_ms() + wait_ms;
    while (n > 0) {
        const ssize_t done = write(fd, bytes, n);
        if (done > 0) {
            bytes += done;
            n -= (size_t)done;
        } else if (done == 0 || (errno != EINTR && errno != EAGAIN)) {
            return false; /* nobody is left to tell */
        } else if (errno == EAGAIN && !wait_for_room(fd, until_ms)) {
            return false;
        }
    }
    return true;
}
