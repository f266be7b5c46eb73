// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The words of pictures, records and the bench page, in one place, so that a lab can translate them. UTF-8,
 * not escaped. Those with %... are formats; being literals, the compiler holds them against what they are
 * given.
 */
#ifndef REPORT_WORDING_H
#define REPORT_WORDING_H

/* Outcomes. */
#define SAYS_PASS        "pass"
#define SAYS_NOTE        "note"
#define SAYS_WAIT        "wait"
#define SAYS_RESCAN      "rescan"
#define SAYS_REMAKE      "remake"
#define SAYS_NOT_CHECKED "not checked"

/* The marked spectrum. */
#define SAYS_AXIS_WAVENUMBER "Wavenumber / cm\u207b\u00b9"
#define SAYS_AXIS_ABSORBANCE "Absorbance"
#define SAYS_PICTURE_RANGE   "Absorbance against wavenumber, %.0f to %.0f cm\u207b\u00b9, from %.2f to %.2f A."
#define SAYS_PICTURE_CLEAN   "No finding is marked."

#endif
