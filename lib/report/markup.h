// SPDX-License-Identifier: GPL-3.0-or-later
/* Small pieces of HTML and SVG that all pages share. */
#ifndef REPORT_MARKUP_H
#define REPORT_MARKUP_H

#include "pellet/judge.h"

/* A string as text or attribute; NULL adds nothing. */
void report_add(struct pellet_text *out, const char *string);
/*
 * A piece of markup: each {} of the template is filled with the next string, escaped; NULL fills nothing. The
 * strings are counted, so that a template with too many places cannot read beyond them.
 */
#define report_html(out, template, ...)                                                                      \
    report_html_fill((out), (template), (const char *const[]){__VA_ARGS__},                                  \
                     sizeof((const char *const[]){__VA_ARGS__}) / sizeof(const char *))
void report_html_fill(struct pellet_text *out, const char *template, const char *const *string, size_t n);

/* A number for a sentence. The array lives as long as the block it stands in. */
struct report_number {
    char text[48];
};
struct report_number report_count(size_t n);
/* "2.41 A", with 4 digits, as the verdict compares it; "" for NaN. */
struct report_number report_quantity(double value, enum pellet_unit unit);
/* The same with 3 digits and no unit, for labels in a picture. */
struct report_number report_rough(double value);
/* A time for people in `zone`: "10:12" or "2026-03-04 10:12"; "" where there is none. */
struct report_number report_clock(pellet_ns time, const char *zone);
struct report_number report_date(pellet_ns time, const char *zone);

/*
 * From the doctype to the opened body. The policy allows exactly this style sheet and this script and
 * nothing else: whatever a file name smuggles in, nothing runs and nothing is fetched.
 */
struct report_page {
    const char *title;
    const char *style[3]; /* one after the other, NULL where there are fewer; our own, trusted */
    const char *script;   /* our own, trusted */
    unsigned refresh_s;   /* 0: never */
};
void report_page_begin(const struct report_page *page, struct pellet_text *out);
void report_page_end(const struct report_page *page, struct pellet_text *out);

/* The shape of a verdict and its word: the word alone says it, the shape is seen from afar. */
void report_add_verdict(struct pellet_text *out, enum pellet_outcome outcome);

/* The word for people: "pass", "not checked". */
const char *report_outcome_word(enum pellet_outcome outcome);
const char *report_role_word(enum pellet_role role);
/* "too strong"; a file that could not be read is no check, and has a word all the same. */
const char *report_bench_word(const struct pellet_check *check);
/* Whether a finding says that something is amiss: note, wait, rescan or remake. */
bool report_amiss(enum pellet_outcome outcome);

#endif
