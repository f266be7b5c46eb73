// SPDX-License-Identifier: GPL-3.0-or-later
/* What is true of a pellet, without noise and at unlimited resolution. */
#include "pellet/reference.h"
#include "synth/model.h"

#include <math.h>

static double full_absorbance(const struct pellet_synth_parts *parts)
{
    return parts->sample + parts->haze + parts->water + parts->residue + parts->impurity;
}

/* Absorbance against the open beam of reflection and scatter. */
static double plain(const struct pellet_synth_pellet *pellet, double forward, double wavenumber)
{
    struct pellet_synth_parts parts;
    pellet_synth_parts_at(pellet, forward, wavenumber, &parts);
    return -log10(pellet_synth_transmit(pellet, wavenumber, parts.scatter + parts.haze, false));
}

static double mean_transmittance(const struct pellet_synth_pellet *pellet, double forward, double low,
                                 double high)
{
    const size_t n = 21;
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        const double wavenumber = low + (high - low) * (double)i / (double)(n - 1);
        struct pellet_synth_parts parts;
        pellet_synth_parts_at(pellet, forward, wavenumber, &parts);
        sum += pellet_synth_transmit(pellet, wavenumber, full_absorbance(&parts), false);
    }
    return sum / (double)n;
}

/* A height at one wavenumber: what find_top looks for the greatest of. */
typedef double (*height_at)(const struct pellet_synth_pellet *pellet, double forward, double wavenumber);

static double band_height(const struct pellet_synth_pellet *pellet, double forward, double wavenumber)
{
    struct pellet_synth_parts parts;
    pellet_synth_parts_at(pellet, forward, wavenumber, &parts);
    return parts.sample - parts.background;
}

static double residue_at(const struct pellet_synth_pellet *pellet, double forward, double wavenumber)
{
    struct pellet_synth_parts parts;
    pellet_synth_parts_at(pellet, forward, wavenumber, &parts);
    return parts.residue;
}

/*
 * The place of the greatest height within a width of any band of the compound and within the instrument's
 * ends: steps of a 32nd of the width, then a parabola.
 */
static double find_top(const struct pellet_synth_pellet *pellet, const struct pellet_synth_compound *compound,
                       const struct pellet_synth_instrument *instrument, height_at height)
{
    const double forward = instrument->forward;
    double best = -(double)INFINITY, at = (double)NAN, step = 1.0;
    for (size_t b = 0; b < compound->band_count; b++) {
        const struct pellet_synth_band *band = &compound->band[b];
        for (int i = -32; i <= 32; i++) {
            const double nu = band->at_cm1 + band->width_cm1 * i / 32.0;
            if (nu < instrument->low_cm1 || nu > instrument->high_cm1)
                continue;
            const double value = height(pellet, forward, nu);
            if (value > best) {
                best = value;
                at = nu;
                step = band->width_cm1 / 32.0;
            }
        }
    }
    const double before = height(pellet, forward, at - step), after = height(pellet, forward, at + step);
    const double bend = before - 2.0 * best + after;
    return bend < 0.0 ? at + fmax(-1.0, fmin(1.0, 0.5 * (before - after) / bend)) * step : at;
}

static void find_strongest(const struct pellet_synth_pellet *pellet,
                           const struct pellet_synth_instrument *instrument, struct pellet_synth_truth *truth)
{
    const double at = find_top(pellet, pellet->compound, instrument, band_height);
    struct pellet_synth_parts parts;
    pellet_synth_parts_at(pellet, instrument->forward, at, &parts);
    truth->strongest_cm1 = at;
    truth->strongest_height = parts.sample - parts.background;
    truth->strongest_top = -log10(pellet_synth_transmit(pellet, at, full_absorbance(&parts), false));
}

/* The dispersion-shaped share of a band against its absorbing share: the w^2 term of K(w) against
 * its w term. */
static double asymmetry(const struct pellet_synth_pellet *pellet, double forward, double wavenumber)
{
    const double size = 4.0 * M_PI * pellet->grain_um * 1e-4 * wavenumber;
    return 0.75 * size * (pellet->compound->index - pellet_kbr_index(wavenumber)) * (1.0 - forward);
}

static double residue_height(const struct pellet_synth_pellet *pellet,
                             const struct pellet_synth_instrument *instrument)
{
    if (!pellet->residue || !(pellet->residue_mg_cm2 > 0.0))
        return 0.0;
    return residue_at(pellet, instrument->forward, find_top(pellet, pellet->residue, instrument, residue_at));
}

static double fringe_peak_to_peak(const struct pellet_synth_pellet *pellet, double forward)
{
    struct pellet_synth_parts parts;
    pellet_synth_parts_at(pellet, forward, 2200.0, &parts);
    double low = (double)INFINITY, high = -(double)INFINITY;
    const double period = 1.0 / (2.0 * pellet_kbr_group_index(2200.0) * pellet->thickness_mm * 0.1);
    for (int i = 0; i < 200; i++) {
        const double nu = 2200.0 + period * i / 200.0;
        const double a = -log10(pellet_synth_transmit(pellet, nu, full_absorbance(&parts), true));
        low = fmin(low, a);
        high = fmax(high, a);
    }
    return high - low;
}

static double water_stretch(const struct pellet_synth_pellet *pellet, double forward)
{
    double best = 0.0;
    for (int nu = 3200; nu < 3600; nu += 5) {
        struct pellet_synth_parts parts;
        pellet_synth_parts_at(pellet, forward, nu, &parts);
        best = fmax(best, parts.water);
    }
    return best;
}

void pellet_synth_truth_find(const struct pellet_synth_pellet *pellet,
                             const struct pellet_synth_instrument *instrument,
                             struct pellet_synth_truth *truth)
{
    const double forward = instrument->forward;
    *truth = (struct pellet_synth_truth){
        .transmittance_2000 = mean_transmittance(pellet, forward, 1960.0, 2040.0),
        .tilt = plain(pellet, forward, 3900.0) - plain(pellet, forward, 2000.0),
        .strongest_cm1 = (double)NAN,
        .strongest_height = (double)NAN,
        .strongest_top = (double)NAN,
        .asymmetry = (double)NAN,
        .residue_height = residue_height(pellet, instrument),
        .water_stretch = water_stretch(pellet, forward),
        .fringe_peak_to_peak = fringe_peak_to_peak(pellet, forward),
    };
    if (!pellet->compound || !(pellet->film || pellet->dose_mg_cm2 > 0.0))
        return;
    find_strongest(pellet, instrument, truth);
    truth->asymmetry = asymmetry(pellet, forward, truth->strongest_cm1);
}
