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
 * the highest wavenumber at the left; behind it, faint, the single beam of the blank on a scale of its own.
 *
 * Given:     ratio    absorbance; NaN ordinates are gaps in the curve
 *            blank    single beam that the ratio was made with, on any grid; NULL where there is none
 *            verdict  of the same spectrum
 * Returned:  svg      one stand-alone document is appended; untouched on E_SHORT
 * Errors:    E_SHORT where fewer than two ordinates are finite, E_MEMORY
 * Method:    first, lowest, highest and last ordinate of each column one unit wide, so that no narrow line
 * is lost and the size does not grow with the number of points
 */
pellet_status pellet_report_picture(const struct pellet_spectrum *ratio, const struct pellet_spectrum *blank,
                                    const struct pellet_verdict *verdict, struct pellet_text *svg);

/* One spectrum of the session, with what stands beside its verdict. */
struct pellet_report_item {
    const struct pellet_verdict *verdict;
    const struct pellet_worksheet_row *row; /* NULL where the worksheet is silent */
    const char
        *svg;  /* its marked spectrum as its file holds it, whoever wrote that; NULL where there is none */
    bool gone; /* the spectrum is no longer in the folder */
};

/*
 * All that a record is made of; everything is borrowed, items in any order. What is late, changed or judged
 * against a blank that is gone or another by now follows from the items.
 */
struct pellet_report {
    const char *station;
    const char *session;
    const char *zone;                          /* of the times for people, as pellet_time_local takes it */
    const char *by;                            /* "pelletd 0.1.0" */
    pellet_ns now;                             /* when it is written; PELLET_NO_TIME leaves it out */
    bool closed;                               /* nothing more can come */
    bool stopped;                              /* the service is about to end; for the bench page */
    unsigned revision;                         /* 1: the first */
    const char *setting[PELLET_SETTING_COUNT]; /* as the files state them; NULL where they do not */
    const struct pellet_rules *rules;          /* NULL where the rule set is not at hand */
    size_t tally[PELLET_OUTCOME_COUNT];        /* for the bench page, see there */
    size_t item_count;
    const struct pellet_report_item *item;
};

/*
 * The record of a session as one self-contained HTML page, complete without script, appended to `html`.
 * Errors: E_MEMORY.
 */
pellet_status pellet_report_record(const struct pellet_report *report, struct pellet_text *html);

/*
 * The same as CSV: a row for each check of each spectrum, times in UTC, numbers with a point, cells defused.
 * Errors: E_MEMORY.
 */
pellet_status pellet_report_table(const struct pellet_report *report, struct pellet_text *csv);

/*
 * The page at the bench, appended to `html`: the newest verdict large, who waits for what, the last good
 * blank and its age at `now`, the newest thirty lines of the session. It loads itself again, and says when it
 * was not written for three minutes by the reader's own clock.
 *
 * To be cheap in a long session it need not be given every item: the newest thirty, the waiting and the
 * accepted blanks do. Verdicts read briefly are enough; `setting`, pictures and worksheet rows are not asked
 * for, and `rules` only to say that the blank is too old.
 *
 * Given:   tally   how many spectra of samples the session holds with each verdict; where it is all zero the
 *                  items are counted
 * Errors:  E_MEMORY
 */
pellet_status pellet_report_bench(const struct pellet_report *report, struct pellet_text *html);

#endif
