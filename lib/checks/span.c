// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Span: whether the spectrum covers the station's own range with light enough to measure.
 *
 * Method:    usable points are those where the reference (of a lone single beam: the beam itself) stands
 *            above 10 sigma of its noise; the usable range reaches from the first to the last run of RUN
 *            such points. The value is what is missing of the range less the margin at each end. Gaps inside
 *            are listed; they refuse only where a check that the rule set requires has all its windows in
 *            them.
 * Limits:    needs single beams: a ratio alone does not show where the detector had no light.
 * Source:    the project's own.
 */
#include "checks/checks.h"
#include "pellet/judge.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum { MARGIN };

/* A lone point above 10 sigma at a dark end is noise, not range. */
#define RUN 3
/* Dark parts narrower than this (cm-1) are not worth a word: a strong line of vapour, a dead pixel. */
static const double GAP_MIN = 4.0;
/* A window can be used when this share of its points can (design: numbers). */
static const double WINDOW_SHARE = 0.8;

struct span {
    double low, high;           /* usable; NaN when nothing is */
    double need_low, need_high; /* the station's range less the margin */
};

static bool is_usable(const struct pellet_measurement *measurement, size_t i)
{
    return (measurement->mark[i] & PELLET_POINT_UNUSABLE) == 0;
}

/* The first of RUN usable points in a row, walking from one end of the grid; n where there is none. */
static size_t first_run(const struct pellet_measurement *measurement, bool from_above)
{
    size_t run = 0;

    for (size_t k = 0; k < measurement->n; k++) {
        const size_t i = from_above ? measurement->n - 1 - k : k;
        run = is_usable(measurement, i) ? run + 1 : 0;
        if (run == RUN)
            return from_above ? i + RUN - 1 : i + 1 - RUN;
    }
    return measurement->n;
}

static struct span find_span(const struct pellet_measurement *measurement, double margin)
{
    const struct pellet_settings *settings = measurement->inputs->settings;
    const size_t first = first_run(measurement, false), last = first_run(measurement, true);

    return (struct span){
        .low = first < measurement->n ? measurement->wavenumber[first] : NAN,
        .high = last < measurement->n ? measurement->wavenumber[last] : NAN,
        .need_low = settings->range_low + margin,
        .need_high = settings->range_high - margin,
    };
}

/* "2352-2361, 3020-3028": the dark parts between the usable ends, as far as the word has room. */
static void list_gaps(const struct pellet_measurement *measurement, const struct span *span,
                      struct pellet_finding *finding)
{
    char word[sizeof finding->word] = "";
    size_t length = 0;

    for (size_t i = 0; i < measurement->n; i++) {
        size_t end = i;
        while (end < measurement->n && !is_usable(measurement, end))
            end++;
        if (end > i && end < measurement->n && measurement->wavenumber[i] > span->low &&
            measurement->wavenumber[end - 1] < span->high) {
            const double low = measurement->wavenumber[i], high = measurement->wavenumber[end - 1];
            if (high - low >= GAP_MIN && length + 16 < sizeof word)
                length += (size_t)snprintf(word + length, sizeof word - length, "%s%.0f-%.0f",
                                           length > 0 ? ", " : "", low, high);
        }
        i = end;
    }
    if (length > 0) {
        pellet_finding_word(finding, word);
        finding->phrase = PELLET_SAYS_SPAN_GAPS;
    }
}

static bool window_is_dark(const struct pellet_measurement *measurement, struct pellet_limit window)
{
    size_t first, last, usable = 0;

    pellet_grid_window(pellet_measurement_grid(measurement), window.low, window.high, &first, &last);
    for (size_t i = first; i < last; i++)
        usable += is_usable(measurement, i) ? 1 : 0;
    return last > first && (double)usable < WINDOW_SHARE * (double)(last - first);
}

/* Whether a check has windows and all of them are dark. */
static bool check_is_dark(const struct pellet_measurement *measurement, const struct pellet_check *check,
                          const struct pellet_rule *rule, struct pellet_limit *dark)
{
    bool any = false;

    for (size_t i = 0; i < PELLET_PARAMETERS_MAX && check->parameter[i].key != NULL; i++) {
        if (strstr(check->parameter[i].key, "window") == NULL)
            continue;
        if (!window_is_dark(measurement, rule->parameter[i]))
            return false;
        *dark = rule->parameter[i];
        any = true;
    }
    return any;
}

static void refuse_needed_gap(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                              struct pellet_finding *finding)
{
    const struct pellet_rules *rules = measurement->inputs->rules;

    for (size_t i = 0; i < rules->rule_count; i++) {
        const struct pellet_check *check = pellet_check_at(i);
        struct pellet_limit dark;
        if (!rules->rule[i].required || !rules->rule[i].on ||
            (check->roles & PELLET_FOR(measurement->role)) == 0 ||
            !check_is_dark(measurement, check, &rules->rule[i], &dark))
            continue;
        char word[64];
        snprintf(word, sizeof word, "%.0f-%.0f (%s)", dark.low, dark.high, check->id);
        pellet_finding_word(finding, word);
        finding->outcome = rule->outcome;
        finding->phrase = PELLET_SAYS_SPAN_GAP_NEEDED;
        pellet_finding_distrust(finding, dark.low, dark.high);
        return;
    }
}

static void refuse_ends(const struct span *span, struct pellet_finding *finding)
{
    if (!pellet_finding_refuses(finding))
        return;
    if (isnan(span->low)) {
        pellet_finding_distrust(finding, 0.0, INFINITY);
        return;
    }
    if (span->low > span->need_low)
        pellet_finding_distrust(finding, span->need_low, span->low);
    if (span->high < span->need_high)
        pellet_finding_distrust(finding, span->high, span->need_high);
}

static void run_span(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                     struct pellet_finding *finding)
{
    struct span span;
    double missing;

    if (measurement->single_beam == NULL) {
        pellet_finding_not_checked(finding, PELLET_SAYS_NEEDS_SINGLE_BEAMS);
        return;
    }
    span = find_span(measurement, pellet_rule_quantity(rule, MARGIN));
    missing = isnan(span.low) ? span.need_high - span.need_low
                              : fmax(0.0, span.low - span.need_low) + fmax(0.0, span.need_high - span.high);
    finding->from_cm1 = span.low;
    finding->to_cm1 = span.high;
    finding->number[0] = span.need_low;
    finding->number[1] = span.need_high;
    finding->number_unit[0] = finding->number_unit[1] = PELLET_UNIT_WAVENUMBER;
    pellet_finding_above(finding, rule, missing, 0.0,
                         isnan(span.low) ? PELLET_SAYS_SPAN_NOTHING : PELLET_SAYS_SPAN_SHORT);
    refuse_ends(&span, finding);
    if (finding->outcome != PELLET_PASS)
        return;
    finding->phrase = PELLET_SAYS_SPAN_COVERED;
    list_gaps(measurement, &span, finding);
    refuse_needed_gap(measurement, rule, finding);
}

const struct pellet_check pellet_check_span = {
    .id = "span",
    .bench_word = PELLET_BENCH_SPAN,
    .quantity = "missing_range",
    .unit = PELLET_UNIT_WAVENUMBER,
    .outcome = PELLET_RESCAN,
    .roles = PELLET_FOR(PELLET_SAMPLE) | PELLET_FOR(PELLET_BLANK) | PELLET_FOR(PELLET_OPEN_BEAM) |
             PELLET_FOR(PELLET_FILM),
    .stage = PELLET_STAGE_TRUST,
    .meaning = "how much of the station's range cannot be used",
    .source = "the project's own",
    .parameter =
        {
            PELLET_QUANTITY("margin", WAVENUMBER, 50, 0, 500,
                            "how far the usable range may fall short at each end"),
        },
    .run = run_span,
};
