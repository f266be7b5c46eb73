// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The words of pictures, records and the page at the bench: the second half of pellet/wording.h, a file of
 * its own because nothing but pages needs it. UTF-8, not escaped. {} is filled with a string, # by the page's
 * script with a number; those with %... are formats, which the compiler holds against what they are given.
 */
#ifndef PELLET_WORDING_PAGES_H
#define PELLET_WORDING_PAGES_H

/* Outcomes. */
#define SAYS_PASS        "pass"
#define SAYS_NOTE        "note"
#define SAYS_WAIT        "wait"
#define SAYS_RESCAN      "rescan"
#define SAYS_REMAKE      "remake"
#define SAYS_NOT_CHECKED "not checked"
#define SAYS_UNREADABLE  "unreadable"

/* What a file is. */
#define SAYS_ROLE_SAMPLE    "sample"
#define SAYS_ROLE_BLANK     "blank"
#define SAYS_ROLE_OPEN_BEAM "open beam"
#define SAYS_ROLE_FILM      "polystyrene film"

/* The marked spectrum. */
#define SAYS_AXIS_WAVENUMBER "Wavenumber / cm\u207b\u00b9"
#define SAYS_AXIS_ABSORBANCE "Absorbance"
#define SAYS_PICTURE_RANGE   "Absorbance against wavenumber, %.0f to %.0f cm\u207b\u00b9, from %.2f to %.2f A."
#define SAYS_BLANK_BEHIND    "Faint: single beam of the blank, on a scale of its own"
#define SAYS_PICTURE_CLEAN   "No finding is marked."

/* The record: head and summary. */
#define SAYS_RECORD        "Session record"
#define SAYS_SESSION       "Session"
#define SAYS_CLOSED        "The session is closed"
#define SAYS_RUNNING       "The session is still running"
#define SAYS_REVISION      "Revision %u"
#define SAYS_WRITTEN       "written"
#define SAYS_LEAD          "%zu of %zu samples are fit for use; open: %zu."
#define SAYS_LEAD_DONE     "%zu of %zu samples are fit for use; nothing is open."
#define SAYS_PELLETS       "pellets made"
#define SAYS_FIRST_PASSED  "passed with the first pellet"
#define SAYS_OF            "%zu of %zu"
#define SAYS_REMAKES       "pellets to remake"
#define SAYS_RESCANS       "to measure again"
#define SAYS_WAITING       "waiting"
#define SAYS_UNCHECKED     "checks not made"
#define SAYS_WHY_REMADE    "Sent back to the press"
#define SAYS_WHY_AGAIN     "Sent back to the spectrometer"
#define SAYS_WHY_WAITED    "Kept waiting"
#define SAYS_WHY_UNCHECKED "Could not be checked"
#define SAYS_DECISIONS     "Decided by people"
#define SAYS_OPEN          "Open, and not done again so far"
#define SAYS_OPEN_MORE     "and %zu more, in the table below"

/* The overview. */
#define SAYS_OVERVIEW   "All measurements"
#define SAYS_FILTER     "Show only lines with"
#define SAYS_LINES      "# of # lines"
#define SAYS_SAMPLE     "Sample"
#define SAYS_PELLET     "Pellet"
#define SAYS_TIME       "Time"
#define SAYS_VERDICT    "Verdict"
#define SAYS_WHY        "Why"
#define SAYS_SUPERSEDED "measured again since"

/* Samples and their attempts. */
#define SAYS_SAMPLES         "Samples"
#define SAYS_PELLET_NUMBER   "Pellet %d"
#define SAYS_CHECK           "Check"
#define SAYS_VALUE           "Value"
#define SAYS_LIMIT           "Limit"
#define SAYS_FINDING         "Finding"
#define SAYS_AT              "at %.0f cm-1"
#define SAYS_FROM_TO         "%.0f to %.0f cm-1"
#define SAYS_PASSED_OVER     "Blank passed over"
#define SAYS_WARNING         "Caution"
#define SAYS_SAMPLE_FACTOR   "Advice: sample in the beam"
#define SAYS_POWDER_FACTOR   "Advice: powder pressed"
#define SAYS_FIRST_BLANK     "First blank"
#define SAYS_BLANK           "Blank"
#define SAYS_OPEN_BEAM       "Open beam"
#define SAYS_REPORTED        "Blank, as reported"
#define SAYS_ATTEMPT         "Earlier attempts"
#define SAYS_EARLIER         "Looked through for carry-over"
#define SAYS_PREVIOUS        "Before the file was saved anew"
#define SAYS_GONE            "The spectrum is no longer in the folder"
#define SAYS_LATE            "It turned up late: spectra measured after it had been judged before"
#define SAYS_BLANK_GONE      "Its blank is no longer in the folder; the verdict stays"
#define SAYS_BLANK_CHANGED   "Its blank has another content by now; the verdict stays"
#define SAYS_RATIOED         "Ratioed spectrum"
#define SAYS_RATIOED_FORM    "JCAMP-DX"
#define SAYS_THICKNESS       "Thickness"
#define SAYS_PRESSURE        "Pressure on the die, from its load"
#define SAYS_TRUE_ABSORBANCE "True absorbance of the strongest band"
#define SAYS_ZOOM_HINT                                                                                       \
    "Point at a spectrum to read it, drag across it to enlarge a part, double-click for the whole. With "    \
    "the keyboard: arrows, + and -, 0."
#define SAYS_OPERATOR    "Operator"
#define SAYS_DECISION    "Decision"
#define SAYS_PICTURE_ALT "Marked spectrum of {}: {}"

/* Blanks. */
#define SAYS_BLANKS    "Blanks"
#define SAYS_NO_BLANKS "No blank was measured."
#define SAYS_DRIFT_KEY "Filled points: the blank passed. Open points: it did not."
#define SAYS_DRIFT_ALT "{} of the blanks over time, from {} to {}"
#define SAYS_WATER     "Water"
#define SAYS_CLARITY   "Transmittance near 2000 cm-1"
#define SAYS_NOISE     "Noise"

/* Faults and operators. */
#define SAYS_FAULTS            "Faults"
#define SAYS_NO_FAULTS         "None."
#define SAYS_FAULTS_CAPTION    "How often each fault led to a verdict, every measurement counted"
#define SAYS_FAULT             "Fault"
#define SAYS_OPERATORS_CAPTION "By operator, as the worksheet says"
#define SAYS_MEASUREMENTS      "Measurements"
#define SAYS_PASSED            "Passed"

/* What it was judged by. */
#define SAYS_RULES         "Rule set and settings"
#define SAYS_NO_RULES      "The text of the rule set is not at hand; its hash stands above."
#define SAYS_LIMITS        "Limits"
#define SAYS_BEYOND        "Beyond the limit"
#define SAYS_SOURCE        "Meaning and source"
#define SAYS_REQUIRED      "required"
#define SAYS_OFF           "switched off"
#define SAYS_AT_MOST       "at most"
#define SAYS_AT_LEAST      "at least"
#define SAYS_JUDGED_BY     "Judged by"
#define SAYS_SETTINGS_HASH "settings"
#define SAYS_SETTINGS      "Measuring settings, as the files state them"
#define SAYS_NO_SETTINGS   "None is stated"

/* Worksheet and files. */
#define SAYS_FILES         "Worksheet and files"
#define SAYS_WORKSHEET     "From the worksheet"
#define SAYS_KBR           "KBr"
#define SAYS_PRESSED       "Pressed"
#define SAYS_DIE           "Die"
#define SAYS_LOAD          "Load"
#define SAYS_LOT           "KBr lot"
#define SAYS_FILES_CAPTION "Every file that was judged, as it was then"
#define SAYS_FILE          "File"
#define SAYS_ROLE          "Role"
#define SAYS_MEASURED      "Measured"
#define SAYS_BYTES         "Bytes"
#define SAYS_TIME_FILE     "time from the file"
#define SAYS_TIME_EXPORT   "time of export"

/* Signatures. */
#define SAYS_SIGNATURES   "Signatures"
#define SAYS_SIGN_MEANING "I have read this record. Verdicts judge fitness for use, never identity."
#define SAYS_SIGN_ROLE    "As"
#define SAYS_NAME         "Name"
#define SAYS_SIGNATURE    "Signature"
#define SAYS_DATE         "Date"
#define SAYS_MADE_BY      "Made by"
#define SAYS_REVIEWED_BY  "Reviewed by"

/* The page at the bench. */
#define SAYS_NOTHING_YET   "No spectrum yet"
#define SAYS_PELLET_OF     "pellet %d"
#define SAYS_DO_PASS       "Keep the spectrum and go on."
#define SAYS_DO_GO_ON      "Go on with the samples."
#define SAYS_SPECTRA       "%zu spectra of samples"
#define SAYS_NOBODY_WAITS  "Nobody."
#define SAYS_LAST_BLANK    "Last good blank"
#define SAYS_NO_LAST_BLANK "None: press and measure a blank."
#define SAYS_AGE_MIN       "%lld min old"
#define SAYS_WHO_WAITS     "Waiting"
#define SAYS_SO_FAR        "The session so far"
#define SAYS_NO_LINES      "Nothing has been measured yet."
#define SAYS_TOO_OLD       "Older than the rule set allows (%.0f min): measure a new blank."
#define SAYS_AGE_TICKS     "# min old"
#define SAYS_STOPPED       "pelletd was stopped, {}. Nothing is judged until it is started again."
#define SAYS_NOT_SHOWN     "Only the newest are shown; all are in the record."
#define SAYS_STALE         "This page is # min old: pelletd may have stopped, or the folder is out of reach."
#define SAYS_BEAT_NOTE     "Written anew each minute while the session is open."
#define SAYS_CLOSED_NOTE   "The session is closed."

#endif
