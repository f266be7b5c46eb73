// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Which folder is whose: each spectrum belongs to one station, also where links or mounts make one folder lie
 * within another. Found out by each station's own thread, so that a share that hangs keeps nobody else
 * waiting.
 */
#ifndef PELLETD_CLAIMS_H
#define PELLETD_CLAIMS_H

#include <stdbool.h>
#include <stddef.h>

struct claims;

struct claims *claims_new(void);         /* NULL: no memory */
void claims_free(struct claims *claims); /* NULL allowed */

/*
 * Claim an open folder for a station until it is given back, and where its verdicts go (`output`, -1 for the
 * same). False where the folder lies within that of another station or holds it, where one's output lies in
 * the other's folder, or memory runs out: `why` says so, and nothing is claimed.
 */
bool claims_take(struct claims *claims, const char *station, int folder, int output, char *why, size_t size);
void claims_give_back(struct claims *claims, const char *station);

#endif
