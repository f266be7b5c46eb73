// SPDX-License-Identifier: GPL-3.0-or-later
/* The page at the bench: the newest verdict to be read from two metres away, and what stands around it. */
#include "pellet/wording_pages.h"
#include "report/assets.h"
#include "report/markup.h"
#include "report/session.h"

#include <string.h>

/* However long the session is, the page stays this long. */
#define LINES_MAX 30
/* The service writes once a minute while a session is open; two missed beats are a silence. */
#define REFRESH_S 10
#define NS_PER_MS 1000000

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
    report_html(out, " <span class=\"quiet\">{}</span></h1>\n<p class=\"word\">",
                report_clock(v->measured, report->zone).text);
    report_add_verdict(out, v->outcome);
    report_html(out, "</p>\n<p class=\"why\">{}</p>\n<p class=\"do\">{}</p>\n</section>\n", v->summary,
                v->instruction != NULL && *v->instruction != '\0' ? v->instruction
                : v->role == PELLET_SAMPLE                        ? SAYS_DO_PASS
                                                                  : SAYS_DO_GO_ON);
}

/* The accepted blank measured last: what the next sample will be paired with. */
static const struct pellet_verdict *last_good_blank(const struct report_session *session)
{
    for (size_t i = session->reference_count; i-- > 0;) {
        const struct pellet_verdict *v = session->reference[i]->verdict;
        if (v->role == PELLET_BLANK && v->outcome == PELLET_PASS)
            return v;
    }
    return NULL;
}

static void add_age(const struct pellet_report *report, pellet_ns measured, struct pellet_text *out)
{
    if (measured == PELLET_NO_TIME || report->now == PELLET_NO_TIME)
        return;
    pellet_text_addf(out, ", <span id=\"age\" data-since=\"%lld\" ", (long long)(measured / NS_PER_MS));
    report_html(out, "data-says=\"{}\">", SAYS_AGE_TICKS);
    const pellet_ns age_min = (report->now - measured) / (60 * PELLET_NS_PER_S);
    pellet_text_addf(out, SAYS_AGE_MIN "</span>", (long long)age_min);
    if (report->rules != NULL && (double)age_min > report->rules->blank_max_age_min)
        pellet_text_addf(out, "<br><strong>" SAYS_TOO_OLD "</strong>", report->rules->blank_max_age_min);
}

static void add_blank(const struct pellet_report *report, const struct report_session *session,
                      struct pellet_text *out)
{
    const struct pellet_verdict *blank = last_good_blank(session);

    report_html(out, "<section><h2>{}</h2>\n<p>", SAYS_LAST_BLANK);
    if (blank == NULL) {
        pellet_text_adds(out, SAYS_NO_LAST_BLANK);
    } else {
        report_html(out, "<strong>{}</strong>, {}", blank->file,
                    report_clock(blank->measured, report->zone).text);
        add_age(report, blank->measured, out);
        if (blank->state == PELLET_BLANK_PROVISIONAL)
            report_html(out, " ({})", pellet_blank_state_id(blank->state));
    }
    pellet_text_adds(out, "</p></section>\n");
}

static void add_waiting(const struct report_session *session, struct pellet_text *out)
{
    bool begun = false;

    report_html(out, "<section><h2>{}</h2>\n", SAYS_WHO_WAITS);
    for (size_t k = 0; k < session->sample_count; k++) {
        const struct pellet_verdict *v = report_newest(session, &session->sample[k]);
        if (v->outcome != PELLET_WAIT)
            continue;
        pellet_text_adds(out, begun ? "<li><strong>" : "<ul>\n<li><strong>");
        begun = true;
        add_who(v, out);
        report_html(out, "</strong>: {} <span class=\"quiet\">{}</span></li>\n", v->instruction, v->summary);
    }
    if (begun)
        pellet_text_adds(out, "</ul></section>\n");
    else
        report_html(out, "<p>{}</p></section>\n", SAYS_NOBODY_WAITS);
}

static void add_line(const struct pellet_verdict *v, const char *zone, struct pellet_text *out)
{
    pellet_text_adds(out, "<tr><th scope=\"row\" class=\"name\">");
    add_who(v, out);
    report_html(out, "</th><td>{}</td><td>", report_clock(v->measured, zone).text);
    report_add_verdict(out, v->outcome);
    report_html(out, "</td><td>{}</td></tr>\n", v->summary);
}

/* "12 spectra of samples: 7 pass, 3 remake, 2 rescan": as the caller has counted, else of the items. */
static void add_tally(const struct pellet_report *report, struct pellet_text *out)
{
    static const enum pellet_outcome order[] = {PELLET_PASS, PELLET_REMAKE, PELLET_RESCAN, PELLET_WAIT};
    size_t tally[PELLET_OUTCOME_COUNT] = {0}, total = 0;

    for (size_t i = 0; i < PELLET_OUTCOME_COUNT; i++)
        total += tally[i] = report->tally[i];
    for (size_t i = 0; i < report->item_count && total <= i; i++) {
        const struct pellet_verdict *v = report->item[i].verdict;
        if (v->role == PELLET_SAMPLE)
            tally[v->outcome]++;
    }
    for (size_t i = total = 0; i < sizeof order / sizeof order[0]; i++)
        total += tally[order[i]];
    pellet_text_addf(out, "<p>" SAYS_SPECTRA, total);
    const char *between = ": ";
    for (size_t i = 0; i < sizeof order / sizeof order[0]; i++) {
        if (tally[order[i]] == 0)
            continue;
        report_html(out, "{}{} {}", between, report_count(tally[order[i]]).text,
                    report_outcome_word(order[i]));
        between = ", ";
    }
    pellet_text_adds(out, ".</p>\n");
}

/* The newest lines, newest first. */
static void add_so_far(const struct pellet_report *report, const struct report_session *session,
                       struct pellet_text *out)
{
    report_html(out, "<section><h2>{}</h2>\n", SAYS_SO_FAR);
    if (session->timed_count == 0) {
        report_html(out, "<p>{}</p>\n", SAYS_NO_LINES);
    } else {
        add_tally(report, out);
        report_html(out,
                    "<table><thead><tr><th scope=\"col\">{}</th><th scope=\"col\">{}</th><th "
                    "scope=\"col\">{}</th><th scope=\"col\">{}</th></tr></thead><tbody>\n",
                    SAYS_SAMPLE, SAYS_TIME, SAYS_VERDICT, SAYS_WHY);
        for (size_t i = session->timed_count, line = 0; i-- > 0 && line < LINES_MAX; line++)
            add_line(session->timed[i]->verdict, report->zone, out);
        pellet_text_adds(out, "</tbody></table>\n");
    }
    if (session->timed_count > LINES_MAX)
        report_html(out, "<p class=\"quiet\">{}</p>\n", SAYS_NOT_SHOWN);
    pellet_text_adds(out, "</section>\n");
}

/* Whether anything more can come, in one word for the script. */
static const char *state_of(const struct pellet_report *report)
{
    return report->stopped ? "stopped" : report->closed ? "closed" : "open";
}

/* What must not be overlooked: stopped, or, found out by the reader's clock, stale. */
static void add_notice(const struct pellet_report *report, struct pellet_text *out)
{
    const long long written_ms = report->now == PELLET_NO_TIME ? 0 : (long long)(report->now / NS_PER_MS);

    if (report->stopped)
        report_html(out, "<p class=\"stale\" role=\"alert\">" SAYS_STOPPED "</p>\n",
                    report_date(report->now, report->zone).text);
    pellet_text_addf(out, "<p id=\"stale\" class=\"stale\" role=\"alert\" hidden data-written=\"%lld\" ",
                     written_ms);
    report_html(out, "data-state=\"{}\" data-says=\"{}\"></p>\n", state_of(report), SAYS_STALE);
}

static void add_foot(const struct pellet_report *report, struct pellet_text *out)
{
    report_html(out, "<footer class=\"quiet\"><p>{}, {} {}. {}</p></footer>\n", report->station, SAYS_WRITTEN,
                report_date(report->now, report->zone).text,
                report->stopped  ? ""
                : report->closed ? SAYS_CLOSED_NOTE
                                 : SAYS_BEAT_NOTE);
}

pellet_status pellet_report_bench(const struct pellet_report *report, struct pellet_text *html)
{
    const struct report_page page = {.title = report->station,
                                     .style = {report_page_css, report_bench_css},
                                     .script = report_bench_js,
                                     .refresh_s = REFRESH_S};
    struct report_session session;

    if (report_session_make(report, &session) != PELLET_OK)
        return PELLET_E_MEMORY;
    report_page_begin(&page, html);
    pellet_text_adds(html, "<main>\n");
    add_notice(report, html);
    add_now(report, html);
    pellet_text_adds(html, "<div class=\"beside\">\n");
    add_waiting(&session, html);
    add_blank(report, &session, html);
    pellet_text_adds(html, "</div>\n");
    add_so_far(report, &session, html);
    add_foot(report, html);
    pellet_text_adds(html, "</main>\n");
    report_page_end(&page, html);
    report_session_clear(&session);
    return pellet_text_status(html);
}
