// SPDX-License-Identifier: GPL-3.0-or-later
/* Whose band it is: the sample's, liquid water's, the room's air's or a listed impurity's. */
#ifndef PELLET_JUDGE_CLASSIFY_H
#define PELLET_JUDGE_CLASSIFY_H

#include "pellet/checks.h"

/* Set `kind` of every band of the measurement; its bands, water fit and resolution must be there.
 * E_MEMORY. */
pellet_status pellet_bands_classify(struct pellet_measurement *measurement);

#endif
