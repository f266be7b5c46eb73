// SPDX-License-Identifier: GPL-3.0-or-later
/* Each sample with its attempts in order: the verdict, why, what to do, and every number beside its limit. */
#include "report/markup.h"
#include "report/record.h"
#include "report/wording.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---------------------------------------------------------------- what was measured */

/* A value on a ruled bar, the limit at two thirds of its length; what runs off the bar ends in a point. */
#define BAR_LENGTH 92.0
#define BAR_LIMIT  60.0

static void add_bar(const struct pellet_finding *f, struct pellet_text *out)
{
    const double share = fabs(f->value / f->limit);

    if (!isfinite(share) || f->outcome == PELLET_NOT_CHECKED)
        return; /* what was not judged is not held against its limit either */
    const double length = fmin(BAR_LENGTH, BAR_LIMIT * share);
    pellet_text_adds(out, "<svg class=\"bar\" viewBox=\"0 0 96 14\" aria-hidden=\"true\"><path class=\"r\" "
                          "d=\"M0 11.5H92M0 9v5\"/>");
    pellet_text_addf(out, "<path class=\"v\" d=\"M0 7H%.1f\"/>", length);
    if (share * BAR_LIMIT > BAR_LENGTH)
        pellet_text_adds(out, "<path class=\"v\" d=\"M90 4l5 3-5 3z\"/>");
    pellet_text_addf(out, "<path class=\"l\" d=\"M%.0f 1v13\"/></svg>", BAR_LIMIT);
}

/* "at 1068 cm-1", "2200 to 2000 cm-1", "". */
static struct report_number place_of(const struct pellet_finding *f)
{
    struct report_number place = {""};

    if (!isnan(f->at_cm1))
        snprintf(place.text, sizeof place.text, SAYS_AT, f->at_cm1);
    else if (!isnan(f->from_cm1) && !isnan(f->to_cm1))
        snprintf(place.text, sizeof place.text, SAYS_FROM_TO, fmax(f->from_cm1, f->to_cm1),
                 fmin(f->from_cm1, f->to_cm1));
    return place;
}

static void add_check(const struct pellet_finding *f, struct pellet_text *out)
{
    const char *const bound = f->at_least ? "\u2265 " : f->at_most ? "\u2264 " : "";
    const bool told = f->outcome != PELLET_PASS && f->says != NULL; /* the sentence also says where */

    pellet_text_adds(out, report_amiss(f->outcome) ? "<tr class=\"amiss\">" : "<tr>");
    report_html(out, "<th scope=\"row\">{}</th><td class=\"n\">{}{}</td><td class=\"bars\">", f->check->id,
                isnan(f->value) ? "" : bound, report_quantity(f->value, f->unit).text);
    add_bar(f, out);
    report_html(out, "</td><td class=\"n\">{}</td><td>{}", report_quantity(f->limit, f->unit).text,
                report_outcome_word(f->outcome));
    if (told)
        report_html(out, ": {}", f->says);
    else if (*place_of(f).text != '\0')
        report_html(out, " <span class=\"quiet\">{}</span>", place_of(f).text);
    pellet_text_adds(out, "</td></tr>\n");
}

void report_add_measured(const struct pellet_verdict *verdict, struct pellet_text *out)
{
    if (verdict->check_count == 0)
        return;
    report_html(
        out,
        "<div class=\"wide\"><table class=\"stack\"><caption>{}</caption><thead><tr><th scope=\"col\">{}</th>"
        "<th scope=\"col\" class=\"n\">{}</th><td class=\"bars\"></td><th scope=\"col\" "
        "class=\"n\">{}</th><th scope=\"col\">{}</th></tr></thead><tbody>\n",
        SAYS_MEASURED_CAPTION, SAYS_CHECK, SAYS_VALUE, SAYS_LIMIT, SAYS_FINDING);
    for (size_t i = 0; i < verdict->check_count; i++)
        add_check(&verdict->check[i], out);
    pellet_text_adds(out, "</tbody></table></div>\n");
}

/* ---------------------------------------------------------------- one measurement */

static void add_against(const struct pellet_verdict *v, const char *zone, struct pellet_text *out)
{
    for (size_t i = 0; i < v->against_count; i++) {
        const struct pellet_against *a = &v->against[i];
        report_html(out, "<li>{}: {}, {}", a->as, a->file, report_date(a->measured, zone).text);
        if (a->state != PELLET_BLANK_NONE)
            report_html(out, ", {}", pellet_blank_state_id(a->state));
        pellet_text_adds(out, "</li>\n");
    }
    for (size_t i = 0; i < v->skipped_count; i++)
        report_html(out, "<li>{}: {}, {}</li>\n", SAYS_PASSED_OVER, v->skipped[i].file, v->skipped[i].why);
}

static void add_reasons(const struct pellet_verdict *v, struct pellet_text *out)
{
    if (v->reason_count < 2)
        return; /* the summary has said it */
    pellet_text_adds(out, "<ol>\n");
    for (size_t i = 0; i < v->reason_count; i++)
        report_html(out, "<li>{} ({}): {}</li>\n", v->reason[i].check->bench_word,
                    report_outcome_word(v->reason[i].outcome), v->reason[i].says);
    pellet_text_adds(out, "</ol>\n");
}

static void add_factor(const char *label, double factor, double low, double high, struct pellet_text *out)
{
    if (isnan(factor) || factor == 1.0)
        return; /* nothing is to change */
    report_html(out, "<li>{} \u00d7 {}", label, report_quantity(factor, PELLET_UNIT_NONE).text);
    if (!isnan(low) && !isnan(high))
        report_html(out, " ({} \u2026 {})", report_quantity(low, PELLET_UNIT_NONE).text,
                    report_quantity(high, PELLET_UNIT_NONE).text);
    pellet_text_adds(out, "</li>\n");
}

/* Warnings, what it was measured against, the advice as numbers and a person's decision. */
static void add_notes(const struct pellet_report_item *item, const char *zone, struct pellet_text *out)
{
    const struct pellet_verdict *v = item->verdict;
    const struct pellet_worksheet_row *row = item->row;

    pellet_text_adds(out, "<ul class=\"small\">\n");
    if (item->gone)
        report_html(out, "<li><strong>{}</strong></li>\n", SAYS_GONE);
    for (size_t i = 0; i < v->warning_count; i++)
        report_html(out, "<li>{}: {}</li>\n", SAYS_WARNING, v->warning[i]);
    add_factor(SAYS_SAMPLE_FACTOR, v->advice.sample_factor, v->advice.sample_factor_low,
               v->advice.sample_factor_high, out);
    add_factor(SAYS_POWDER_FACTOR, v->advice.powder_factor, NAN, NAN, out);
    add_against(v, zone, out);
    for (size_t i = 0; i < v->previous_count; i++)
        report_html(out, "<li>{}, {}: {} ({})</li>\n", SAYS_PREVIOUS,
                    report_date(v->previous[i].judged, zone).text, v->previous[i].summary,
                    report_outcome_word(v->previous[i].verdict));
    if (row != NULL && row->operator_name != NULL)
        report_html(out, "<li>{}: {}</li>\n", SAYS_OPERATOR, row->operator_name);
    if (row != NULL && row->decision != NULL)
        report_html(out, "<li><strong>{}: {}</strong>, {} ({})</li>\n", SAYS_DECISION, row->decision,
                    row->decided_by, row->decision_reason);
    pellet_text_adds(out, "</ul>\n");
}

static void add_picture(const struct pellet_report_item *item, struct pellet_text *out)
{
    if (item->svg == NULL)
        return;
    pellet_text_adds(out, "<div class=\"wide\"><img alt=\"");
    report_html(out, SAYS_PICTURE_ALT, item->verdict->file, item->verdict->summary);
    pellet_text_adds(out,
                     "\" loading=\"lazy\" width=\"800\" height=\"360\" src=\"data:image/svg+xml;base64,");
    pellet_base64(item->svg, strlen(item->svg), out);
    pellet_text_adds(out, "\"></div>\n");
}

static void add_attempt(const struct report_record *record, const struct report_sample *sample, size_t i,
                        struct pellet_text *out)
{
    const struct pellet_report_item *item = record->session.item[sample->first + i];
    const struct pellet_verdict *v = item->verdict;
    const char *const zone = record->report->zone;

    pellet_text_adds(out, "<h4>");
    if (v->pellet > 0)
        pellet_text_addf(out, SAYS_PELLET_NUMBER ", ", v->pellet);
    report_html(out, "{}: ", report_clock(v->measured, zone).text);
    report_add_verdict(out, v->outcome);
    if (report_superseded(&record->session, sample, i))
        report_html(out, " <span class=\"quiet\">({})</span>", SAYS_SUPERSEDED);
    report_html(out, "</h4>\n<p>{}</p>\n", v->summary);
    if (v->instruction != NULL && *v->instruction != '\0')
        report_html(out, "<p class=\"do\">{}</p>\n", v->instruction);
    add_reasons(v, out);
    add_notes(item, zone, out);
    add_picture(item, out);
    report_add_measured(v, out);
}

void report_add_samples(const struct report_record *record, struct pellet_text *out)
{
    report_html(out, "<h2>{}</h2>\n", SAYS_SAMPLES);
    for (size_t k = 0; k < record->session.sample_count; k++) {
        const struct report_sample *sample = &record->session.sample[k];
        pellet_text_addf(out, "<section class=\"attempts\" id=\"s%zu\">\n", k + 1);
        report_html(out, "<h3>{}</h3>\n", sample->name);
        for (size_t i = 0; i < sample->count; i++)
            add_attempt(record, sample, i, out);
        pellet_text_adds(out, "</section>\n");
    }
}
