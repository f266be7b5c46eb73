// SPDX-License-Identifier: GPL-3.0-or-later
/* A blank that the person chose for every sample, wherever its file lies. */
#ifndef PELLETD_GIVEN_BLANK_H
#define PELLETD_GIVEN_BLANK_H

#include "station.h"

/*
 * Read the blank of the station's options, judge it by itself, and set it as the one that every sample is
 * paired with. One that is refused is used all the same, with a warning: the person chose it.
 *
 * Errors: as of reading a file; E_FORMAT where it holds more than one spectrum
 */
pellet_status given_blank_load(struct station *station, struct pellet_error *error);

#endif
