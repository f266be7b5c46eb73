// SPDX-License-Identifier: GPL-3.0-or-later
#ifndef PELLET_CORE_BENEATH_H
#define PELLET_CORE_BENEATH_H

#include <stdbool.h>
#include <stddef.h>
#include <sys/types.h>

/*
 * Beneath a folder without openat2, for kernels and sandboxes that lack it: one O_NOFOLLOW step for each part
 * of the name. Returns the descriptor, or -1 with errno set.
 */
int pellet_open_by_steps(int folder, const char *name, int flags, mode_t mode);

/* Relative, not empty, and never up: what may be opened beneath a folder. */
bool pellet_name_stays_beneath(const char *name);

/*
 * The next part of the path at *at, of *length bytes; *at moves behind it. NULL at the end. Repeated slashes
 * and "." count for nothing.
 */
const char *pellet_path_step(const char **at, size_t *length);

/* As openat, close-on-exec, again after a signal. */
int pellet_openat(int folder, const char *name, int flags, mode_t mode);

/* Close and keep errno. */
void pellet_close(int descriptor);

#endif
