// SPDX-License-Identifier: GPL-3.0-or-later
/* The record of a session: head, what a supervisor reads in ten seconds, the overview, and the rest
 * in order. */
#include "report/record.h"

#include "pellet/wording_pages.h"
#include "report/assets.h"
#include "report/markup.h"

#include <stdio.h>
#include <string.h>

/* ---------------------------------------------------------------- the head and the summary */

static void session_span(const struct pellet_report *report, pellet_ns *first, pellet_ns *last)
{
    *first = *last = PELLET_NO_TIME;
    for (size_t i = 0; i < report->item_count; i++) {
        const pellet_ns measured = report->item[i].verdict->measured;
        if (measured == PELLET_NO_TIME)
            continue;
        if (*first == PELLET_NO_TIME || measured < *first)
            *first = measured;
        if (*last == PELLET_NO_TIME || measured > *last)
            *last = measured;
    }
}

/* The end of a session, with its date only where that is another: "19:44", "2026-03-05 01:10". */
static struct report_number end_of(pellet_ns first, pellet_ns last, const char *zone)
{
    const struct report_number from = report_date(first, zone), to = report_date(last, zone);
    const size_t date = strlen("2026-03-04");

    return strncmp(from.text, to.text, date) == 0 ? report_clock(last, zone) : to;
}

static void add_head(const struct report_record *record, struct pellet_text *out)
{
    const struct pellet_report *report = record->report;
    const char *const zone = report->zone != NULL && *report->zone != '\0' ? report->zone : "UTC";
    pellet_ns first, last;

    session_span(report, &first, &last);
    report_html(out, "<header>\n<p class=\"quiet\">{}</p>\n<h1>{}</h1>\n<p>", SAYS_RECORD, report->station);
    report_html(out, "{} \u2013 {} ({}). {}. ", report_date(first, report->zone).text,
                end_of(first, last, report->zone).text, zone, report->closed ? SAYS_CLOSED : SAYS_RUNNING);
    pellet_text_addf(out, SAYS_REVISION ".", report->revision);
    report_html(out, "</p>\n<p class=\"quiet small\">{}: {}. {}", SAYS_SESSION, report->session, report->by);
    if (report->now != PELLET_NO_TIME)
        report_html(out, ", {} {}", SAYS_WRITTEN, report_date(report->now, report->zone).text);
    pellet_text_adds(out, "</p>\n</header>\n");
}

/* A supervisor reads the summary in ten seconds; the rest of a long list stands in the table. */
#define OPEN_MAX 20

static void add_figure(const char *name, const char *value, struct pellet_text *out)
{
    report_html(out, "<li><span>{}</span><b>{}</b></li>\n", name, value);
}

/* "Sent back to the press: too strong 3, damp 1". Nothing where it did not happen. */
static void add_why(const char *name, const struct report_tally *tally, enum pellet_outcome outcome,
                    struct pellet_text *out)
{
    bool begun = false;

    for (size_t i = 0; i < tally->count; i++) {
        const struct report_fault *f = &tally->item[i];
        if (f->count[outcome] == 0)
            continue;
        report_html(out, begun ? ", {}{} {}" : "<dt>{}</dt><dd>{} {}", begun ? "" : name,
                    outcome == PELLET_NOT_CHECKED ? f->check->id : report_bench_word(f->check),
                    report_count(f->count[outcome]).text);
        begun = true;
    }
    if (begun)
        pellet_text_adds(out, "</dd>\n");
}

/* What people have decided otherwise than the verdicts say: "sugar-A, pellet 2: accept (A. B.); ...". */
static void add_decisions(const struct report_session *session, struct pellet_text *out)
{
    size_t n = 0;

    for (size_t i = 0; i < session->item_count; i++) {
        const struct pellet_worksheet_row *row = session->item[i]->row;
        if (row == NULL || row->decision == NULL)
            continue;
        if (n++ == 0)
            report_html(out, "<dt>{}</dt><dd><ul>\n", SAYS_DECISIONS);
        report_html(out, "<li>{}: {} ({})</li>\n", session->item[i]->verdict->file, row->decision,
                    row->decided_by);
    }
    if (n > 0)
        pellet_text_adds(out, "</ul></dd>\n");
}

static void add_open_sample(const struct report_session *session, size_t k, struct pellet_text *out)
{
    const struct pellet_verdict *v = report_newest(session, &session->sample[k]);

    pellet_text_addf(out, "<li><a href=\"#s%zu\">", k + 1);
    report_html(out, "{}</a> ", session->sample[k].name);
    report_add_verdict(out, v->outcome);
    report_html(out, " {}</li>\n", v->summary);
}

/* Samples whose newest pellet is not fit: each with why, and a link to its section. */
static void add_open_samples(const struct report_record *record, struct pellet_text *out)
{
    const struct report_session *session = &record->session;
    const size_t open = record->figures.samples - record->figures.fit;
    size_t listed = 0;

    if (open == 0)
        return;
    report_html(out, "<h2>{}</h2>\n<ul class=\"open\">\n", SAYS_OPEN);
    for (size_t k = 0; k < session->sample_count && listed < OPEN_MAX; k++) {
        if (report_newest(session, &session->sample[k])->outcome == PELLET_PASS)
            continue;
        add_open_sample(session, k, out);
        listed++;
    }
    pellet_text_adds(out, "</ul>\n");
    if (open > listed)
        pellet_text_addf(out, "<p>" SAYS_OPEN_MORE "</p>\n", open - listed);
}

static void add_figures(const struct report_figures *f, struct pellet_text *out)
{
    char passed[48] = "\u2013", rate[64] = SAYS_FIRST_PASSED;

    if (f->samples > 0) {
        snprintf(passed, sizeof passed, SAYS_OF, f->first_passed, f->samples);
        snprintf(rate, sizeof rate, SAYS_FIRST_PASSED " (%.0f %%)",
                 100.0 * (double)f->first_passed / (double)f->samples);
    }
    pellet_text_adds(out, "<ul class=\"figures\">\n");
    add_figure(SAYS_PELLETS, report_count(f->pellets).text, out);
    add_figure(rate, passed, out);
    add_figure(SAYS_REMAKES, report_count(f->verdict[PELLET_REMAKE]).text, out);
    add_figure(SAYS_RESCANS, report_count(f->verdict[PELLET_RESCAN]).text, out);
    add_figure(SAYS_WAITING, report_count(f->verdict[PELLET_WAIT]).text, out);
    add_figure(SAYS_UNCHECKED, report_count(f->not_checked).text, out);
    pellet_text_adds(out, "</ul>\n");
}

void report_add_summary(const struct report_record *record, struct pellet_text *out)
{
    const struct report_figures *f = &record->figures;

    pellet_text_adds(out, "<section>\n<p class=\"lead\">");
    if (f->fit == f->samples)
        pellet_text_addf(out, SAYS_LEAD_DONE, f->fit, f->samples);
    else
        pellet_text_addf(out, SAYS_LEAD, f->fit, f->samples, f->samples - f->fit);
    pellet_text_adds(out, "</p>\n");
    add_figures(f, out);
    if (f->reasons.count + f->unchecked.count > 0) {
        pellet_text_adds(out, "<dl class=\"facts\">\n");
        add_why(SAYS_WHY_REMADE, &f->reasons, PELLET_REMAKE, out);
        add_why(SAYS_WHY_AGAIN, &f->reasons, PELLET_RESCAN, out);
        add_why(SAYS_WHY_WAITED, &f->reasons, PELLET_WAIT, out);
        add_why(SAYS_WHY_UNCHECKED, &f->unchecked, PELLET_NOT_CHECKED, out);
        add_decisions(&record->session, out);
        pellet_text_adds(out, "</dl>\n");
    }
    add_open_samples(record, out);
    pellet_text_adds(out, "</section>\n");
}

/* ---------------------------------------------------------------- the overview */

static void add_line(const struct report_record *record, size_t k, size_t i, struct pellet_text *out)
{
    const struct report_session *session = &record->session;
    const struct report_sample *sample = &session->sample[k];
    const struct pellet_verdict *v = session->item[sample->first + i]->verdict;
    char key[32];

    pellet_time_format(v->measured, key);
    pellet_text_addf(out, "<tr><th scope=\"row\" class=\"name\"><a href=\"#s%zu\">", k + 1);
    report_html(out, "{}</a></th><td>{}</td><td data-k=\"{}\">{}</td><td>", sample->name,
                v->pellet > 0 ? report_count((size_t)v->pellet).text : "", key,
                report_clock(v->measured, record->report->zone).text);
    report_add_verdict(out, v->outcome);
    report_html(out, "</td><td>{}{}</td></tr>\n", v->summary,
                report_superseded(session, sample, i) ? " (" SAYS_SUPERSEDED ")" : "");
}

/* A browser lays out what is near; it does so by whole tables, so that a long list is cut into several. The
 * script joins them when it sorts. */
#define OVERVIEW_ROWS 60

static void begin_overview(bool first, struct pellet_text *out)
{
    report_html(
        out,
        "<div class=\"long\"><table class=\"stack overview\"><thead{}><tr><th scope=\"col\">{}</th><th "
        "scope=\"col\">{}</th><th scope=\"col\">{}</th><th scope=\"col\">{}</th><th "
        "scope=\"col\">{}</th></tr></thead><tbody>\n",
        first ? "" : " class=again", SAYS_SAMPLE, SAYS_PELLET, SAYS_TIME, SAYS_VERDICT, SAYS_WHY);
}

void report_add_overview(const struct report_record *record, struct pellet_text *out)
{
    const struct report_session *session = &record->session;
    size_t rows = 0;

    report_html(out, "<h2>{}</h2>\n<div class=\"tools\" data-label=\"{}\" data-lines=\"{}\"></div>\n",
                SAYS_OVERVIEW, SAYS_FILTER, SAYS_LINES);
    begin_overview(true, out);
    for (size_t k = 0; k < session->sample_count; k++) {
        for (size_t i = 0; i < session->sample[k].count; i++) {
            if (rows > 0 && rows % OVERVIEW_ROWS == 0) {
                pellet_text_adds(out, "</tbody></table></div>\n");
                begin_overview(false, out);
            }
            add_line(record, k, i, out);
            rows++;
        }
    }
    pellet_text_adds(out, "</tbody></table></div>\n");
}

/* ---------------------------------------------------------------- signatures */

void report_add_signatures(const struct report_record *record, struct pellet_text *out)
{
    (void)record;
    report_html(
        out,
        "<h2>{}</h2>\n<p>{}</p>\n<table class=\"sign\"><thead><tr><th scope=\"col\">{}</th><th "
        "scope=\"col\">{}</th><th scope=\"col\">{}</th><th scope=\"col\">{}</th></tr></thead><tbody>\n",
        SAYS_SIGNATURES, SAYS_SIGN_MEANING, SAYS_SIGN_ROLE, SAYS_NAME, SAYS_SIGNATURE, SAYS_DATE);
    report_html(out, "<tr><th scope=\"row\">{}</th><td></td><td></td><td></td></tr>\n", SAYS_MADE_BY);
    report_html(out, "<tr><th scope=\"row\">{}</th><td></td><td></td><td></td></tr>\n</tbody></table>\n",
                SAYS_REVIEWED_BY);
}

pellet_status pellet_report_record(const struct pellet_report *report, struct pellet_text *html)
{
    static void (*const section[])(const struct report_record *, struct pellet_text *) = {
        report_add_shared, add_head,          report_add_summary, report_add_overview, report_add_samples,
        report_add_blanks, report_add_faults, report_add_rules,   report_add_files,    report_add_signatures,
    };
    const struct report_page page = {.title = report->session,
                                     .style = {report_page_css, report_drawing_css, report_record_css},
                                     .script = report_record_js};
    struct report_shared shared = {0};
    struct report_record record = {.report = report, .shared = &shared};

    if (report_session_make(report, &record.session) != PELLET_OK)
        return PELLET_E_MEMORY;
    report_session_count(&record.session, &record.figures);
    report_page_begin(&page, html);
    pellet_text_adds(html, "<main>\n");
    for (size_t i = 0; i < sizeof section / sizeof section[0]; i++)
        section[i](&record, html);
    pellet_text_adds(html, "</main>\n");
    report_page_end(&page, html);
    report_session_clear(&record.session);
    report_shared_clear(&shared);
    return pellet_text_status(html);
}
