// SPDX-License-Identifier: GPL-3.0-or-later
/* The table of checks, in the order in which verdicts and rule sets list them. */
#include "checks/checks.h"

#include <string.h>

static const struct pellet_check *const table[] = {
    &pellet_check_blank,
    &pellet_check_span,
    &pellet_check_noise,
    &pellet_check_leak,
    &pellet_check_overcompensation,
    &pellet_check_inverted,
    &pellet_check_vapour,
    &pellet_check_carbon_dioxide,
    &pellet_check_saturation,
    &pellet_check_weak,
    &pellet_check_opacity,
    &pellet_check_moisture,
    &pellet_check_tilt,
    &pellet_check_asymmetry,
    &pellet_check_fringes,
    &pellet_check_thickness,
    &pellet_check_residue,
    &pellet_check_purity,
    &pellet_check_windows,
    &pellet_check_wavenumber,
};

size_t pellet_check_count(void)
{
    return sizeof table / sizeof table[0];
}

const struct pellet_check *pellet_check_at(size_t i)
{
    return i < pellet_check_count() ? table[i] : NULL;
}

const struct pellet_check *pellet_check_find(const char *id)
{
    for (size_t i = 0; i < pellet_check_count(); i++) {
        if (strcmp(table[i]->id, id) == 0)
            return table[i];
    }
    return NULL;
}

size_t pellet_check_index(const struct pellet_check *check)
{
    size_t i = 0;
    while (i < pellet_check_count() && table[i] != check)
        i++;
    return i;
}
