// SPDX-License-Identifier: GPL-3.0-or-later
/* The rule sets compiled into the program; the table ends with a NULL name. Made by embed.cmake. */
#ifndef PELLET_RULES_SHIPPED_H
#define PELLET_RULES_SHIPPED_H

#include <stddef.h>

struct pellet_shipped_rules {
    const char *name;
    const char *yaml;
    size_t n;
};

extern const struct pellet_shipped_rules pellet_shipped_rules[];

#endif
