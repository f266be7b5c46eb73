// SPDX-License-Identifier: GPL-3.0-or-later
/* The record as a table for spreadsheets and scripts: RFC 4180, a row for each check of each spectrum. */
#include "report/session.h"

#include <math.h>
#include <string.h>

/* Everything that a row is made of. */
struct row {
    const struct pellet_report *report;
    const struct pellet_report_item *item;
    const struct pellet_finding *finding; /* NULL where the verdict has neither check nor reason */
};

static void add_string(struct pellet_text *out, const char *string)
{
    if (string != NULL && *string != '\0')
        pellet_text_add_csv(out, string, strlen(string));
}

/* A number is ours and never a formula: it stands bare, so that a minus stays a minus. */
static void add_number(struct pellet_text *out, double value)
{
    char number[32];

    if (!isfinite(value))
        return;
    pellet_number_round(value, 6, number);
    pellet_text_adds(out, number);
}

static void add_time(struct pellet_text *out, pellet_ns time)
{
    char text[32];

    pellet_time_format(time, text);
    pellet_text_adds(out, text);
}

#define CELL(name) static void cell_##name(const struct row *r, struct pellet_text *out)
/* Cells of the verdict, of the finding and of the worksheet: nothing where that is not there. */
#define VERDICT_CELL(name, how, what)                                                                        \
    CELL(name)                                                                                               \
    {                                                                                                        \
        how(out, r->item->verdict->what);                                                                    \
    }
#define FINDING_CELL(name, how, what)                                                                        \
    CELL(name)                                                                                               \
    {                                                                                                        \
        if (r->finding != NULL)                                                                              \
            how(out, r->finding->what);                                                                      \
    }
#define WORKSHEET_CELL(name, how, what)                                                                      \
    CELL(name)                                                                                               \
    {                                                                                                        \
        if (r->item->row != NULL)                                                                            \
            how(out, r->item->row->what);                                                                    \
    }

VERDICT_CELL(file, add_string, file)
VERDICT_CELL(sample, add_string, sample)
VERDICT_CELL(measured, add_time, measured)
VERDICT_CELL(summary, add_string, summary)
VERDICT_CELL(instruction, add_string, instruction)
VERDICT_CELL(sha256, add_string, sha256)
VERDICT_CELL(rules, add_string, rules_name)
VERDICT_CELL(rules_sha256, add_string, rules_sha256)
VERDICT_CELL(by, add_string, by)
FINDING_CELL(check, add_string, check->id)
FINDING_CELL(quantity, add_string, check->quantity)
FINDING_CELL(value, add_number, value)
FINDING_CELL(limit, add_number, limit)
FINDING_CELL(at, add_number, at_cm1)
FINDING_CELL(from, add_number, from_cm1)
FINDING_CELL(to, add_number, to_cm1)
FINDING_CELL(basis, add_string, basis)
FINDING_CELL(says, add_string, says)
WORKSHEET_CELL(operator, add_string, operator_name)
WORKSHEET_CELL(sample_mg, add_number, sample_mg)
WORKSHEET_CELL(kbr_mg, add_number, kbr_mg)
WORKSHEET_CELL(pressed_mg, add_number, pressed_mg)
WORKSHEET_CELL(die_mm, add_number, die_mm)
WORKSHEET_CELL(load_t, add_number, load_t)
WORKSHEET_CELL(kbr_lot, add_string, kbr_lot)
WORKSHEET_CELL(decision, add_string, decision)
WORKSHEET_CELL(decided_by, add_string, decided_by)
WORKSHEET_CELL(decision_reason, add_string, decision_reason)

CELL(station)
{
    add_string(out, r->report->station);
}

CELL(session)
{
    add_string(out, r->report->session);
}

CELL(remark)
{
    add_string(out, r->item->gone ? "gone" : NULL);
}

CELL(role)
{
    add_string(out, pellet_role_id(r->item->verdict->role));
}

CELL(measured_from)
{
    add_string(out, pellet_time_from_id(r->item->verdict->measured_from));
}

CELL(verdict)
{
    add_string(out, pellet_outcome_id(r->item->verdict->outcome));
}

CELL(pellet)
{
    if (r->item->verdict->pellet > 0)
        add_number(out, r->item->verdict->pellet);
}

CELL(outcome)
{
    if (r->finding != NULL)
        add_string(out, pellet_outcome_id(r->finding->outcome));
}

CELL(unit)
{
    if (r->finding != NULL && !isnan(r->finding->value))
        add_string(out, pellet_unit_name(r->finding->unit));
}

/* "at least", "at most": what is only bounded must not be read as measured. */
CELL(bound)
{
    if (r->finding != NULL)
        add_string(out, r->finding->at_least ? "at_least" : r->finding->at_most ? "at_most" : NULL);
}

static const struct {
    const char *name;
    void (*add)(const struct row *row, struct pellet_text *out);
} columns[] = {
    {"station", cell_station},
    {"session", cell_session},
    {"file", cell_file},
    {"role", cell_role},
    {"sample", cell_sample},
    {"pellet", cell_pellet},
    {"measured", cell_measured},
    {"measured_from", cell_measured_from},
    {"verdict", cell_verdict},
    {"summary", cell_summary},
    {"do", cell_instruction},
    {"check", cell_check},
    {"outcome", cell_outcome},
    {"quantity", cell_quantity},
    {"bound", cell_bound},
    {"value", cell_value},
    {"limit", cell_limit},
    {"unit", cell_unit},
    {"at_cm1", cell_at},
    {"from_cm1", cell_from},
    {"to_cm1", cell_to},
    {"basis", cell_basis},
    {"says", cell_says},
    {"operator", cell_operator},
    {"sample_mg", cell_sample_mg},
    {"kbr_mg", cell_kbr_mg},
    {"pressed_mg", cell_pressed_mg},
    {"die_mm", cell_die_mm},
    {"load_t", cell_load_t},
    {"kbr_lot", cell_kbr_lot},
    {"decision", cell_decision},
    {"decided_by", cell_decided_by},
    {"decision_reason", cell_decision_reason},
    {"remark", cell_remark},
    {"sha256", cell_sha256},
    {"rules", cell_rules},
    {"rules_sha256", cell_rules_sha256},
    {"by", cell_by},
};

#define COLUMN_COUNT (sizeof columns / sizeof columns[0])

static void add_row(const struct row *row, struct pellet_text *out)
{
    for (size_t i = 0; i < COLUMN_COUNT; i++) {
        if (i > 0)
            pellet_text_addc(out, ',');
        columns[i].add(row, out);
    }
    pellet_text_adds(out, "\r\n");
}

/* A verdict without checks, as of a file that could not be read, has its reasons. */
static void add_item(const struct pellet_report *report, const struct pellet_report_item *item,
                     struct pellet_text *out)
{
    const struct pellet_verdict *v = item->verdict;
    const struct pellet_finding *finding = v->check_count > 0 ? v->check : v->reason;
    const size_t n = v->check_count > 0 ? v->check_count : v->reason_count;

    for (size_t i = 0; i < n; i++)
        add_row(&(struct row){report, item, &finding[i]}, out);
    if (n == 0)
        add_row(&(struct row){report, item, NULL}, out);
}

pellet_status pellet_report_table(const struct pellet_report *report, struct pellet_text *csv)
{
    struct report_session session;

    if (report_session_make(report, &session) != PELLET_OK)
        return PELLET_E_MEMORY;
    for (size_t i = 0; i < COLUMN_COUNT; i++)
        pellet_text_addf(csv, "%s%s", i > 0 ? "," : "", columns[i].name);
    pellet_text_adds(csv, "\r\n");
    for (size_t i = 0; i < session.reference_count; i++)
        add_item(report, session.reference[i], csv);
    for (size_t i = 0; i < session.item_count; i++)
        add_item(report, session.item[i], csv);
    report_session_clear(&session);
    return pellet_text_status(csv);
}
