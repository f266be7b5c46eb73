// SPDX-License-Identifier: GPL-3.0-or-later
/* The two bands of liquid water: where they are fitted, and the table moved and stretched. */
#include "signal/water_window.h"

#include <math.h>

#include "pellet/reference.h"

/*
 * The windows reach beyond the bands to where neither water nor most samples absorb, so that the background
 * stands on something. The stretch moves much with the hydrogen bonds, the bend little. A band of bulk water
 * is about 400 and 80 cm-1 wide; what is much narrower is not water. What moves are the bands: the libration
 * below 1000 and the weak band near 2130 stay as tabulated.
 */
const struct signal_water_kind signal_water_kinds[SIGNAL_WATER_KINDS] = {
    [SIGNAL_WATER_STRETCH] = {.low = 1880,
                              .high = 3990,
                              .centre = 3404,
                              .still_low = 2400,
                              .moved_low = 2700,
                              .moved_high = 4400,
                              .still_high = 4500,
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
                           .still_low = 1350,
                           .moved_low = 1480,
                           .moved_high = 1800,
                           .still_high = 1950,
                           .step = 4,
                           .shift_max = 20,
                           .half = 40,
                           .seen_min = 0.5,
                           .zone = 30,
                           .sample_width = 42,
                           .broad_width = 200,
                           .background = 2},
};

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

/* How much of the move and the stretch holds at a wavenumber: 1 in the band, 0 beyond its feet. */
static double moved_share(const struct signal_water_kind *kind, double wavenumber)
{
    const double rise = (wavenumber - kind->still_low) / (kind->moved_low - kind->still_low);
    const double fall = (kind->still_high - wavenumber) / (kind->still_high - kind->moved_high);

    return fmin(fmax(fmin(rise, fall), 0), 1);
}

double signal_water_pattern(const struct signal_water_kind *kind, double wavenumber, double shift,
                            double width)
{
    const double share = moved_share(kind, wavenumber);
    const double still = share < 1 ? table_at(wavenumber) : 0;
    const double moved =
        share > 0 ? table_at(kind->centre + (wavenumber - kind->centre - shift) / width) / width : 0;

    return share * moved + (1 - share) * still;
}

double signal_water_curve(const struct pellet_water *water, double wavenumber)
{
    if (wavenumber > signal_water_kinds[SIGNAL_WATER_BEND].still_high)
        return signal_water_pattern(&signal_water_kinds[SIGNAL_WATER_STRETCH], wavenumber, water->shift_cm1,
                                    water->width);
    return signal_water_pattern(&signal_water_kinds[SIGNAL_WATER_BEND], wavenumber, water->bend_shift_cm1,
                                water->bend_width);
}
