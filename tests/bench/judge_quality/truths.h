// SPDX-License-Identifier: GPL-3.0-or-later
/* The parts that the truth of a case is put together from, each by the definition in design.md section 5. */
#ifndef BENCH_TRUTHS_H
#define BENCH_TRUTHS_H

#include "clean.h"

/* ---------------------------------------------------------------- truth_bands.c */

/* A band as it is read at the file's resolution. */
struct bench_reading {
    double top, height, at_cm1; /* height above the chord between the feet within three widths */
    double width_cm1;           /* full width at half of that height */
};
/* Full width at half height that the resolution leaves. */
double bench_seen_width(const struct bench_case *of, double width_cm1);
/* False where the band is not in the range or has no top of its own. */
bool bench_read_band(const struct bench_case *of, const struct bench_clean *clean,
                     const struct pellet_synth_band *band, struct bench_reading *reading);
/* The highest of the compound; NaN where none can be read. */
struct bench_reading bench_strongest_band(const struct bench_case *of,
                                          const struct pellet_synth_compound *compound,
                                          const struct bench_clean *clean);

/* Median of -d/a over the isolated bands of 0.2 to 1.2 A, and how many agree with it within half of it. */
struct bench_skew {
    size_t bands, agreeing;
    double median; /* NaN without bands */
};
struct bench_skew bench_skew_find(const struct bench_case *of, const struct bench_clean *clean);

/* ---------------------------------------------------------------- truth_light.c */

/* Opaque stretches, wider than the line shape, that `leak` would cut off at one level. */
size_t bench_plateaus(const struct bench_case *of, const struct bench_clean *without_leak, double leak);
/* The energy below the cut-off as a fraction of the beam's maximum. */
pellet_status bench_dark_level(struct pellet_synth *model, const struct bench_case *of, double *level);
/* Highest T smoothed over 20 cm-1, outside the regions of the room's air. */
double bench_highest_transmittance(const struct bench_clean *dry);
/* RMS of A at native points in 2200..2000 from the noise of the beams. */
double bench_noise(const struct bench_case *of, const struct bench_clean *clean);
/* Extreme of A over the chord 2380-2300, signed. */
pellet_status bench_carbon_dioxide(struct pellet_synth *model, const struct bench_case *of, double *height);

/* The ripple of the subject's faces as the file shows it, A peak to peak. */
struct bench_fringes {
    double peak_to_peak; /* NaN beyond 70 % of the longest path difference, or mixed with the blank's */
    bool clear; /* five periods at least in 2500-1900, high above noise and the sample's own structure */
};
struct bench_fringes bench_fringes_find(const struct bench_case *of, const struct bench_clean *clean,
                                        double unlimited, double noise);

/* ---------------------------------------------------------------- truth_foreign.c */

/* Greatest height that the impurities of one pellet make in the ratio, at the file's resolution. */
pellet_status bench_impurity_height(struct pellet_synth *model, const struct bench_case *of, bool in_blank,
                                    const struct bench_clean *with, double *height);
/* The residue's greatest height, and how many of its tops show beside the noise and the sample's
 * own curve. */
struct bench_residue {
    double height;
    size_t bands;
};
pellet_status bench_residue_find(struct pellet_synth *model, const struct bench_case *of,
                                 const struct bench_clean *with, double noise, struct bench_residue *found);
/* The window of the rule set that is strained most: its height and its limit. */
struct bench_window {
    double height, limit;
};
struct bench_window bench_window_find(const struct bench_case *of, const struct pellet_rules *rules,
                                      const struct bench_clean *clean);
/* Whether the sample's own bands hide water's bend, or are as broad as water's stretch at its place. */
bool bench_water_is_hidden(const struct bench_case *of, double water_ug_cm2);
/* Whether a lone single beam shows the room's air at a place, in full. */
bool bench_among_air(double wavenumber);
/* Whether a band that a lone single beam shows at a place can only be the pellet's. */
bool bench_is_pellets(double wavenumber);

#endif
