// SPDX-License-Identifier: GPL-3.0-or-later
/* The two bands of liquid water: where they are fitted, and the table moved and stretched. */
#include "signal/water_window.h"

#include <math.h>

#include "pellet/reference.h"

/*
 * The windows reach beyond the bands to where neither water nor most samples absorb, so that the background
 * stands on something. The stretch moves much with the hydrogen bonds, the bend little. A band of bulk water
 * is about 400 and 80 cm-1 wide; what is much narrower is not water.
 */
const struct signal_water_kind signal_water_kinds[SIGNAL_WATER_KINDS] = {
    [SIGNAL_WATER_STRETCH] = {.low = 1880,
                              .high = 3990,
                              .centre = 3404,
                              .step = 10,
                              .shift_max = 60,
                              .half = 200,
                              .seen_min = 0.25,
                              .zone = 150,
                              .sample_width = 150,
                              .broad_width = 120,
                              .background = 3},
    [SIGNAL_WATER_BEND] = {.low = 1480,
                           .high = 1880,
                           .centre = 1643.5,
                           .step = 4,
                           .shift_max = 20,
                           .half = 40,
                           .seen_min = 0.5,
                           .zone = 30,
                           .sample_width = 42,
                           .broad_width = 200,
                           .background = 2},
};

/* Below this the table stays as it is, above it the bend's shift and width hold, and between they fade in:
 * what moves with the hydrogen bonds are the bands, not the libration below 1000. */
static const double STILL_BELOW = 1350, MOVED_ABOVE = 1480;

/* The table, and beyond its upper end the fall of its last two rows carried on: a step would be fitted. */
static double table_at(double wavenumber)
{
    const double last = 1e4 / pellet_water_rows[0].wavelength_um;
    const double before = 1e4 / pellet_water_rows[1].wavelength_um;
    double ratio;

    if (wavenumber <= last)
        return pellet_water_absorbance(wavenumber);
    ratio = pellet_water_absorbance(last) / pellet_water_absorbance(before);
    return pellet_water_absorbance(last) * pow(ratio, (wavenumber - last) / (last - before));
}

double signal_water_pattern(const struct signal_water_kind *kind, double wavenumber, double shift,
                            double width)
{
    return table_at(kind->centre + (wavenumber - kind->centre - shift) / width) / width;
}

double signal_water_curve(const struct pellet_water *water, double wavenumber)
{
    const bool stretch = wavenumber > signal_water_kinds[SIGNAL_WATER_BEND].high;
    const double moved = signal_water_pattern(
        &signal_water_kinds[stretch ? SIGNAL_WATER_STRETCH : SIGNAL_WATER_BEND], wavenumber,
        stretch ? water->shift_cm1 : water->bend_shift_cm1, stretch ? water->width : water->bend_width);
    const double share = fmin(fmax((wavenumber - STILL_BELOW) / (MOVED_ABOVE - STILL_BELOW), 0), 1);

    return share * moved + (1 - share) * table_at(wavenumber);
}
