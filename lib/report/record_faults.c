// SPDX-License-Identifier: GPL-3.0-or-later
/* What went wrong how often, and with whom: for teaching, never for blame. */
#include "pellet/wording_pages.h"
#include "report/markup.h"
#include "report/record.h"

#include <string.h>

static void add_head(struct pellet_text *out, const char *title, const char *const *column, size_t n)
{
    report_html(out, "<div class=\"wide\"><table><caption>{}</caption><thead><tr>", title);
    for (size_t i = 0; i < n; i++)
        report_html(out, i == 0 ? "<th scope=\"col\">{}</th>" : "<th scope=\"col\" class=\"n\">{}</th>",
                    column[i]);
    pellet_text_adds(out, "</tr></thead><tbody>\n");
}

static void add_counts(const struct report_figures *figures, struct pellet_text *out)
{
    static const char *const column[] = {SAYS_FAULT, SAYS_REMAKE, SAYS_RESCAN, SAYS_WAIT};

    add_head(out, SAYS_FAULTS_CAPTION, column, sizeof column / sizeof column[0]);
    for (size_t i = 0; i < figures->reasons.count; i++) {
        const struct report_fault *f = &figures->reasons.item[i];
        report_html(
            out,
            "<tr><th scope=\"row\">{} <span class=\"quiet\">({})</span></th><td class=\"n\">{}</td><td "
            "class=\"n\">{}</td><td class=\"n\">{}</td></tr>\n",
            report_bench_word(f->check), f->check->id, report_count(f->count[PELLET_REMAKE]).text,
            report_count(f->count[PELLET_RESCAN]).text, report_count(f->count[PELLET_WAIT]).text);
    }
    pellet_text_adds(out, "</tbody></table></div>\n");
}

static const char *operator_of(const struct pellet_report_item *item)
{
    return item->row != NULL ? item->row->operator_name : NULL;
}

/* Whether an earlier measurement names the same person. */
static bool named_before(const struct report_session *session, size_t i)
{
    for (size_t k = 0; k < i; k++) {
        const char *const name = operator_of(session->item[k]);
        if (name != NULL && strcmp(name, operator_of(session->item[i])) == 0)
            return true;
    }
    return false;
}

static void add_operator(const struct report_session *session, const char *name, struct pellet_text *out)
{
    size_t measured = 0, passed = 0;

    for (size_t i = 0; i < session->item_count; i++) {
        const char *const other = operator_of(session->item[i]);
        if (other == NULL || strcmp(other, name) != 0)
            continue;
        measured++;
        passed += session->item[i]->verdict->outcome == PELLET_PASS;
    }
    report_html(out, "<tr><th scope=\"row\">{}</th><td class=\"n\">{}</td><td class=\"n\">{}</td></tr>\n",
                name, report_count(measured).text, report_count(passed).text);
}

static void add_operators(const struct report_session *session, struct pellet_text *out)
{
    static const char *const column[] = {SAYS_OPERATOR, SAYS_MEASUREMENTS, SAYS_PASSED};
    bool begun = false;

    for (size_t i = 0; i < session->item_count; i++) {
        const char *const name = operator_of(session->item[i]);
        if (name == NULL || named_before(session, i))
            continue;
        if (!begun)
            add_head(out, SAYS_OPERATORS_CAPTION, column, sizeof column / sizeof column[0]);
        begun = true;
        add_operator(session, name, out);
    }
    if (begun)
        pellet_text_adds(out, "</tbody></table></div>\n");
}

void report_add_faults(const struct report_record *record, struct pellet_text *out)
{
    report_html(out, "<h2>{}</h2>\n", SAYS_FAULTS);
    if (record->figures.reasons.count == 0)
        report_html(out, "<p>{}</p>\n", SAYS_NO_FAULTS);
    else
        add_counts(&record->figures, out);
    add_operators(&record->session, out);
}
