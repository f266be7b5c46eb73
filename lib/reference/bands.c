// SPDX-License-Identifier: GPL-3.0-or-later
/* Bands that are known beforehand: the polystyrene film's, and those of impurities. */
#include "pellet/reference.h"

#include <math.h>

const struct pellet_polystyrene_band pellet_polystyrene_bands[] = {
    {3060.0, 1.5, false}, {2849.5, 2.0, true},  {1942.9, 1.5, false}, {1601.2, 1.0, true},
    {1583.0, 1.0, false}, {1154.5, 1.0, false}, {1028.3, 1.0, true},  {906.6, 1.0, false},
};
const size_t pellet_polystyrene_band_count =
    sizeof pellet_polystyrene_bands / sizeof pellet_polystyrene_bands[0];

#define CRC_HANDBOOK "CRC Handbook of Chemistry and Physics, spurious infrared absorptions"

const struct pellet_impurity pellet_impurities[] = {
    {"silicate", "Si-O of glass or an agate mortar", 1000.0, 1110.0, 1055.0, true, CRC_HANDBOOK},
    {"silicone", "silicone grease", 1255.0, 1285.0, 1270.0, true, CRC_HANDBOOK},
    {"nitrate", "nitrate in the halide", 1350.0, 1400.0, 1384.0, true,
     CRC_HANDBOOK " lists 1360; isolated in KBr it stands near 1384 (from memory)"},
    {"carbonate", "carbonate in the halide", 1415.0, 1445.0, 1430.0, true, CRC_HANDBOOK},
    {"phthalate", "phthalate from plastics", 1705.0, 1735.0, 1720.0, true, CRC_HANDBOOK},
    {"anhydride", "phthalic anhydride from plastics", 1740.0, 1770.0, 1755.0, true, CRC_HANDBOOK},
    {"metaborate", "metaborate in the halide", 1981.0, 2011.0, 1996.0, true, CRC_HANDBOOK},
    {"oil", "C-H of oil, grease or fingers", 2850.0, 2960.0, 2905.0, true,
     CRC_HANDBOOK " lists 2900; the range is from memory"},
};
const size_t pellet_impurity_count = sizeof pellet_impurities / sizeof pellet_impurities[0];

const struct pellet_impurity *pellet_impurity_at(double wavenumber)
{
    const struct pellet_impurity *nearest = NULL;
    for (size_t i = 0; i < pellet_impurity_count; i++) {
        const struct pellet_impurity *impurity = &pellet_impurities[i];
        if (!(wavenumber >= impurity->low && wavenumber <= impurity->high))
            continue;
        if (!nearest || fabs(wavenumber - impurity->at) < fabs(wavenumber - nearest->at))
            nearest = impurity;
    }
    return nearest;
}
