// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/feigned.h"

#include "checks/view.h"

#include <math.h>

static const double NEAR_WIDTHS = 3.0;
/* Of a dispersive band's height between its extremes half and more is above the baseline (algebra). */
static const double STANDING_SHARE = 0.45;
/* Side lobes of a Lorentz curve, relative to its top, are exp(-pi w/r) at a width w and a resolution r:
 * at 1.5 resolutions below one per cent. A file that states no resolution may have 16 cm-1. */
static const double SHARP_RESOLUTIONS = 1.5, SHARP_UNSTATED = 24.0;
/*
 * The trough that dispersion makes beside a band: how much of its depth may lie below a clear pellet, since
 * the blank is not quite clear; how deep, as a multiple of the band's height; how far away, as a multiple of
 * the distance that goes with the depth, since where two troughs meet each is half as deep; or, since
 * dispersion falls off as the distance, how wide, as a share of it: one alone is 1.7 times as wide and more.
 */
static const double BELOW_CLEAR = 0.3, TROUGH_DEPTH = 2.0, TROUGH_REACH = 1.5, TROUGH_WIDTH = 0.5;
/* A dip that takes less than this share of the scatter asks for a sixth of the difference of indices, which
 * bands make together from afar: then one this wide, as a share of the distance, may be a trough as well, and
 * one broader than the bands of what a blank holds (cm-1) is one. */
static const double FAR_SHARE = 1.0 / 3.0, FAR_WIDTH = 0.2, FAR_BROAD = 40.0;
/* A dip that is this much more odd than even, and that an even one fits worse by this factor, is a slope of
 * dispersion. */
static const double ODD_LEAST = 0.5, ODD_BETTER = 1.25;
/* A dip is plainly a band's own, turned over, where it is even to this share, an even profile leaves no more
 * than this share of it (rms), and it is no deeper than this many times what it looks. */
static const double PLAIN_ODD = 0.1, PLAIN_REST = 0.06, PLAIN_DEPTH = 2.0;

/*
 * A band of the sample stands above the higher of its feet. What only stands above the lower one, the bottom
 * of the dip, is the dip's own rim.
 */
static bool stands(const struct pellet_measurement *measurement, const struct pellet_band *band)
{
    const struct pellet_grid grid = pellet_measurement_grid(measurement);
    const double low = pellet_grid_at(grid, measurement->absorbance, band->low_cm1);
    const double high = pellet_grid_at(grid, measurement->absorbance, band->high_cm1);

    return !(band->top - fmax(low, high) < STANDING_SHARE * band->height);
}

static bool feigns_by_side_lobe(const struct pellet_measurement *measurement, const struct pellet_band *band,
                                const struct pellet_band *dip)
{
    const double sharp =
        isnan(measurement->resolution) ? SHARP_UNSTATED : SHARP_RESOLUTIONS * measurement->resolution;

    return band->width_cm1 < sharp && band->height >= dip->height &&
           fabs(band->at_cm1 - dip->at_cm1) <= NEAR_WIDTHS * band->width_cm1;
}

/* Height and depth of (1 - s x)/(1 + x^2) stand to each other as 1 to r, its extremes (1 + r)/sqrt(r) half
 * widths apart (algebra): the shallower, the further away. */
static double trough_distance(const struct pellet_band *band, const struct pellet_band *dip)
{
    const double r = dip->height / band->height;

    return 0.5 * band->width_cm1 * (1.0 + r) / sqrt(r);
}

/* `scatter`: what the pellet scatters at the dip, A. */
static bool is_shallow(const struct pellet_band *dip, double scatter)
{
    return dip->height <= FAR_SHARE * scatter;
}

/* Deeper than there is scatter to be taken away. */
static bool is_below_clear(const struct pellet_band *dip, double scatter)
{
    return dip->height * (1.0 - BELOW_CLEAR) > scatter;
}

static bool feigns_by_dispersion(const struct pellet_band *band, const struct pellet_band *dip,
                                 double scatter)
{
    const double away = fabs(band->at_cm1 - dip->at_cm1);

    if (is_below_clear(dip, scatter) || dip->height > TROUGH_DEPTH * band->height)
        return false;
    if (away <= TROUGH_REACH * trough_distance(band, dip) || dip->width_cm1 >= TROUGH_WIDTH * away)
        return true;
    return is_shallow(dip, scatter) &&
           (away <= NEAR_WIDTHS * band->width_cm1 || dip->width_cm1 >= FAR_WIDTH * away);
}

/* What the pellet scatters at a dip, A. */
static double scatter_at(const struct pellet_measurement *measurement, const struct pellet_band *dip)
{
    return pellet_grid_at(pellet_measurement_grid(measurement), measurement->baseline, dip->at_cm1);
}

/* A trough of dispersion has a steep band on one side; what goes back alike on both sides is none. */
static bool is_plain(const struct pellet_measurement *measurement, const double *curve,
                     const struct pellet_band *dip)
{
    struct pellet_profile profile;

    return pellet_profile_fit(pellet_measurement_grid(measurement), curve, dip->at_cm1, dip->width_cm1,
                              &profile) == PELLET_OK &&
           profile.a < 0.0 && fabs(profile.d) <= -PLAIN_ODD * profile.a &&
           profile.rms <= -PLAIN_REST * profile.a && -profile.a <= PLAIN_DEPTH * dip->height;
}

/* Whether one of the sample's bands can feign the dip, by side lobes or else by dispersion. */
static bool is_feigned(const struct pellet_measurement *measurement, const struct pellet_band *dip,
                       bool by_dispersion)
{
    const double scatter = scatter_at(measurement, dip);

    for (size_t i = 0; i < measurement->band_count; i++) {
        const struct pellet_band *band = &measurement->band[i];
        if (band->kind == PELLET_BAND_SAMPLE && stands(measurement, band) &&
            (by_dispersion ? feigns_by_dispersion(band, dip, scatter)
                           : feigns_by_side_lobe(measurement, band, dip)))
            return true;
    }
    return false;
}

bool checks_is_beside_band(const struct pellet_measurement *measurement, const double *curve,
                           const struct pellet_band *dip)
{
    const double scatter = scatter_at(measurement, dip);

    if (is_shallow(dip, scatter) && (dip->width_cm1 >= FAR_BROAD || checks_is_dark(measurement, dip->at_cm1)))
        return true;
    return is_feigned(measurement, dip, false) ||
           (is_feigned(measurement, dip, true) && !is_plain(measurement, curve, dip));
}

bool checks_is_dispersion(const struct pellet_measurement *measurement, const double *curve,
                          const struct pellet_band *dip)
{
    struct pellet_profile profile;

    return !is_below_clear(dip, scatter_at(measurement, dip)) &&
           pellet_profile_fit(pellet_measurement_grid(measurement), curve, dip->at_cm1, dip->width_cm1,
                              &profile) == PELLET_OK &&
           fabs(profile.d) > ODD_LEAST * fabs(profile.a) && profile.rms_even > ODD_BETTER * profile.rms;
}
