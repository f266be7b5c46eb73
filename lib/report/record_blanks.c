// SPDX-License-Identifier: GPL-3.0-or-later
/* The blanks, open beams and films of a session, and how the blanks drifted. */
#include "pellet/wording_pages.h"
#include "report/markup.h"
#include "report/record.h"

#include <math.h>

/* ---------------------------------------------------------------- drift */

#define DRIFT_WIDTH  700.0
#define DRIFT_HEIGHT 70.0
#define DRIFT_LEFT   40.0
/* Labels nearer than this would run into each other; every value also stands in the tables below. */
#define DRIFT_LABEL 56.0

/* One quantity of the blanks over time. */
struct drift {
    const char *name;
    enum pellet_unit unit;
    double (*value)(const struct pellet_verdict *verdict);
};

static double water_of(const struct pellet_verdict *verdict)
{
    return verdict->found.water_excess_ug_cm2;
}

static double percent_of(const struct pellet_verdict *verdict)
{
    return 100.0 * verdict->found.transmittance_2000;
}

static double noise_of(const struct pellet_verdict *verdict)
{
    return verdict->found.noise;
}

static const struct drift drifts[] = {
    {SAYS_WATER, PELLET_UNIT_UG_CM2, water_of},
    {SAYS_CLARITY, PELLET_UNIT_PERCENT, percent_of},
    {SAYS_NOISE, PELLET_UNIT_ABSORBANCE, noise_of},
};

struct extent {
    size_t count;
    double low, high;
    pellet_ns first, last;
};

static bool drawable(const struct pellet_verdict *v, const struct drift *drift)
{
    return v->role == PELLET_BLANK && v->measured != PELLET_NO_TIME && isfinite(drift->value(v));
}

static struct extent extent_of(const struct report_session *session, const struct drift *drift)
{
    struct extent e = {.low = INFINITY, .high = -INFINITY};

    for (size_t i = 0; i < session->reference_count; i++) {
        const struct pellet_verdict *v = session->reference[i]->verdict;
        if (!drawable(v, drift))
            continue;
        if (e.count++ == 0)
            e.first = v->measured;
        e.last = v->measured;
        e.low = fmin(e.low, drift->value(v));
        e.high = fmax(e.high, drift->value(v));
    }
    return e;
}

static double drift_x(const struct extent *e, pellet_ns time)
{
    return DRIFT_LEFT + (DRIFT_WIDTH - 2.0 * DRIFT_LEFT) * (double)(time - e->first) /
                            fmax(1.0, (double)(e->last - e->first));
}

static double drift_y(const struct extent *e, double value)
{
    return 24.0 + (DRIFT_HEIGHT - 34.0) * (e->high > e->low ? (e->high - value) / (e->high - e->low) : 0.5);
}

static void add_points(const struct report_session *session, const struct drift *drift,
                       const struct extent *e, const char *zone, struct pellet_text *out)
{
    double labelled = -INFINITY;

    for (size_t i = 0; i < session->reference_count; i++) {
        const struct pellet_verdict *v = session->reference[i]->verdict;
        if (!drawable(v, drift))
            continue;
        const double x = drift_x(e, v->measured), y = drift_y(e, drift->value(v));
        pellet_text_addf(out, "<circle class=\"%s\" cx=\"%.1f\" cy=\"%.1f\" r=\"4\"/>",
                         v->outcome == PELLET_PASS ? "p" : "o", x, y);
        if (x - labelled < DRIFT_LABEL)
            continue;
        labelled = x;
        pellet_text_addf(out, "<text x=\"%.1f\" y=\"%.1f\" text-anchor=\"middle\">", x, y - 8.0);
        report_html(out, "{}</text><text class=\"q\" x=\"", report_rough(drift->value(v)).text);
        pellet_text_addf(out, "%.1f\" y=\"%.1f\" text-anchor=\"middle\">", x, DRIFT_HEIGHT + 18.0);
        report_html(out, "{}</text>\n", report_clock(v->measured, zone).text);
    }
}

static void add_drift(const struct report_record *record, const struct drift *drift, struct pellet_text *out)
{
    const struct report_session *session = &record->session;
    const struct extent e = extent_of(session, drift);

    if (e.count < 2)
        return;
    report_html(out, "<h3>{} <span class=\"quiet\">/ {}</span></h3>\n", drift->name,
                pellet_unit_name(drift->unit));
    pellet_text_addf(
        out, "<div class=\"wide\"><svg class=\"drift\" viewBox=\"0 0 %.0f %.0f\" role=\"img\" aria-label=\"",
        DRIFT_WIDTH, DRIFT_HEIGHT + 24.0);
    report_html(out, SAYS_DRIFT_ALT, drift->name, report_quantity(e.low, drift->unit).text,
                report_quantity(e.high, drift->unit).text);
    pellet_text_addf(out, "\"><path class=\"a\" d=\"M0 %.0fH%.0f\"/><path class=\"c\" d=\"", DRIFT_HEIGHT,
                     DRIFT_WIDTH);
    bool down = false;
    for (size_t i = 0; i < session->reference_count; i++) {
        const struct pellet_verdict *v = session->reference[i]->verdict;
        if (!drawable(v, drift))
            continue;
        pellet_text_addf(out, "%c%.1f %.1f", down ? 'L' : 'M', drift_x(&e, v->measured),
                         drift_y(&e, drift->value(v)));
        down = true;
    }
    pellet_text_adds(out, "\"/>\n");
    add_points(session, drift, &e, record->report->zone, out);
    pellet_text_adds(out, "</svg></div>\n");
}

/* ---------------------------------------------------------------- the section */

static void add_reference(const struct report_record *record, const struct pellet_report_item *item,
                          struct pellet_text *out)
{
    const struct pellet_verdict *v = item->verdict;
    const char *const zone = record->report->zone;

    report_html(out, "<section class=\"attempts\"><h3>{}</h3>\n<p>{}, {}: ", v->file,
                report_role_word(v->role), report_date(v->measured, zone).text);
    report_add_verdict(out, v->outcome);
    if (v->state != PELLET_BLANK_NONE)
        report_html(out, " ({})", pellet_blank_state_id(v->state));
    report_html(out, "</p>\n<p>{}</p>\n", v->summary);
    if (v->instruction != NULL && *v->instruction != '\0')
        report_html(out, "<p class=\"do\">{}</p>\n", v->instruction);
    pellet_text_adds(out, "<ul class=\"small\">\n");
    report_add_remarks(&record->session, item, out);
    for (size_t i = 0; i < v->warning_count; i++)
        report_html(out, "<li>{}: {}</li>\n", SAYS_WARNING, v->warning[i]);
    pellet_text_adds(out, "</ul>\n");
    report_add_picture(record, item, out);
    report_add_measured(v, out);
    pellet_text_adds(out, "</section>\n");
}

void report_add_blanks(const struct report_record *record, struct pellet_text *out)
{
    const struct report_session *session = &record->session;

    report_html(out, "<h2>{}</h2>\n", SAYS_BLANKS);
    if (session->reference_count == 0)
        report_html(out, "<p>{}</p>\n", SAYS_NO_BLANKS);
    else
        report_html(out, "<p class=\"quiet\">{}</p>\n", SAYS_DRIFT_KEY);
    for (size_t i = 0; i < sizeof drifts / sizeof drifts[0]; i++)
        add_drift(record, &drifts[i], out);
    for (size_t i = 0; i < session->reference_count; i++)
        add_reference(record, session->reference[i], out);
}
