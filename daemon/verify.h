// SPDX-License-Identifier: GPL-3.0-or-later
/* Judging again from what a verdict names: to prove it, or to make its derived files again. */
#ifndef PELLETD_VERIFY_H
#define PELLETD_VERIFY_H

#include "station.h"

/*
 * Set up a judging of `entry` that rests on exactly the files that `verdict` names, as they were.
 * NULL: no memory. The judging's `exact` is set: a file that is gone or changed ends it with
 * JUDGING_INPUT_CHANGED.
 */
struct judging *judging_from_verdict(struct station *station, struct entry *entry,
                                     const struct pellet_verdict *verdict);

/*
 * Recompute the verdict of a file.
 *
 * Returned: the number of differences; `out` has a line for each
 */
size_t verify_entry(struct station *station, struct entry *entry, struct pellet_text *out);

#endif
