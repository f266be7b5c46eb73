// SPDX-License-Identifier: GPL-3.0-or-later
/* The record of a session: head, what a supervisor reads in ten seconds, the overview, and the rest in order.
 */
#include "report/record.h"

#include "report/markup.h"
#include "report/wording.h"

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

static void add_head(const struct report_record *record, struct pellet_text *out)
{
    const struct pellet_report *report = record->report;
    const char *const zone = report->zone != NULL && *report->zone != '\0' ? report->zone : "UTC";
    pellet_ns first, last;

    session_span(report, &first, &last);
    report_html(out, "<header>\n<p class=\"quiet\">{}</p>\n<h1>{}</h1>\n<p>", SAYS_RECORD, report->station);
    report_html(out, "{} \u2013 {} ({}). {}. ", report_date(first, report->zone).text,
                report_clock(last, report->zone).text, zone, report->closed ? SAYS_CLOSED : SAYS_RUNNING);
    pellet_text_addf(out, SAYS_REVISION ".", report->revision);
    report_html(out, "</p>\n<p class=\"quiet small\">{}: {}. {}", SAYS_SESSION, report->session, report->by);
    if (report->now != PELLET_NO_TIME)
        report_html(out, ", {} {}", SAYS_WRITTEN, report_date(report->now, report->zone).text);
    pellet_text_adds(out, "</p>\n</header>\n");
}

static void add_figure(const char *name, const char *value, struct pellet_text *out)
{
    report_html(out, "<li><span>{}</span><b>{}</b></li>\n", name, value);
}

/* Samples whose newest pellet is not fit: each with why, and a link to its section. */
static void add_open_samples(const struct report_record *record, struct pellet_text *out)
{
    const struct report_session *session = &record->session;

    if (record->figures.fit == record->figures.samples)
        return;
    report_html(out, "<p><strong>{}</strong></p>\n<ul>\n", SAYS_OPEN);
    for (size_t k = 0; k < session->sample_count; k++) {
        const struct pellet_verdict *v = report_newest(session, &session->sample[k]);
        if (v->outcome == PELLET_PASS)
            continue;
        pellet_text_addf(out, "<li><a href=\"#s%zu\">", k + 1);
        report_html(out, "{}</a> ", session->sample[k].name);
        report_add_verdict(out, v->outcome);
        report_html(out, " {}</li>\n", v->summary);
    }
    pellet_text_adds(out, "</ul>\n");
}

void report_add_summary(const struct report_record *record, struct pellet_text *out)
{
    const struct report_figures *f = &record->figures;
    char passed[48] = "\u2013", rate[64] = SAYS_FIRST_PASSED;

    if (f->samples > 0) {
        snprintf(passed, sizeof passed, SAYS_OF, f->first_passed, f->samples);
        snprintf(rate, sizeof rate, SAYS_FIRST_PASSED " (%.0f %%)",
                 100.0 * (double)f->first_passed / (double)f->samples);
    }
    pellet_text_adds(out, "<section>\n<p class=\"lead\">");
    if (f->fit == f->samples)
        pellet_text_addf(out, SAYS_LEAD_DONE, f->fit, f->samples);
    else
        pellet_text_addf(out, SAYS_LEAD, f->fit, f->samples, f->samples - f->fit);
    pellet_text_adds(out, "</p>\n<ul class=\"figures\">\n");
    add_figure(SAYS_PELLETS, report_count(f->pellets).text, out);
    add_figure(rate, passed, out);
    add_figure(SAYS_REMAKES, report_count(f->verdict[PELLET_REMAKE]).text, out);
    add_figure(SAYS_RESCANS, report_count(f->verdict[PELLET_RESCAN]).text, out);
    add_figure(SAYS_WAITING, report_count(f->verdict[PELLET_WAIT]).text, out);
    add_figure(SAYS_UNCHECKED, report_count(f->not_checked).text, out);
    pellet_text_adds(out, "</ul>\n");
    add_open_samples(record, out);
    pellet_text_adds(out, "</section>\n");
}

/* ---------------------------------------------------------------- the overview */

void report_add_overview(const struct report_record *record, struct pellet_text *out)
{
    const struct report_session *session = &record->session;

    report_html(
        out,
        "<h2>{}</h2>\n<div class=\"tools\" data-label=\"{}\"></div>\n<div class=\"wide\"><table "
        "class=\"stack\" id=\"overview\"><thead><tr><th scope=\"col\">{}</th><th scope=\"col\">{}</th><th "
        "scope=\"col\">{}</th><th scope=\"col\">{}</th><th scope=\"col\">{}</th></tr></thead><tbody>\n",
        SAYS_OVERVIEW, SAYS_FILTER, SAYS_SAMPLE, SAYS_PELLET, SAYS_TIME, SAYS_VERDICT, SAYS_WHY);
    for (size_t k = 0; k < session->sample_count; k++) {
        const struct report_sample *sample = &session->sample[k];
        for (size_t i = 0; i < sample->count; i++) {
            const struct pellet_verdict *v = session->item[sample->first + i]->verdict;
            char key[32];
            pellet_time_format(v->measured, key);
            pellet_text_addf(out, "<tr><th scope=\"row\"><a href=\"#s%zu\">", k + 1);
            report_html(out, "{}</a></th><td>{}</td><td data-k=\"{}\">{}</td><td>", sample->name,
                        v->pellet > 0 ? report_count((size_t)v->pellet).text : "", key,
                        report_clock(v->measured, record->report->zone).text);
            report_add_verdict(out, v->outcome);
            report_html(out, "</td><td>{}{}</td></tr>\n", v->summary,
                        report_superseded(session, sample, i) ? " (" SAYS_SUPERSEDED ")" : "");
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
        add_head,          report_add_summary, report_add_overview, report_add_samples,    report_add_blanks,
        report_add_faults, report_add_rules,   report_add_files,    report_add_signatures,
    };
    const struct report_page page = {
        .title = report->session, .style = report_record_style, .script = report_record_script};
    struct report_record record = {.report = report};

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
    return pellet_text_status(html);
}
