// SPDX-License-Identifier: GPL-3.0-or-later
/* The page at the bench: the newest verdict to be read from two metres away, and what stands around it. */
#include "report/markup.h"
#include "report/session.h"
#include "report/wording.h"

#include <string.h>

/* However long the session is, the page stays this long. */
#define LINES_MAX 30
/* The service writes once a minute while a session is open; two missed beats are a silence. */
#define REFRESH_S 10

static const char style[] =
    "body{max-width:80rem}.now{padding:1rem 0 1.5rem;border-bottom:3px solid var(--ink)}"
    ".now .who{font-size:clamp(1.6rem,4vw,3rem);line-height:1.15;overflow-wrap:anywhere}"
    ".now .verdict{font-size:clamp(3.5rem,13vw,10rem);line-height:1.05;display:block;font-family:inherit}"
    ".now .why{font-size:clamp(1.2rem,2.6vw,2rem);line-height:1.25;max-width:none}"
    ".now .do{font-size:clamp(1.3rem,3vw,2.4rem);line-height:1.25;max-width:none;border-left-width:6px}\n"
    ".stale{border:3px solid var(--mark);padding:.6rem .8rem;font-weight:600;font-size:1.3rem;max-width:none}"
    "h2{border:0;margin:1.8rem 0 .4rem;padding:0}td:last-child{width:60%}"
    "@media(max-width:40rem){body{padding:.8rem}tr{display:flex;flex-wrap:wrap;gap:0 .7rem;border-bottom:1px "
    "solid "
    "var(--line)}th,td{border:0;padding:.15rem 0}td:last-child{width:100%}thead{display:none}}"
    "@media print{:root{--paper:#fff;--ink:#000;--quiet:#444;--line:#bbb;--mark:#000}}\n";

/* The reader's clock says whether the page is old: a page that stands still must not look alive. */
static const char script[] =
    "'use strict';(function(){var p=document.getElementById('stale');var t=Number(p.dataset.written);"
    "var look=function(){var m=Math.floor((Date.now()-t)/60000);p.hidden=p.dataset.closed==='1'||m<3;"
    "p.textContent=p.dataset.says.replace('#',String(m));};look();setInterval(look,5000);})();\n";

static const struct pellet_verdict *newest_verdict(const struct pellet_report *report)
{
    const struct pellet_verdict *newest = NULL;

    for (size_t i = 0; i < report->item_count; i++) {
        const struct pellet_verdict *v = report->item[i].verdict;
        if (newest == NULL || v->judged > newest->judged ||
            (v->judged == newest->judged && v->measured > newest->measured))
            newest = v;
    }
    return newest;
}

static void add_who(const struct pellet_verdict *v, struct pellet_text *out)
{
    report_add(out, v->sample != NULL ? v->sample : v->file);
    if (v->pellet > 0)
        pellet_text_addf(out, ", " SAYS_PELLET_OF, v->pellet);
}

static void add_now(const struct pellet_report *report, struct pellet_text *out)
{
    const struct pellet_verdict *v = newest_verdict(report);

    pellet_text_adds(out, "<section class=\"now\">\n<h1 class=\"who\">");
    if (v == NULL) {
        report_html(out, "{}</h1>\n</section>\n", SAYS_NOTHING_YET);
        return;
    }
    add_who(v, out);
    report_html(out, " <span class=\"quiet\">{}</span></h1>\n", report_clock(v->measured, report->zone).text);
    report_add_verdict(out, v->outcome);
    report_html(out, "\n<p class=\"why\">{}</p>\n", v->summary);
    if (v->instruction != NULL && *v->instruction != '\0')
        report_html(out, "<p class=\"do\">{}</p>\n", v->instruction);
    pellet_text_adds(out, "</section>\n");
}

static void add_blank(const struct pellet_report *report, const struct report_session *session,
                      struct pellet_text *out)
{
    const struct pellet_verdict *blank = NULL;

    for (size_t i = 0; i < session->reference_count; i++) {
        const struct pellet_verdict *v = session->reference[i]->verdict;
        if (v->role == PELLET_BLANK && v->outcome == PELLET_PASS)
            blank = v;
    }
    report_html(out, "<h2>{}</h2>\n<p>", SAYS_BLANK_IN_USE);
    if (blank == NULL)
        pellet_text_adds(out, SAYS_NO_BLANK_IN_USE);
    else
        report_html(out, "{}, {}", blank->file, report_clock(blank->measured, report->zone).text);
    if (blank != NULL && blank->measured != PELLET_NO_TIME && report->now != PELLET_NO_TIME)
        pellet_text_addf(out, ", " SAYS_AGE_MIN,
                         (long long)((report->now - blank->measured) / (60 * PELLET_NS_PER_S)));
    if (blank != NULL && blank->state == PELLET_BLANK_PROVISIONAL)
        report_html(out, " ({})", pellet_blank_state_id(blank->state));
    pellet_text_adds(out, "</p>\n");
}

static void add_waiting(const struct report_session *session, struct pellet_text *out)
{
    bool begun = false;

    for (size_t k = 0; k < session->sample_count; k++) {
        const struct pellet_verdict *v = report_newest(session, &session->sample[k]);
        if (v->outcome != PELLET_WAIT)
            continue;
        if (!begun)
            report_html(out, "<h2>{}</h2>\n<ul>\n", SAYS_WHO_WAITS);
        begun = true;
        pellet_text_adds(out, "<li><strong>");
        add_who(v, out);
        report_html(out, "</strong>: {} <span class=\"quiet\">{}</span></li>\n", v->instruction, v->summary);
    }
    if (begun)
        pellet_text_adds(out, "</ul>\n");
}

static void add_line(const struct pellet_verdict *v, const char *zone, struct pellet_text *out)
{
    pellet_text_adds(out, "<tr><th scope=\"row\">");
    add_who(v, out);
    report_html(out, "</th><td>{}</td><td>", report_clock(v->measured, zone).text);
    report_add_verdict(out, v->outcome);
    report_html(out, "</td><td>{}</td></tr>\n", v->summary);
}

/* The newest lines, newest first. */
static void add_so_far(const struct pellet_report *report, const struct report_session *session,
                       struct pellet_text *out)
{
    size_t line = 0;

    report_html(out,
                "<h2>{}</h2>\n<table><thead><tr><th scope=\"col\">{}</th><th scope=\"col\">{}</th><th "
                "scope=\"col\">{}</th><th scope=\"col\">{}</th></tr></thead><tbody>\n",
                SAYS_SO_FAR, SAYS_SAMPLE, SAYS_TIME, SAYS_VERDICT, SAYS_WHY);
    for (size_t i = session->timed_count; i-- > 0 && line < LINES_MAX; line++)
        add_line(session->timed[i]->verdict, report->zone, out);
    pellet_text_adds(out, "</tbody></table>\n");
    if (session->timed_count > LINES_MAX)
        pellet_text_addf(out, "<p class=\"quiet\">" SAYS_NOT_SHOWN "</p>\n",
                         session->timed_count - LINES_MAX);
}

static void add_written(const struct pellet_report *report, struct pellet_text *out)
{
    const long long written_ms = report->now == PELLET_NO_TIME ? 0 : (long long)(report->now / 1000000);

    pellet_text_addf(
        out,
        "<p id=\"stale\" class=\"stale\" role=\"alert\" hidden data-written=\"%lld\" data-closed=\"%d\" ",
        written_ms, report->closed);
    report_html(out, "data-says=\"{}\"></p>\n<p class=\"quiet\">{}, {} {}. {}</p>\n", SAYS_STALE,
                report->station, SAYS_WRITTEN, report_date(report->now, report->zone).text,
                report->closed ? SAYS_CLOSED_NOTE : SAYS_BEAT_NOTE);
}

pellet_status pellet_report_bench(const struct pellet_report *report, struct pellet_text *html)
{
    const struct report_page page = {
        .title = report->station, .style = style, .script = script, .refresh_s = REFRESH_S};
    struct report_session session;

    if (report_session_make(report, &session) != PELLET_OK)
        return PELLET_E_MEMORY;
    report_page_begin(&page, html);
    pellet_text_adds(html, "<main>\n");
    add_written(report, html);
    add_now(report, html);
    add_waiting(&session, html);
    add_blank(report, &session, html);
    add_so_far(report, &session, html);
    pellet_text_adds(html, "</main>\n");
    report_page_end(&page, html);
    report_session_clear(&session);
    return pellet_text_status(html);
}
