// SPDX-License-Identifier: GPL-3.0-or-later
/* What the files that read a rule set share: read.c the whole and the settings, read_checks.c the checks and
 * their windows, read_values.c single values. */
#ifndef PELLET_RULES_READ_PARTS_H
#define PELLET_RULES_READ_PARTS_H

#include "core/yaml.h"
#include "rules/settings.h"

/* The most keys that a mapping of a rule set can have. */
#define RULES_KEYS_MAX (PELLET_PARAMETERS_MAX + 6)

/* What a reading carries along. */
struct pellet_rules_reading {
    struct pellet_rules rules;
    struct pellet_error *error;
};

pellet_status pellet_rules_fail_memory(struct pellet_error *error);

/* Values; strings are copied to the arena of the rule set. Untouched on error. */
pellet_status pellet_rules_take_text(struct pellet_rules_reading *reading, const struct pellet_yaml *node,
                                     const char **text);
pellet_status pellet_rules_take_name(struct pellet_rules_reading *reading, const struct pellet_yaml *node,
                                     const char **name);

/* A quantity or a range, as a row of either table wants it. */
pellet_status pellet_rules_take_limit(const struct pellet_yaml *node, enum pellet_parameter_kind kind,
                                      enum pellet_unit unit, double lowest, double highest,
                                      struct pellet_limit *limit, struct pellet_error *error);

/* Only what changes something may be named: a pass or a not_checked cannot be asked for. */
pellet_status pellet_rules_take_outcome(const struct pellet_yaml *node, enum pellet_outcome *outcome,
                                        struct pellet_error *error);

/* The section `checks`; where there is none, the standards stay. */
pellet_status pellet_rules_read_checks(struct pellet_rules_reading *reading, const struct pellet_yaml *root);

#endif
