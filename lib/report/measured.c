// SPDX-License-Identifier: GPL-3.0-or-later
/* What was measured, each value beside its limit on a small ruled bar. */
#include "pellet/wording_pages.h"
#include "report/markup.h"
#include "report/record.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/*
 * A bar has the limit at 60 and ends at 92 with a point where the value runs off. The policy of the page
 * allows no style attribute, so that the lengths are classes; record.css is made to go with this.
 */
#define BAR_LENGTH 92.0
#define BAR_LIMIT  60.0

/* Checks whose limit is the least that is allowed. */
static const char *const floors[] = {"weak", "opacity"};
/* Checks that have a limit to either side: which one is given follows from the outcome. */
static const char *const both_ways[] = {"thickness", "windows"};

static bool listed(const char *const *list, size_t n, const char *id)
{
    for (size_t i = 0; i < n; i++) {
        if (strcmp(list[i], id) == 0)
            return true;
    }
    return false;
}

static bool limit_is_floor(const struct pellet_finding *f)
{
    if (listed(floors, sizeof floors / sizeof floors[0], f->check->id))
        return true;
    return listed(both_ways, sizeof both_ways / sizeof both_ways[0], f->check->id) &&
           (f->value < f->limit) == report_amiss(f->outcome);
}

/* Which side of the limit is allowed; some checks compare the size of a value of either sign. */
static const char *sign_of_limit(const struct pellet_finding *f)
{
    if (f->limit < 0.0 || limit_is_floor(f))
        return "&ge;";
    return f->value < 0.0 && report_amiss(f->outcome) ? "&plusmn;" : "&le;";
}

/* The class that draws the bar; nothing where a value is not held against a limit. */
static struct report_number bar_of(const struct pellet_finding *f)
{
    const double share = fabs(f->value / f->limit);
    const char *const side = limit_is_floor(f) ? " t" : "";
    struct report_number class = {""};

    if (!isfinite(share) || f->outcome == PELLET_NOT_CHECKED)
        return class;
    if (share * BAR_LIMIT > BAR_LENGTH)
        snprintf(class.text, sizeof class.text, " class=\"b%s wx\"", side);
    else
        snprintf(class.text, sizeof class.text, " class=\"b%s w%.0f\"", side, share * BAR_LIMIT);
    return class;
}

static void add_limit(const struct pellet_finding *f, struct pellet_text *out)
{
    if (isnan(f->limit)) {
        pellet_text_adds(out, "<td>");
        return;
    }
    pellet_text_addf(out, "<td%s>%s ", bar_of(f).text, sign_of_limit(f));
    report_add(out, report_quantity(f->limit, f->unit).text);
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
    const char *const bound = isnan(f->value) ? "" : f->at_least ? "&ge; " : f->at_most ? "&le; " : "";
    const bool told = f->outcome != PELLET_PASS && f->says != NULL; /* the sentence also says where */

    pellet_text_addf(out, "<tr><th>%s<td>%s", f->check->id, bound);
    report_add(out, report_quantity(f->value, f->unit).text);
    add_limit(f, out);
    report_html(out, report_amiss(f->outcome) ? "<td><strong>{}</strong>" : "<td>{}",
                report_outcome_word(f->outcome));
    if (told)
        report_html(out, ": {}", f->says);
    else if (*place_of(f).text != '\0')
        report_html(out, ", {}", place_of(f).text);
}

/* Whether nothing was measured, and nothing but the reason is to be told. */
static bool is_bare(const struct pellet_finding *f)
{
    return f->outcome == PELLET_NOT_CHECKED && isnan(f->value) && isnan(f->limit) && f->says != NULL;
}

/* Neighbours that were not made for one and the same reason, in one row. Returns how many they are. */
static size_t add_bare(const struct pellet_finding *f, size_t n, struct pellet_text *out)
{
    size_t count = 1;

    pellet_text_addf(out, "<tr><th>%s", f->check->id);
    for (; count < n && is_bare(&f[count]) && strcmp(f[count].says, f->says) == 0; count++)
        pellet_text_addf(out, ", %s", f[count].check->id);
    report_html(out, "<td colspan=2><td>{}: {}", report_outcome_word(f->outcome), f->says);
    return count;
}

/*
 * Most of a long record is this table. What HTML lets one leave out is left out of its rows: end tags, and
 * line ends, which would be nodes of the page. Signs are entities: a page of ASCII is read faster.
 */
void report_add_measured(const struct pellet_verdict *verdict, struct pellet_text *out)
{
    if (verdict->check_count == 0)
        return;
    report_html(out,
                "<table class=\"v\"><thead><tr><th scope=\"col\">{}<th scope=\"col\">{}<th "
                "scope=\"col\">{}<th scope=\"col\">{}<tbody>",
                SAYS_CHECK, SAYS_VALUE, SAYS_LIMIT, SAYS_FINDING);
    for (size_t i = 0; i < verdict->check_count;) {
        const struct pellet_finding *const f = &verdict->check[i];
        if (is_bare(f)) {
            i += add_bare(f, verdict->check_count - i, out);
        } else {
            add_check(f, out);
            i++;
        }
    }
    pellet_text_adds(out, "</table>\n");
}
