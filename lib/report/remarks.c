// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * What a verdict could not know when it was given, because it came later: verdicts stay as they are, and the
 * record says so.
 */
#include "pellet/wording_pages.h"
#include "report/markup.h"
#include "report/record.h"

#include <string.h>

/* Threads that judge side by side may finish in another order by this much. */
#define LATE_SLACK (60 * PELLET_NS_PER_S)

static const struct pellet_against *blank_of(const struct pellet_verdict *verdict)
{
    for (size_t i = 0; i < verdict->against_count; i++) {
        if (strcmp(verdict->against[i].as, "blank") == 0)
            return &verdict->against[i];
    }
    return NULL;
}

static const struct pellet_report_item *reference_called(const struct report_session *session,
                                                         const char *file)
{
    for (size_t i = 0; i < session->reference_count; i++) {
        if (strcmp(session->reference[i]->verdict->file, file) == 0)
            return session->reference[i];
    }
    return NULL;
}

/*
 * Whether something measured later had been judged long before it. One that waited for its blank was there
 * in time: what was judged before that blank does not count. Verdicts hold whole seconds, so one of the same
 * second as the blank's may have come after it, and counts.
 */
static bool is_late(const struct report_session *session, const struct pellet_verdict *verdict,
                    const struct pellet_report_item *blank)
{
    if (verdict->judged == PELLET_NO_TIME || verdict->measured == PELLET_NO_TIME)
        return false;
    for (size_t i = session->timed_count; i-- > 0;) {
        const struct pellet_verdict *other = session->timed[i]->verdict;
        if (other->measured <= verdict->measured)
            break; /* they stand in the order of time */
        if (other->judged != PELLET_NO_TIME && other->judged < verdict->judged - LATE_SLACK &&
            (blank == NULL || other->judged >= blank->verdict->judged))
            return true;
    }
    return false;
}

void report_add_remarks(const struct report_session *session, const struct pellet_report_item *item,
                        struct pellet_text *out)
{
    const struct pellet_against *against = blank_of(item->verdict);
    const struct pellet_report_item *blank =
        against != NULL ? reference_called(session, against->file) : NULL;

    if (item->gone)
        report_html(out, "<li><strong>{}</strong></li>\n", SAYS_GONE);
    if (is_late(session, item->verdict, blank))
        report_html(out, "<li><strong>{}</strong></li>\n", SAYS_LATE);
    if (blank != NULL && blank->gone)
        report_html(out, "<li><strong>{}</strong></li>\n", SAYS_BLANK_GONE);
    if (blank != NULL && strcmp(blank->verdict->sha256, against->sha256) != 0)
        report_html(out, "<li><strong>{}</strong></li>\n", SAYS_BLANK_CHANGED);
}
