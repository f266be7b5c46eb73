// SPDX-License-Identifier: GPL-3.0-or-later
/* Style sheets and scripts of our pages, from the files of the same names beside this one; see
 * embed.cmake. */
#ifndef REPORT_ASSETS_H
#define REPORT_ASSETS_H

extern const char report_page_css[];    /* what all pages share */
extern const char report_drawing_css[]; /* a drawn spectrum, in a page or by itself */
extern const char report_picture_css[]; /* what a drawn spectrum by itself needs besides */
extern const char report_record_css[];
extern const char report_record_js[];
extern const char report_bench_css[];
extern const char report_bench_js[];

#endif
