// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * How the checks of the pellet look at a measurement: what its level is worth, and which part of it can be
 * used.
 */
#ifndef PELLET_CHECKS_VIEW_H
#define PELLET_CHECKS_VIEW_H

#include "checks/checks.h"

/* A window needs this share of usable points. */
#define CHECKS_USABLE_LEAST 0.8

/*
 * Set the finding's basis and say whether there is a transmittance at all; where not, the finding is
 * not_checked and says what is missing.
 */
bool checks_has_ratio(const struct pellet_measurement *measurement, struct pellet_finding *finding);
/* The same, and whether its level is known to be against something: what water and scatter rest on. */
bool checks_has_level(const struct pellet_measurement *measurement, struct pellet_finding *finding);

/* Place and range of a finding that speaks of one band. */
void checks_rest_on_band(struct pellet_finding *finding, const struct pellet_band *band);

/* Whether the grid reaches over low..high (cm-1). */
bool checks_covers(const struct pellet_measurement *measurement, double low, double high);
/* Shares of the points in low..high: usable ones, lower bounds; 0 where there is no point. */
double checks_share_usable(const struct pellet_measurement *measurement, double low, double high);
double checks_share_lower_bound(const struct pellet_measurement *measurement, double low, double high);
/*
 * How many neighbouring points vary together because of zero-filling: those of half a resolution, which is
 * the spacing of a file that is not zero-filled; `unstated` where the file states no resolution.
 */
double checks_filled_times(const struct pellet_measurement *measurement, double unstated);
/* Share of all usable points that let no light through. */
double checks_share_dark(const struct pellet_measurement *measurement);

/* Another check's entry in this rule set, and a quantity of it; the standard where there is no rule set. */
struct pellet_rule checks_rule_of(const struct pellet_measurement *measurement,
                                  const struct pellet_check *check);
double checks_rule_quantity(const struct pellet_measurement *measurement, const struct pellet_check *check,
                            size_t parameter);

/*
 * Whether the baseline loses nine tenths of the light at a place (NaN: does not count). There the bands of
 * coarse grains turn over: what is absorbed inside a grain is no longer there to be scattered, and the grain
 * takes out less light in its band than beside it (H. C. van de Hulst, Light Scattering by Small Particles,
 * 1957; from memory).
 */
bool checks_is_dark(const struct pellet_measurement *measurement, double wavenumber);

/* The point where A is furthest from the chord 2300-2380, and how far above it (carbon_dioxide.c). */
struct checks_carbon_dioxide {
    size_t at;
    double height; /* signed, A */
};
/* `calm`: A without its ripple. Errors: E_RANGE, E_SHORT; found is untouched. */
pellet_status checks_carbon_dioxide_find(const struct pellet_measurement *measurement, const double *calm,
                                         struct checks_carbon_dioxide *found);

/* Baseline A at 3900 less at 2000 cm-1 (tilt.c); NaN where either end cannot be used. */
double checks_tilt(const struct pellet_measurement *measurement);

/* Thickness (mm) from fringes that are the pellet's own for sure (fringes.c); NaN where there are none.
 * E_MEMORY. */
pellet_status checks_own_fringe_thickness(const struct pellet_measurement *measurement, double *thickness_mm);
struct pellet_limit checks_fringe_window(void); /* cm-1: where they are sought */
/* The thickest (mm) that the worksheet's mass can have made (thickness.c); NaN where it is silent. */
double checks_worksheet_thickness(const struct pellet_measurement *measurement);

/*
 * Whether narrow bands can be sought: in a ratio, or for a blank in -log10 of its single beam, where the same
 * bands stand on another baseline. Sets the basis; where not, the finding is not_checked.
 */
bool checks_has_bands(const struct pellet_measurement *measurement, struct pellet_finding *finding);

/*
 * Where a lone single beam shows the room's air, in full and not as a difference: the bending and the
 * stretching lines of water vapour with their wings, its rotation lines at the low end, and both bands of
 * carbon dioxide: the bend with its side branches at 618 and 721, the stretch with that of carbon-13 at 2283.
 * Source: the strong lines of HITRAN reach from 1300 to 2000 and from 3500 to 3960, weaker ones beyond 4000;
 * the rotation lines up to about 600 and the carbon dioxide bands are from memory. Public single beams of
 * metres of room air show each of them with 0.02 A and more.
 */
bool checks_is_among_air(double nu);

#endif
