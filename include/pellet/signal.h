// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Signal: arrays in, numbers out. All arrays are on one grid, wavenumber strictly rising (cm-1); y is
 * whatever the caller says; points that are NaN are not used. Windows are inclusive and given low..high.
 * Nothing here knows what a check is.
 */
#ifndef PELLET_SIGNAL_H
#define PELLET_SIGNAL_H

#include "pellet/core.h"

struct pellet_grid {
    size_t n;
    const double *wavenumber;
};

/* First and one-past-last index inside low..high; first == last where there is none. */
void pellet_grid_window(struct pellet_grid grid, double low, double high, size_t *first, size_t *last);
/* Mean spacing, cm-1. */
double pellet_grid_spacing(struct pellet_grid grid);
/* y at one wavenumber by linear interpolation; NaN outside or beside NaN. */
double pellet_grid_at(struct pellet_grid grid, const double *y, double wavenumber);
/*
 * Trapezoidal mean over low..high with interpolated ends. A window needs 80 % usable (not NaN) points.
 * Errors: E_RANGE where the window is not covered, E_SHORT where too few points can be used.
 */
pellet_status pellet_grid_mean(struct pellet_grid grid, const double *y, double low, double high,
                               double *mean);
/*
 * Resample y onto `to` (rising) with a GSL cubic spline; NaN outside the range of `from` and beside NaN
 * points. Linear when fewer than 3 points. Errors: E_SHORT, E_MEMORY.
 */
pellet_status pellet_grid_resample(struct pellet_grid from, const double *y, struct pellet_grid to,
                                   double *out);
/* Centred boxcar over `width` cm-1, shortened at the ends, NaN points left out. */
pellet_status pellet_smooth_boxcar(struct pellet_grid grid, const double *y, double width, double *out);

/*
 * Baseline of an absorbance curve by asymmetrically reweighted penalised least squares on GSL's banded
 * solvers, linear in n; NaN points are bridged. `stiffness_cm1` is the width (cm-1) below which structure
 * counts as band. Returned: out[n]. Errors: E_SHORT, E_MEMORY, E_FIT.
 */
pellet_status pellet_baseline(struct pellet_grid grid, const double *absorbance, double noise,
                              double stiffness_cm1, double *out);

enum pellet_band_kind {
    PELLET_BAND_SAMPLE,
    PELLET_BAND_WATER,
    PELLET_BAND_VAPOUR,
    PELLET_BAND_CO2,
    PELLET_BAND_IMPURITY,
    PELLET_BAND_KIND_COUNT
};

struct pellet_band {
    double at_cm1;            /* sub-spacing position of the top */
    double height;            /* A above the chord between the feet, within +-3 widths */
    double top;               /* total A at the top */
    double width_cm1;         /* full width at half height */
    double low_cm1, high_cm1; /* feet */
    bool flat_top;            /* several points at one level within the noise, steeper flanks: off scale */
    bool at_least;            /* height and top are lower bounds */
    enum pellet_band_kind kind;
};

/*
 * Bands of an absorbance curve, strongest first.
 *
 * Given:     absorbance[n], baseline[n]  A
 *            noise                       1 sigma of A at one point; at and above 0
 *            lower_bound[n]              non-zero where the absorbance is a lower bound; may be NULL
 * Returned:  band   malloc'ed, caller frees; NULL when count is 0
 */
pellet_status pellet_bands_find(struct pellet_grid grid, const double *absorbance, const double *baseline,
                                double noise, const unsigned char *lower_bound, struct pellet_band **band,
                                size_t *count);

/* A periodic ripple in the wavenumber domain. */
struct pellet_ripple {
    double amplitude; /* half of peak-to-peak, in the units of y; 0 where none stands above the noise */
    double period_cm1;
    double phase;             /* rad, of cos(2 pi nu / period + phase) */
    double low_cm1, high_cm1; /* where it was fitted */
    double significance;      /* ratio of the fitted power to the noise */
};

struct pellet_noise {
    double rms;         /* sqrt(SSR / (N - 3 - 2 r)), in the units of y */
    double correlation; /* lag 1, of what is left */
    size_t ripples;     /* r: sinusoids taken out, 0..2 */
    size_t points;
};

/* Noise about one quadratic plus up to two fitted ripples, native points of low..high. Errors: E_RANGE,
 * E_SHORT, E_FIT. */
pellet_status pellet_noise_window(struct pellet_grid grid, const double *y, double low, double high,
                                  struct pellet_noise *noise);
/* Strongest ripple with a period between the two, quadratic taken out. */
pellet_status pellet_ripple_find(struct pellet_grid grid, const double *y, double low, double high,
                                 double period_low, double period_high, struct pellet_ripple *ripple);

/* Excess liquid water by a fit of the tabulated absorption (Hale and Querry 1973). */
struct pellet_water {
    bool fitted;
    double ug_cm2; /* signed, both bands together */
    double sigma_ug_cm2;
    double stretch_ug_cm2; /* from 3700-2800 alone; NaN where it could not be had */
    double bend_ug_cm2;    /* from 1800-1500 alone; NaN where it could not be had or is hidden */
    double shift_cm1;      /* -60..60 */
    double width;          /* 0.8..1.3 of the tabulated width */
    bool upper_bound;      /* the two disagree by more than 30 %, or the bend is hidden */
};
/*
 * Given:     absorbance[n], usable points not NaN; noise 1 sigma of A
 * Returned:  water, and in `fitted` [n] (may be NULL) the absorbance of that water on this grid
 * Method:    both windows and the tabulated curve go through one and the same baseline operator; shift and
 * width free Source:    G. M. Hale, M. R. Querry, Appl. Opt. 12, 555 (1973)
 */
pellet_status pellet_water_fit(struct pellet_grid grid, const double *absorbance, double noise,
                               struct pellet_water *water, double *fitted);

#endif
