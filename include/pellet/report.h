// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * What people see: the marked spectrum, the record of a session (a page and a table) and the page at the
 * bench. Each is a pure function of what it is given: no folder, no clock. All text that came from files is
 * escaped.
 */
#ifndef PELLET_REPORT_H
#define PELLET_REPORT_H

#include "pellet/judge.h"

/*
 * A spectrum with the findings of its verdict marked where they are, as SVG: absorbance against wavenumber,
 * the highest wavenumber at the left.
 *
 * Given:     ratio    absorbance; NaN ordinates are gaps in the curve
 *            verdict  of the same spectrum
 * Returned:  svg      one stand-alone document is appended; untouched on E_SHORT
 * Errors:    E_SHORT where fewer than two ordinates are finite, E_MEMORY
 * Method:    first, lowest, highest and last ordinate of each column half a unit wide, so that no narrow line
 * is lost and the size does not grow with the number of points
 */
pellet_status pellet_report_picture(const struct pellet_spectrum *ratio, const struct pellet_verdict *verdict,
                                    struct pellet_text *svg);

#endif
