// SPDX-License-Identifier: GPL-3.0-or-later
/* What the session was judged by: rule set, settings, worksheet; and what exactly was judged: the files. */
#include "pellet/wording_pages.h"
#include "report/markup.h"
#include "report/record.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---------------------------------------------------------------- the rule set */

static void add_parameter(const struct pellet_parameter *parameter, const struct pellet_limit *limit,
                          struct pellet_text *out)
{
    if (isnan(limit->low) && isnan(limit->high))
        return;
    report_html(out, "<div>{}: ", parameter->key);
    if (parameter->kind == PELLET_PARAMETER_RANGE)
        report_html(out, "{} \u2026 ", report_quantity(limit->low, PELLET_UNIT_NONE).text);
    report_html(out, "{}</div>", report_quantity(limit->high, parameter->unit).text);
}

static void add_rule(const struct pellet_check *check, const struct pellet_rule *rule,
                     struct pellet_text *out)
{
    report_html(out, "<tr><th scope=\"row\">{}<div class=\"quiet\">{}</div></th><td>", check->id,
                check->bench_word);
    for (size_t i = 0; i < PELLET_PARAMETERS_MAX && check->parameter[i].key != NULL; i++)
        add_parameter(&check->parameter[i], &rule->parameter[i], out);
    report_html(out, "</td><td>{}{}</td><td>{}<div class=\"quiet\">{}</div></td></tr>\n",
                rule->on ? report_outcome_word(rule->outcome) : SAYS_OFF,
                rule->required ? ", " SAYS_REQUIRED : "", check->meaning, rule->source);
}

static void add_window(const struct pellet_window_rule *window, struct pellet_text *out)
{
    report_html(out, "<tr><th scope=\"row\">{}</th><td><div>{} \u2026 {}</div>", window->name,
                report_quantity(window->low_cm1, PELLET_UNIT_NONE).text,
                report_quantity(window->high_cm1, PELLET_UNIT_WAVENUMBER).text);
    if (!isnan(window->highest))
        report_html(out, "<div>{} {}</div>", SAYS_AT_MOST,
                    report_quantity(window->highest, PELLET_UNIT_ABSORBANCE).text);
    if (!isnan(window->lowest))
        report_html(out, "<div>{} {}</div>", SAYS_AT_LEAST,
                    report_quantity(window->lowest, PELLET_UNIT_ABSORBANCE).text);
    report_html(out, "</td><td>{}</td><td>{}</td></tr>\n", report_outcome_word(window->outcome),
                window->source);
}

static void add_general(const char *key, double value, enum pellet_unit unit, struct pellet_text *out)
{
    report_html(out, "<dt>{}</dt><dd>{}</dd>\n", key, report_quantity(value, unit).text);
}

/* What a rule set says besides its checks, by its own keys. */
static void add_generals(const struct pellet_rules *rules, struct pellet_text *out)
{
    pellet_text_adds(out, "<dl class=\"facts keys\">\n");
    add_general("session.gap", rules->session_gap_h, PELLET_UNIT_HOUR, out);
    add_general("blank.max_age", rules->blank_max_age_min, PELLET_UNIT_MINUTE, out);
    add_general("blank.look_ahead", rules->blank_look_ahead_min, PELLET_UNIT_MINUTE, out);
    report_html(out, "<dt>blank.accept</dt><dd>{}</dd>\n", rules->blank_accept_any ? "any" : "pass");
    add_general("open_beam.max_age", rules->open_beam_max_age_h, PELLET_UNIT_HOUR, out);
    add_general("advice.target", rules->target_absorbance, PELLET_UNIT_ABSORBANCE, out);
    report_html(out, "<dt>advice.thickness</dt><dd>{} \u2026 {}</dd>\n",
                report_quantity(rules->target_thickness_mm.low, PELLET_UNIT_NONE).text,
                report_quantity(rules->target_thickness_mm.high, PELLET_UNIT_MM).text);
    add_general("advice.balance_min", rules->balance_min_mg, PELLET_UNIT_MG, out);
    add_general("advice.pressure_max", rules->pressure_max_mpa, PELLET_UNIT_MPA, out);
    pellet_text_adds(out, "</dl>\n");
}

static void add_rule_table(const struct pellet_rules *rules, struct pellet_text *out)
{
    report_html(out, "<p>{}: {}</p><p class=\"hash\">sha256 {}</p>\n", rules->name, rules->title,
                rules->sha256);
    add_generals(rules, out);
    report_html(
        out,
        "<div class=\"wide\"><table class=\"stack rules\"><thead><tr><th scope=\"col\">{}</th><th "
        "scope=\"col\">{}</th><th scope=\"col\">{}</th><th scope=\"col\">{}</th></tr></thead><tbody>\n",
        SAYS_CHECK, SAYS_LIMITS, SAYS_BEYOND, SAYS_SOURCE);
    for (size_t i = 0; i < rules->rule_count && i < pellet_check_count(); i++)
        add_rule(pellet_check_at(i), &rules->rule[i], out);
    for (size_t i = 0; i < rules->window_count; i++)
        add_window(&rules->window[i], out);
    pellet_text_adds(out, "</tbody></table></div>\n");
}

/* Verdicts may stem from more than one rule set or program version, where one was changed on the way. */
static void add_versions(const struct pellet_report *report, struct pellet_text *out)
{
    pellet_text_adds(out, "<ul class=\"small\">\n");
    for (size_t i = 0; i < report->item_count; i++) {
        const struct pellet_verdict *v = report->item[i].verdict;
        bool seen = false;
        for (size_t k = 0; k < i && !seen; k++) {
            const struct pellet_verdict *o = report->item[k].verdict;
            seen = strcmp(o->rules_sha256, v->rules_sha256) == 0 &&
                   strcmp(o->settings_sha256, v->settings_sha256) == 0 && strcmp(o->by, v->by) == 0;
        }
        if (!seen)
            report_html(
                out,
                "<li>{}: {}; {} <span class=\"hash\">{}</span>; {} <span class=\"hash\">{}</span></li>\n",
                SAYS_JUDGED_BY, v->by, v->rules_name, v->rules_sha256, SAYS_SETTINGS_HASH,
                v->settings_sha256);
    }
    pellet_text_adds(out, "</ul>\n");
}

static void add_settings(const struct pellet_report *report, struct pellet_text *out)
{
    bool stated = false;

    report_html(out, "<h3>{}</h3>\n<dl class=\"facts\">\n", SAYS_SETTINGS);
    for (int i = 0; i < PELLET_SETTING_COUNT; i++) {
        if (report->setting[i] == NULL)
            continue;
        report_html(out, "<dt>{}</dt><dd>{}</dd>\n", pellet_setting_id((enum pellet_setting)i),
                    report->setting[i]);
        stated = true;
    }
    if (!stated)
        report_html(out, "<dt>{}</dt><dd>\u2013</dd>\n", SAYS_NO_SETTINGS);
    pellet_text_adds(out, "</dl>\n");
}

void report_add_rules(const struct report_record *record, struct pellet_text *out)
{
    const struct pellet_report *report = record->report;

    report_html(out, "<h2>{}</h2>\n", SAYS_RULES);
    add_versions(report, out);
    if (report->rules != NULL)
        add_rule_table(report->rules, out);
    else
        report_html(out, "<p>{}</p>\n", SAYS_NO_RULES);
    add_settings(report, out);
}

/* ---------------------------------------------------------------- worksheet and files */

static void add_worksheet_row(const struct pellet_verdict *v, const struct pellet_worksheet_row *row,
                              struct pellet_text *out)
{
    const struct {
        double value;
        enum pellet_unit unit;
    } cell[] = {
        {row->sample_mg, PELLET_UNIT_MG}, {row->kbr_mg, PELLET_UNIT_MG},    {row->pressed_mg, PELLET_UNIT_MG},
        {row->die_mm, PELLET_UNIT_MM},    {row->load_t, PELLET_UNIT_TONNE},
    };

    report_html(out, "<tr><th scope=\"row\" class=\"name\">{}</th>", v->file);
    for (size_t i = 0; i < sizeof cell / sizeof cell[0]; i++)
        report_html(out, "<td class=\"n\">{}</td>", report_quantity(cell[i].value, cell[i].unit).text);
    report_html(out, "<td>{}</td></tr>\n", row->kbr_lot);
}

static void add_worksheet(const struct report_session *session, struct pellet_text *out)
{
    bool begun = false;

    for (size_t i = 0; i < session->item_count; i++) {
        if (session->item[i]->row == NULL)
            continue;
        if (!begun)
            report_html(
                out,
                "<div class=\"wide\"><table><caption>{}</caption><thead><tr><th scope=\"col\">{}</th><th "
                "scope=\"col\" class=\"n\">{}</th><th scope=\"col\" class=\"n\">{}</th><th scope=\"col\" "
                "class=\"n\">{}</th><th scope=\"col\" class=\"n\">{}</th><th scope=\"col\" "
                "class=\"n\">{}</th><th scope=\"col\">{}</th></tr></thead><tbody>\n",
                SAYS_WORKSHEET, SAYS_FILE, SAYS_SAMPLE, SAYS_KBR, SAYS_PRESSED, SAYS_DIE, SAYS_LOAD,
                SAYS_LOT);
        begun = true;
        add_worksheet_row(session->item[i]->verdict, session->item[i]->row, out);
    }
    if (begun)
        pellet_text_adds(out, "</tbody></table></div>\n");
}

static void add_file(const struct pellet_report_item *item, const char *zone, struct pellet_text *out)
{
    const struct pellet_verdict *v = item->verdict;
    const bool stated = v->measured_from == PELLET_TIME_FROM_FILE;

    report_html(out,
                "<tr><th scope=\"row\" class=\"name\">{}</th><td>{}</td><td class=\"time\">{}<div "
                "class=\"quiet\">{}</div></td>",
                v->file, report_role_word(v->role), report_date(v->measured, zone).text,
                stated ? SAYS_TIME_FILE : SAYS_TIME_EXPORT);
    pellet_text_addf(out, "<td class=\"n\">%llu</td>", (unsigned long long)v->bytes);
    report_html(out, "<td class=\"hash name\">{}</td></tr>\n", v->sha256);
}

void report_add_files(const struct report_record *record, struct pellet_text *out)
{
    const struct report_session *session = &record->session;
    const char *const zone = record->report->zone;

    report_html(out, "<h2>{}</h2>\n", SAYS_FILES);
    add_worksheet(session, out);
    report_html(out,
                "<div class=\"long\"><table class=\"stack\"><caption>{}</caption><thead><tr><th "
                "scope=\"col\">{}</th><th "
                "scope=\"col\">{}</th><th scope=\"col\">{}</th><th scope=\"col\" class=\"n\">{}</th><th "
                "scope=\"col\">SHA-256</th></tr></thead><tbody>\n",
                SAYS_FILES_CAPTION, SAYS_FILE, SAYS_ROLE, SAYS_MEASURED, SAYS_BYTES);
    for (size_t i = 0; i < session->reference_count; i++)
        add_file(session->reference[i], zone, out);
    for (size_t i = 0; i < session->item_count; i++)
        add_file(session->item[i], zone, out);
    pellet_text_adds(out, "</tbody></table></div>\n");
}
