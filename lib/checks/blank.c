// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Blank: which blank the sample rests on, how old it is, and what was passed over to reach it.
 *
 * Method:    the age is the sample's measured time less the blank's. Pairing is the caller's work; this says
 *            what came of it. Beams that must not be divided (their settings or spacings conflict) are a
 *            rescan, whatever the rule says of age, because no later blank cures them.
 * Limits:    times of different kinds (the file's own label, the export time) are not compared: then the age
 *            is not known and is not judged.
 * Source:    the project's own; blank.max_age and blank.look_ahead of the rule set.
 */
#include "checks/checks.h"
#include "pellet/judge.h"

#include <math.h>

static const double NS_PER_MIN = 60.0 * (double)PELLET_NS_PER_S;

/* No blank: why, and for how long one was too old. */
static void tell_none(const struct pellet_inputs *inputs, const struct pellet_rule *rule,
                      struct pellet_finding *finding)
{
    finding->outcome = rule->outcome;
    finding->limit = inputs->rules->blank_max_age_min;
    switch (inputs->no_blank) {
    case PELLET_NO_BLANK_YET:
        finding->phrase = PELLET_SAYS_BLANK_NONE;
        break;
    case PELLET_NO_BLANK_TOO_OLD:
        finding->phrase = PELLET_SAYS_BLANK_TOO_OLD;
        finding->value = inputs->no_blank_age_min;
        break;
    case PELLET_NO_BLANK_ALL_REFUSED:
        finding->phrase = PELLET_SAYS_BLANK_ALL_REFUSED;
        break;
    }
}

/* False: no memory. */
static bool tell_name(const char *file, struct pellet_finding *finding)
{
    struct pellet_text visible = {0};
    size_t n = 0;

    while (file[n] != '\0')
        n++;
    pellet_text_add_visible(&visible, file, n);
    const bool good = pellet_text_status(&visible) == PELLET_OK;
    pellet_finding_word(finding, pellet_text_string(&visible));
    pellet_text_free(&visible);
    return good;
}

/* A blank that was measured after the sample serves up to blank.look_ahead later. */
static void judge_later(const struct pellet_rules *rules, const struct pellet_rule *rule, double age,
                        struct pellet_finding *finding)
{
    pellet_finding_below(finding, rule, age, -rules->blank_look_ahead_min, PELLET_SAYS_BLANK_TOO_LATE);
    finding->number[0] = -finding->value;
    finding->number[1] = rules->blank_look_ahead_min;
    finding->number_unit[0] = finding->number_unit[1] = PELLET_UNIT_MINUTE;
    if (finding->outcome == PELLET_PASS)
        finding->phrase = PELLET_SAYS_BLANK_LATER;
}

static void judge_age(const struct pellet_inputs *inputs, const struct pellet_rule *rule,
                      struct pellet_finding *finding)
{
    const struct pellet_source *blank = inputs->blank, *subject = &inputs->subject;
    double age;

    if (blank->measured_from != subject->measured_from || blank->measured == PELLET_NO_TIME ||
        subject->measured == PELLET_NO_TIME) {
        finding->outcome = PELLET_PASS;
        finding->phrase = PELLET_SAYS_BLANK_AGE_UNKNOWN;
        return;
    }
    age = ((double)subject->measured - (double)blank->measured) / NS_PER_MIN;
    if (age < 0.0) {
        judge_later(inputs->rules, rule, age, finding);
        return;
    }
    pellet_finding_above(finding, rule, age, inputs->rules->blank_max_age_min, PELLET_SAYS_BLANK_TOO_OLD);
    if (finding->outcome != PELLET_PASS)
        return;
    finding->number[0] = (double)inputs->skipped_count;
    finding->phrase = blank->state == PELLET_BLANK_REFUSED ? PELLET_SAYS_BLANK_REFUSED_USED
                      : inputs->skipped_count > 0          ? PELLET_SAYS_BLANK_PASSED_OVER
                                                           : PELLET_SAYS_BLANK_USED;
}

static void run_blank(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                      struct pellet_finding *finding)
{
    const struct pellet_inputs *inputs = measurement->inputs;
    const struct pellet_spectrum *beam;

    if (measurement->single_beam == NULL) {
        finding->outcome = PELLET_PASS;
        finding->phrase = PELLET_SAYS_BLANK_NOT_NEEDED;
        return;
    }
    if (inputs->blank == NULL) {
        tell_none(inputs, rule, finding);
        return;
    }
    beam = inputs->blank->spectrum;
    finding->basis = pellet_blank_state_id(inputs->blank->state);
    if (!tell_name(inputs->blank->file, finding)) {
        pellet_finding_not_checked(finding, PELLET_SAYS_NO_MEMORY);
        return;
    }
    if (measurement->conflict[0] != '\0') {
        finding->outcome = PELLET_RESCAN;
        finding->phrase = PELLET_SAYS_BLANK_CONFLICT;
        pellet_finding_word(finding, measurement->conflict);
    } else if (beam == NULL || beam->ordinate != PELLET_ORDINATE_SINGLE_BEAM) {
        finding->outcome = rule->outcome;
        finding->phrase = PELLET_SAYS_BLANK_KIND;
    } else {
        judge_age(inputs, rule, finding);
    }
}

const struct pellet_check pellet_check_blank = {
    .id = "blank",
    .bench_word = PELLET_BENCH_BLANK,
    .quantity = "age",
    .unit = PELLET_UNIT_MINUTE,
    .outcome = PELLET_WAIT,
    .roles = PELLET_FOR(PELLET_SAMPLE),
    .stage = PELLET_STAGE_TRUST,
    .meaning = "age of the paired blank, and what was passed over to reach it",
    .source = "the project's own; the longest age is blank.max_age of the rule set",
    .run = run_blank,
};
