// SPDX-License-Identifier: GPL-3.0-or-later
/* How the checks of the pellet look at a measurement. */
#include "checks/view.h"

#include "pellet/judge.h"

#include <math.h>

#define DARK 1.0 /* A */

bool checks_has_ratio(const struct pellet_measurement *measurement, struct pellet_finding *finding)
{
    finding->basis = pellet_basis_id(measurement->basis);
    if (measurement->basis != PELLET_AGAINST_NOTHING && measurement->absorbance != NULL)
        return true;
    pellet_finding_not_checked(finding, measurement->role == PELLET_BLANK ? PELLET_SAYS_NEEDS_OPEN_BEAM
                                                                          : PELLET_SAYS_NEEDS_RATIO);
    return false;
}

bool checks_has_bands(const struct pellet_measurement *measurement, struct pellet_finding *finding)
{
    if (measurement->role != PELLET_BLANK || measurement->absorbance == NULL)
        return checks_has_ratio(measurement, finding);
    finding->basis = pellet_basis_id(measurement->basis);
    return true;
}

bool checks_has_level(const struct pellet_measurement *measurement, struct pellet_finding *finding)
{
    if (!checks_has_ratio(measurement, finding))
        return false;
    if (measurement->basis != PELLET_AGAINST_UNKNOWN)
        return true;
    pellet_finding_not_checked(finding, PELLET_SAYS_NEEDS_BASIS);
    return false;
}

void checks_rest_on_band(struct pellet_finding *finding, const struct pellet_band *band)
{
    finding->at_cm1 = band->at_cm1;
    finding->rests_low = band->low_cm1;
    finding->rests_high = band->high_cm1;
}

bool checks_covers(const struct pellet_measurement *measurement, double low, double high)
{
    return measurement->n > 0 && measurement->wavenumber[0] <= low &&
           measurement->wavenumber[measurement->n - 1] >= high;
}

/* Share of the points of low..high that carry all of `wanted` marks and none of `unwanted`. */
static double share_marked(const struct pellet_measurement *measurement, double low, double high,
                           unsigned wanted, unsigned unwanted)
{
    size_t first, last, count = 0;

    pellet_grid_window(pellet_measurement_grid(measurement), low, high, &first, &last);
    for (size_t i = first; i < last; i++) {
        const unsigned mark = measurement->mark[i];
        if ((mark & wanted) == wanted && (mark & unwanted) == 0)
            count++;
    }
    return last > first ? (double)count / (double)(last - first) : 0.0;
}

double checks_share_usable(const struct pellet_measurement *measurement, double low, double high)
{
    return share_marked(measurement, low, high, 0, PELLET_POINT_UNUSABLE);
}

double checks_share_lower_bound(const struct pellet_measurement *measurement, double low, double high)
{
    return share_marked(measurement, low, high, PELLET_POINT_LOWER_BOUND, 0);
}

double checks_filled_times(const struct pellet_measurement *measurement, double unstated)
{
    const double half = measurement->resolution / 2.0;

    return isnan(half) ? unstated : fmax(half / measurement->spacing, 1.0);
}

double checks_share_dark(const struct pellet_measurement *measurement)
{
    const double usable = checks_share_usable(measurement, 0.0, INFINITY);

    return usable > 0.0 ? checks_share_lower_bound(measurement, 0.0, INFINITY) / usable : 0.0;
}

bool checks_is_dark(const struct pellet_measurement *measurement, double wavenumber)
{
    return pellet_grid_at(pellet_measurement_grid(measurement), measurement->baseline, wavenumber) >= DARK;
}

struct pellet_rule checks_rule_of(const struct pellet_measurement *measurement,
                                  const struct pellet_check *check)
{
    const struct pellet_rules *rules = measurement->inputs->rules;
    const size_t index = pellet_check_index(check);
    struct pellet_rule standard;

    if (rules != NULL && index < rules->rule_count)
        return rules->rule[index];
    pellet_rule_standard(check, &standard);
    return standard;
}

double checks_rule_quantity(const struct pellet_measurement *measurement, const struct pellet_check *check,
                            size_t parameter)
{
    const struct pellet_rule rule = checks_rule_of(measurement, check);

    return pellet_rule_quantity(&rule, parameter);
}

bool checks_is_among_air(double nu)
{
    static const struct pellet_limit regions[] = {
        {0, 745},
        {1300, 2000},
        {2280, 2400},
        {3400, 3960},
    };

    for (size_t i = 0; i < sizeof regions / sizeof regions[0]; i++) {
        if (nu >= regions[i].low && nu <= regions[i].high)
            return true;
    }
    return false;
}
