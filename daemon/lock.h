// SPDX-License-Identifier: GPL-3.0-or-later
/* One writer for each output folder: an open-file-description lock on `.pelletd.lock` in it. */
#ifndef PELLETD_LOCK_H
#define PELLETD_LOCK_H

#include "pellet/core.h"

#define LOCK_NAME ".pelletd.lock"

/*
 * Take the lock without waiting.
 *
 * Returned:  fd  close it to let go; untouched on error
 * Errors:    E_BUSY when another process or another part of this one holds it; E_SPACE, E_DENIED, E_IO where
 *            the lock file cannot be made
 */
pellet_status lock_take(int folder, int *fd, struct pellet_error *error);

/* When the lock file was made, which is when a station was first watched; PELLET_NO_TIME where unknown. */
pellet_ns lock_made(int fd);

#endif
