// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules/settings.h"

#include <string.h>

#define QUANTITY(section, key, unit, standard, lowest, highest, field, meaning)                              \
    {                                                                                                        \
        section, key, PELLET_UNIT_##unit, PELLET_PARAMETER_QUANTITY, {standard, standard}, lowest, highest,  \
            offsetof(struct pellet_rules, field), meaning                                                    \
    }
#define RANGE(section, key, unit, low, high, lowest, highest, field, meaning)                                \
    {                                                                                                        \
        section, key, PELLET_UNIT_##unit, PELLET_PARAMETER_RANGE, {low, high}, lowest, highest,              \
            offsetof(struct pellet_rules, field), meaning                                                    \
    }

static const struct pellet_rules_setting settings[] = {
    QUANTITY("session", "gap", HOUR, 3, 0.1, 168, session_gap_h,
             "a longer gap between spectra ends the session"),
    QUANTITY("blank", "max_age", MINUTE, 60, 1, 10080, blank_max_age_min,
             "how long before the sample its blank may have been measured"),
    QUANTITY("blank", "look_ahead", MINUTE, 15, 0, 1440, blank_look_ahead_min,
             "how long after the sample a blank still serves one that waits"),
    QUANTITY("open_beam", "max_age", HOUR, 24, 0.1, 8760, open_beam_max_age_h,
             "how long before a blank its open beam may have been measured"),
    QUANTITY("advice", "target", ABSORBANCE, 0.7, 0.1, 1.5, target_absorbance,
             "the absorbance that advice aims at, at the strongest band"),
    RANGE("advice", "thickness", MM, 0.25, 0.80, 0.05, 5, target_thickness_mm,
          "the thickness that advice keeps to"),
    QUANTITY("advice", "balance_min", MG, 2, 0.001, 100, balance_min_mg,
             "the least that advice asks anybody to weigh"),
    QUANTITY("advice", "pressure_max", MPA, 740, 10, 5000, pressure_max_mpa,
             "a load that presses more on the die's face is a caution; the rating of die and press and local "
             "rules come first"),
};

const struct pellet_rules_setting *pellet_rules_setting_at(size_t i)
{
    return i < sizeof settings / sizeof *settings ? &settings[i] : NULL;
}

struct pellet_limit pellet_rules_setting_get(const struct pellet_rules *rules,
                                             const struct pellet_rules_setting *setting)
{
    struct pellet_limit value;
    const char *place = (const char *)rules + setting->at;
    if (setting->kind == PELLET_PARAMETER_RANGE) {
        memcpy(&value, place, sizeof value);
    } else {
        memcpy(&value.low, place, sizeof value.low);
        value.high = value.low;
    }
    return value;
}

void pellet_rules_setting_set(struct pellet_rules *rules, const struct pellet_rules_setting *setting,
                              struct pellet_limit value)
{
    char *place = (char *)rules + setting->at;
    if (setting->kind == PELLET_PARAMETER_RANGE)
        memcpy(place, &value, sizeof value);
    else
        memcpy(place, &value.low, sizeof value.low);
}
