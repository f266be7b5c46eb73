// SPDX-License-Identifier: GPL-3.0-or-later
/* Each sample with its attempts in order: the verdict, why, what to do, and every number beside its limit. */
#include "pellet/wording_pages.h"
#include "report/markup.h"
#include "report/record.h"

#include <math.h>
#include <string.h>

/* ---------------------------------------------------------------- one measurement */

/* What a verdict rests on, in the words of people. The blanks of earlier samples stand in the
 * verdict only. */
static const struct {
    const char *as, *says;
} kinds[] = {
    {"blank", SAYS_BLANK},         {"reported", SAYS_REPORTED},
    {"open_beam", SAYS_OPEN_BEAM}, {"first_blank", SAYS_FIRST_BLANK},
    {"attempt", SAYS_ATTEMPT},     {"earlier", SAYS_EARLIER},
};

/* All files of one kind, in one list item. */
static void add_kind(const struct pellet_verdict *v, size_t kind, const char *zone, struct pellet_text *out)
{
    bool begun = false;

    for (size_t i = 0; i < v->against_count; i++) {
        const struct pellet_against *a = &v->against[i];
        if (strcmp(a->as, kinds[kind].as) != 0)
            continue;
        report_html(out, begun ? "; {}{}, {}" : "<li>{}: {}, {}", begun ? "" : kinds[kind].says, a->file,
                    report_clock(a->measured, zone).text);
        if (a->state != PELLET_BLANK_NONE)
            report_html(out, ", {}", pellet_blank_state_id(a->state));
        begun = true;
    }
    if (begun)
        pellet_text_adds(out, "</li>");
}

static void add_against(const struct pellet_verdict *v, const char *zone, struct pellet_text *out)
{
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++)
        add_kind(v, i, zone, out);
    for (size_t i = 0; i < v->skipped_count; i++)
        report_html(out, "<li>{}: {}, {}</li>", SAYS_PASSED_OVER, v->skipped[i].file, v->skipped[i].why);
}

static void add_reasons(const struct pellet_verdict *v, struct pellet_text *out)
{
    if (v->reason_count < 2)
        return; /* the summary has said it */
    pellet_text_adds(out, "<ol>");
    for (size_t i = 0; i < v->reason_count; i++)
        report_html(out, "<li>{} ({}): {}</li>", report_bench_word(v->reason[i].check),
                    report_outcome_word(v->reason[i].outcome), v->reason[i].says);
    pellet_text_adds(out, "</ol>\n");
}

static void add_factor(const char *label, double factor, double low, double high, struct pellet_text *out)
{
    if (isnan(factor) || factor == 1.0)
        return; /* nothing is to change */
    report_html(out, "<li>{} &times; {}", label, report_rough(factor).text);
    if (!isnan(low) && !isnan(high))
        report_html(out, " ({} &hellip; {})", report_rough(low).text, report_rough(high).text);
    pellet_text_adds(out, "</li>");
}

/* A fact that the checks rest on, with its unit; nothing where it is not known. */
static void add_fact(const char *name, double value, double low, double high, enum pellet_unit unit,
                     struct pellet_text *out)
{
    if (isnan(value))
        return;
    report_html(out, "<li>{}: {} {}", name, report_rough(value).text, pellet_unit_name(unit));
    if (!isnan(low) && !isnan(high))
        report_html(out, " ({} &hellip; {})", report_rough(low).text, report_rough(high).text);
    pellet_text_adds(out, "</li>");
}

/* Derived files lie beside the record, in folders of their own. */
static void add_ratioed(const struct pellet_verdict *v, struct pellet_text *out)
{
    static const char reports[] = "reports/", ratioed[] = "reports/ratioed/";

    for (size_t i = 0; i < v->output_count; i++) {
        if (strncmp(v->output[i], ratioed, strlen(ratioed)) != 0)
            continue;
        const char *const file = v->output[i] + strlen(reports);
        report_html(out, "<li>{}: <a href=\"./", SAYS_RATIOED);
        pellet_text_add_uri(out, file, strlen(file));
        report_html(out, "\">{}</a></li>", SAYS_RATIOED_FORM);
    }
}

static void add_previous(const struct pellet_verdict *v, const char *zone, struct pellet_text *out)
{
    for (size_t i = 0; i < v->previous_count; i++)
        report_html(out, "<li>{}, {}: {} ({})</li>", SAYS_PREVIOUS,
                    report_date(v->previous[i].judged, zone).text, v->previous[i].summary,
                    report_outcome_word(v->previous[i].verdict));
}

static void add_worksheet(const struct pellet_worksheet_row *row, struct pellet_text *out)
{
    if (row != NULL && row->operator_name != NULL)
        report_html(out, "<li>{}: {}</li>", SAYS_OPERATOR, row->operator_name);
    if (row != NULL && row->decision != NULL)
        report_html(out, "<li><strong>{}: {}</strong>, {} ({})</li>", SAYS_DECISION, row->decision,
                    row->decided_by, row->decision_reason);
}

/* A person's decision, what came later, warnings, the advice as numbers and what it was measured against. */
static void add_notes(const struct report_record *record, const struct pellet_report_item *item,
                      struct pellet_text *out)
{
    const struct pellet_verdict *v = item->verdict;
    const char *const zone = record->report->zone;

    pellet_text_adds(out, "<ul class=\"small\">");
    add_worksheet(item->row, out);
    report_add_remarks(&record->session, item, out);
    for (size_t i = 0; i < v->warning_count; i++)
        report_html(out, "<li>{}: {}</li>", SAYS_WARNING, v->warning[i]);
    add_factor(SAYS_SAMPLE_FACTOR, v->advice.sample_factor, v->advice.sample_factor_low,
               v->advice.sample_factor_high, out);
    add_factor(SAYS_POWDER_FACTOR, v->advice.powder_factor, NAN, NAN, out);
    if (v->found.true_absorbance_low < v->found.true_absorbance_high)
        add_fact(SAYS_TRUE_ABSORBANCE, v->found.true_absorbance, v->found.true_absorbance_low,
                 v->found.true_absorbance_high, PELLET_UNIT_ABSORBANCE, out);
    add_fact(SAYS_THICKNESS, v->found.thickness_mm, NAN, NAN, PELLET_UNIT_MM, out);
    add_fact(SAYS_PRESSURE, v->found.pressure_mpa, NAN, NAN, PELLET_UNIT_MPA, out);
    add_against(v, zone, out);
    add_previous(v, zone, out);
    add_ratioed(v, out);
    pellet_text_adds(out, "</ul>\n");
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
    report_html(out, "</h4><p>{}</p>", v->summary);
    if (v->instruction != NULL && *v->instruction != '\0')
        report_html(out, "<p class=\"do\">{}</p>", v->instruction);
    add_reasons(v, out);
    add_notes(record, item, out);
    report_add_picture(record, item, out);
    report_add_measured(v, out);
}

void report_add_samples(const struct report_record *record, struct pellet_text *out)
{
    report_html(out, "<h2>{}</h2>\n<p class=\"quiet\" id=\"hint\" data-says=\"{}\"></p>", SAYS_SAMPLES,
                SAYS_ZOOM_HINT);
    for (size_t k = 0; k < record->session.sample_count; k++) {
        const struct report_sample *sample = &record->session.sample[k];
        pellet_text_addf(out, "<section class=\"attempts\" id=\"s%zu\">\n", k + 1);
        report_html(out, "<h3>{}</h3>\n", sample->name);
        for (size_t i = 0; i < sample->count; i++)
            add_attempt(record, sample, i, out);
        pellet_text_adds(out, "</section>\n");
    }
}
