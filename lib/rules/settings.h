// SPDX-License-Identifier: GPL-3.0-or-later
/* What a rule set holds besides its checks: one table that the reader and the printer walk. */
#ifndef PELLET_RULES_SETTINGS_H
#define PELLET_RULES_SETTINGS_H

#include "pellet/checks.h"
#include "pellet/rules.h"

enum { PELLET_RULES_FORMAT = 1 };

/* Wavenumbers that a window of a rule set may name. */
#define PELLET_RULES_LOWEST_CM1  200.0
#define PELLET_RULES_HIGHEST_CM1 8000.0

/* One quantity or range below a top-level key. `at` is the offset of its double, or of its pellet_limit. */
struct pellet_rules_setting {
    const char *section;
    const char *key;
    enum pellet_unit unit;
    enum pellet_parameter_kind kind;
    struct pellet_limit standard;
    double lowest, highest;
    size_t at;
    const char *meaning;
};

/* Row i, NULL past the end. Rows of one section stand together. */
const struct pellet_rules_setting *pellet_rules_setting_at(size_t i);
/* The value that a rule set has for a row, and the place to put it. */
struct pellet_limit pellet_rules_setting_get(const struct pellet_rules *rules,
                                             const struct pellet_rules_setting *setting);
void pellet_rules_setting_set(struct pellet_rules *rules, const struct pellet_rules_setting *setting,
                              struct pellet_limit value);

#endif
