// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Windows that the rule set names: the height of what stands in each, with a highest or a lowest allowed.
 *
 * Method:    The highest absorbance above the chord between the ends of the window; each end is the mean of
 *            the three points nearest to it, at the middle one, and the outermost does not count as a height:
 *            on the flank of a band beyond the window it would. One finding: the window that leads to the
 *            severest outcome, among those the one furthest beyond its limit; where none is beyond, the one
 *            nearest to it. The ripple of the pellet is taken out first: fitted where it is clear, it goes on
 *            in step through the whole spectrum (ripple_curve.h).
 * Limits:    The height is of the highest point, so noise adds up to three of its sigma; a band wider than
 *            the window is cut by the chord. It does not know whose band it is. Of a blank's single beam only
 *            windows clear of the room's air are looked at.
 * Source:    Heights over a chord: ASTM E168. Each window's limit: as the rule set says.
 */
#include "checks/ripple_curve.h"
#include "checks/view.h"

#include "pellet/judge.h"

#include <math.h>
#include <stdio.h>

#define END_POINTS 3

struct seen {
    const struct pellet_window_rule *window;
    double height, at_cm1;
    double limit;
    double strain; /* 1 at the limit, more beyond it */
    bool at_least;
    bool beyond;
};

/* A without the pellet's ripple, which reaches into every window. */
static double smooth_at(const struct pellet_measurement *measurement, size_t i)
{
    return measurement->absorbance[i] - checks_ripple_at(&measurement->ripple, measurement->wavenumber[i]);
}

static double mean_of(const struct pellet_measurement *measurement, size_t first)
{
    double sum = 0.0;

    for (size_t i = first; i < first + END_POINTS; i++)
        sum += smooth_at(measurement, i) / END_POINTS;
    return sum;
}

/* Whether a lone single beam shows the room's air in a window, whose lines are no height of the pellet's. */
static bool is_hidden_by_air(const struct pellet_measurement *measurement,
                             const struct pellet_window_rule *window)
{
    for (size_t i = 0; measurement->basis == PELLET_AGAINST_NOTHING && i < measurement->n; i++) {
        const double nu = measurement->wavenumber[i];
        if (nu >= window->low_cm1 && nu <= window->high_cm1 && checks_is_among_air(nu))
            return true;
    }
    return false;
}

/* The height of what stands in a window; false where it is not covered or too little can be used. */
static bool measure(const struct pellet_measurement *measurement, const struct pellet_window_rule *window,
                    struct seen *seen)
{
    const double *wavenumber = measurement->wavenumber;
    size_t first, last;

    pellet_grid_window(pellet_measurement_grid(measurement), window->low_cm1, window->high_cm1, &first,
                       &last);
    if (last - first < 3 * END_POINTS ||
        !checks_covers(measurement, window->low_cm1 + measurement->spacing,
                       window->high_cm1 - measurement->spacing) ||
        checks_share_usable(measurement, window->low_cm1, window->high_cm1) < CHECKS_USABLE_LEAST)
        return false;
    const double x_low = wavenumber[first + END_POINTS / 2], y_low = mean_of(measurement, first);
    const double x_high = wavenumber[last - 1 - END_POINTS / 2],
                 y_high = mean_of(measurement, last - END_POINTS);
    if (!isfinite(y_low) || !isfinite(y_high))
        return false;
    *seen = (struct seen){.window = window, .height = -INFINITY};
    for (size_t i = first + END_POINTS / 2; i < last - END_POINTS / 2; i++) {
        const double chord = y_low + (y_high - y_low) * (wavenumber[i] - x_low) / (x_high - x_low);
        const double height = smooth_at(measurement, i) - chord;
        if (!(height > seen->height))
            continue;
        seen->height = height;
        seen->at_cm1 = wavenumber[i];
        seen->at_least = (measurement->mark[i] & PELLET_POINT_LOWER_BOUND) != 0;
    }
    return true;
}

/* Compare with the limits as the verdict will write the height. */
static void weigh(struct seen *seen, struct pellet_finding *finding, const struct pellet_rule *rule)
{
    const double highest = seen->window->highest, lowest = seen->window->lowest;
    const bool too_low = seen->height < lowest;

    seen->limit = too_low || isnan(highest) ? lowest : highest;
    seen->strain =
        seen->limit == lowest ? lowest / fmax(seen->height, 1e-6) : seen->height / fmax(highest, 1e-6);
    if (seen->limit == lowest)
        pellet_finding_below(finding, rule, seen->height, lowest, PELLET_SAYS_WINDOW_OUT);
    else
        pellet_finding_above(finding, rule, seen->height, highest, PELLET_SAYS_WINDOW_OUT);
    seen->beyond = finding->phrase == PELLET_SAYS_WINDOW_OUT;
}

static bool is_worse(const struct seen *one, const struct seen *other)
{
    if (one->beyond != other->beyond)
        return one->beyond;
    if (one->beyond && one->window->outcome != other->window->outcome)
        return one->window->outcome > other->window->outcome;
    return one->strain > other->strain;
}

static void report(struct pellet_finding *finding, const struct seen *seen)
{
    finding->value = seen->height;
    finding->limit = seen->limit;
    finding->at_cm1 = seen->at_cm1;
    finding->at_least = seen->at_least;
    pellet_finding_range(finding, seen->window->low_cm1, seen->window->high_cm1);
    snprintf(finding->word, sizeof finding->word, "%s", seen->window->name);
}

static void run_windows(const struct pellet_measurement *measurement, const struct pellet_rule *rule,
                        struct pellet_finding *finding)
{
    const struct pellet_rules *rules = measurement->inputs->rules;
    struct seen worst = {0};
    size_t measured = 0;

    if (!checks_has_bands(measurement, finding))
        return;
    for (size_t i = 0; i < rules->window_count; i++) {
        struct pellet_finding weighed = *finding;
        struct seen seen;
        if (is_hidden_by_air(measurement, &rules->window[i]) ||
            !measure(measurement, &rules->window[i], &seen))
            continue;
        weigh(&seen, &weighed, rule);
        seen.height = weighed.value;
        if (measured++ == 0 || is_worse(&seen, &worst))
            worst = seen;
    }
    if (measured == 0 && rules->window_count > 0) {
        pellet_finding_range(finding, rules->window[0].low_cm1, rules->window[0].high_cm1);
        pellet_finding_not_checked(finding, is_hidden_by_air(measurement, &rules->window[0])
                                                ? PELLET_SAYS_NEEDS_OPEN_BEAM
                                                : PELLET_SAYS_OUT_OF_RANGE);
        return;
    }
    if (measured > 0)
        report(finding, &worst);
    finding->outcome = measured > 0 && worst.beyond ? worst.window->outcome : PELLET_PASS;
    finding->phrase = measured > 0 && worst.beyond ? PELLET_SAYS_WINDOW_OUT : PELLET_SAYS_WINDOW_NONE;
}

const struct pellet_check pellet_check_windows = {
    .id = "windows",
    .bench_word = PELLET_BENCH_WINDOWS,
    .quantity = "height",
    .unit = PELLET_UNIT_ABSORBANCE,
    .outcome = PELLET_NOTE,
    .roles = PELLET_FOR(PELLET_SAMPLE) | PELLET_FOR(PELLET_BLANK),
    .stage = PELLET_STAGE_PELLET,
    .meaning = "height in each window that the rule set names",
    .source = "as the rule set says for each window",
    .run = run_windows,
};
