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
/*
 * Smoothing and the second derivative. Centred windows of `width` cm-1; near the ends the smoothers' windows
 * shrink on both sides alike, so that a straight line stays as it is. NaN points are left out and stay NaN.
 * `out` must not be `y`. Errors: E_SHORT, E_RANGE (width), E_MEMORY.
 *
 * boxcar             the mean
 * quadratic          the local quadratic's value; y itself where the window holds fewer than five points
 * second derivative  of the local quadratic, per cm-2, at least five points wide, one-sided at the ends
 *
 * Source: A. Savitzky, M. J. E. Golay, Anal. Chem. 36, 1627 (1964); here each point has its own fit, so that
 *         uneven grids and gaps are allowed.
 */
pellet_status pellet_smooth_boxcar(struct pellet_grid grid, const double *y, double width, double *out);
pellet_status pellet_smooth_quadratic(struct pellet_grid grid, const double *y, double width, double *out);
pellet_status pellet_second_derivative(struct pellet_grid grid, const double *y, double width, double *out);

/* What suits a whole mid-infrared spectrum: wider than the O-H band of an acid or of water. */
#define PELLET_BASELINE_STIFFNESS 1200.0

/*
 * Baseline of an absorbance curve by asymmetrically reweighted penalised least squares on GSL's banded
 * solvers, linear in n; NaN points are bridged.
 *
 * Given:     absorbance[n]  NaN points are not used
 *            noise          1 sigma of one point, >= 0
 *            stiffness_cm1  the width (cm-1) below which structure counts as band, > 0: half the period of
 *                           the wave that the baseline follows by half
 * Returned:  out[n]  also at NaN points
 * Errors:    E_SHORT, E_RANGE (stiffness), E_MEMORY, E_FIT; out untouched
 * Source:    S.-J. Baek, A. Park, Y.-J. Ahn, J. Choo, Analyst 140, 250 (2015) for the weights; P. H. C.
 *            Eilers, B. D. Marx, Stat. Sci. 11, 89 (1996) for the penalised hat functions, which keep the
 *            system well conditioned however many points there are
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
    double at_cm1;            /* where A is highest, finer than the spacing */
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
/* The same with the noise of each point: sigma[n], 1 sigma of A (0.4343 sigma_T / T), finite where A is. */
pellet_status pellet_bands_find_sigma(struct pellet_grid grid, const double *absorbance,
                                      const double *baseline, const double *sigma,
                                      const unsigned char *lower_bound, struct pellet_band **band,
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
    double rms;         /* sqrt(SSR / (N - m (3 + 2 r))), in the units of y */
    double correlation; /* lag 1, of what is left */
    double alike; /* m: how many neighbours vary together, 1 for white noise, z after zero-filling z times */
    double share; /* N over the points of the window: the others are not usable or stand out */
    size_t ripples; /* r: sinusoids taken out, 0..2 */
    size_t points;  /* N */
};

/*
 * Noise about one quadratic plus up to two fitted ripples, native points of low..high. Points that stand more
 * than 4 sigma off (feet of bands, dips) are left out as long as half of the window stays; `share` says how
 * many. What is fitted to m points that vary together takes away m degrees of freedom.
 * Errors:    E_RANGE, E_SHORT (below 80 % usable), E_FIT, E_MEMORY; noise untouched
 * Limits:    a structure as smooth as a band that fills the window is counted as noise; `alike` then is
 *            larger than the zero-filling explains.
 */
pellet_status pellet_noise_window(struct pellet_grid grid, const double *y, double low, double high,
                                  struct pellet_noise *noise);
/*
 * Strongest ripple with a period between the two, quadratic taken out. Noise alone makes one in a thousand
 * searches find something. Periods below two points are not looked for; NaN points are left out, 80 % of the
 * window must be usable. Errors: E_RANGE, E_SHORT, E_FIT, E_MEMORY; ripple untouched.
 * Source:    N. R. Lomb, Astrophys. Space Sci. 39, 447 (1976); J. D. Scargle, Astrophys. J. 263, 835 (1982)
 */
pellet_status pellet_ripple_find(struct pellet_grid grid, const double *y, double low, double high,
                                 double period_low, double period_high, struct pellet_ripple *ripple);

/*
 * The wave of a given period in low..high: its cosine and sine, of 2 pi nu / period, by least squares
 * together with a polynomial that takes out what is slower than `slowest_cm1`. Gaps do not matter as long as
 * the two can still be told apart.
 *
 * Given:     slowest_cm1  the longest wave that is one (cm-1), >= period; the polynomial has the degree
 *                         (high - low) / (2 slowest) + 1, at most 7: half the turns of that wave
 * Errors:    E_RANGE, E_SHORT, E_FIT; outputs untouched
 */
pellet_status pellet_ripple_wave(struct pellet_grid grid, const double *y, double low, double high,
                                 double period_cm1, double slowest_cm1, double *cosine, double *sine);

/* Whether a band is as high and as wide as a crest of the ripple, or a dip turned over as its trough, at any
 * wavenumber: a band just like a crest cannot be told from it. */
bool pellet_ripple_is_crest(const struct pellet_ripple *ripple, const struct pellet_band *band);

/* Excess liquid water by a fit of the tabulated absorption (Hale and Querry 1973). */
struct pellet_water {
    bool fitted;
    double ug_cm2;         /* signed: both bands together, or the bend alone, or an upper bound */
    double sigma_ug_cm2;   /* noise, and what the choice of the background is worth */
    double stretch_ug_cm2; /* from the stretching band alone; NaN where the sample's bands leave it unknown */
    double bend_ug_cm2;    /* from the bending band alone; NaN where the sample's bands leave it unknown */
    double shift_cm1;      /* of the stretch, -60..60 */
    double bend_shift_cm1; /* of the bend, -20..20 */
    double width;          /* of the stretch, 0.8..1.3 of the tabulated width; a wider band is a lower one */
    double bend_width;     /* of the bend, the same */
    bool bend_clear;       /* the bend has the shape of water's to 10 % of its height */
    bool bend_alone;       /* the amount is the bend's: the sample's own O-H lies over the stretch */
    bool upper_bound;      /* the sample's own bands may be in it: no more than ug_cm2 + 2 sigma is there */
};
#define PELLET_WATER_CERTAIN 2.0 /* sigma */
/*
 * Given:     absorbance[n]  usable points not NaN
 *            noise          1 sigma of A
 * Returned:  water, and in fitted[n] (may be NULL) the absorbance of that water on this grid
 * Errors:    E_SHORT where neither window is covered, E_MEMORY, E_FIT; outputs untouched
 * Method:    In each window the table, a polynomial background and the flanks of the sample's bands are
 *            fitted together by reweighted least squares, so that background and bands are projected out of
 *            data and table by one and the same operator; points above the fit lose their weight, because a
 *            sample only adds. Shift and width by search; the integrated strength stays with the amount.
 *            Where the two bands agree (within 30 %, 5 ug/cm2 or 3 sigma) the amount is their weighted mean.
 *            Where the stretch is hidden or asks for more, a bend of water's own shape tells the amount
 *            alone. Else the one that leaves less room is an upper bound.
 * Limits:    A sample whose own O-H looks like water's stretch, or one smooth band of it near 1640 as broad
 *            as water's, is counted as water. Sharp or hidden bends tell nothing.
 * Source:    G. M. Hale, M. R. Querry, Appl. Opt. 12, 555 (1973)
 */
pellet_status pellet_water_fit(struct pellet_grid grid, const double *absorbance, double noise,
                               struct pellet_water *water, double *fitted);

/* ---------------------------------------------------------------- fits of a known pattern or shape */

/* How much of a known pattern is in a curve, both freed of broad structure. */
struct pellet_pattern {
    double coefficient; /* y holds this many times the pattern */
    double sigma;       /* of the coefficient, the lag-1 correlation of what is left allowed for */
    double r;           /* Pearson's correlation of the two curves after the operator */
    double rms;         /* of what is left, in the units of y */
    double span;        /* highest less lowest of the pattern after the operator: span * coefficient is the
                           signed peak-to-peak height in y */
    size_t points;
};
/*
 * Given:     y[n], pattern[n]  one grid
 *            use[n]            zero where a point must not count; NULL: all count
 *            low, high         window
 *            broad_cm1         structure much wider than this is taken out of both curves alike (the curve
 *                              less its local quadratic over this width); 0: only their means
 * Returned:  fit  by least squares with Huber's weights, so that a few bands of the sample do not carry it
 * Errors:    E_SHORT, E_RANGE, E_MEMORY, E_FIT (the pattern is flat there); fit untouched
 * Source:    P. J. Huber, Ann. Math. Stat. 35, 73 (1964)
 */
pellet_status pellet_pattern_fit(struct pellet_grid grid, const double *y, const double *pattern,
                                 const unsigned char *use, double low, double high, double broad_cm1,
                                 struct pellet_pattern *fit);

/*
 * Narrow lines as a spectrometer of finite resolution shows them while they are weak: each line a Gaussian
 * of area `intensity` and full width at half height `fwhm` (cm-1), taken no narrower than the spacing; then
 * scaled so that the highest point is 1. Limits: the true line shape depends on the apodisation; the lines
 * must be narrower than fwhm and unsaturated. Returned: out[n]; all 0 where no line is near.
 */
pellet_status pellet_line_pattern(struct pellet_grid grid, const double *position, const double *intensity,
                                  size_t count, double fwhm, double *out);

/*
 * One band as (a + d x)/(1 + x^2), x = (nu - at)/gamma, on a straight line: a absorbs, d disperses. Of a
 * dispersive band neither the top nor the width at half height is the band's own, so that the window in which
 * the shape is looked at must not hang on them: it belongs to the shape, |x| up to twice `widths`, and the
 * shape is the one that its own window gives back.
 */
struct pellet_band_shape {
    /* The window came to rest, and what the fit leaves is below a twentieth of a; else do not use it. */
    bool ok;
    double a, d;
    double at_cm1, gamma_cm1; /* gamma is half the full width at half height when d is 0 */
    double level, slope;      /* of the straight line, at `at`, and per cm-1 */
    double rms;               /* of what is left, in the units of y */
    double beyond; /* the same where the fit is carried on by a third of its window, on the worse side: what
                      stands beside the band shows there; 0 where nothing is seen */
    double skew;   /* -d/a: positive where the flank towards high wavenumbers is the steep one */
    double skew_sigma;
    size_t points;
};
/*
 * Fit one band, which need only be about where `band` says. The window is `widths` of the shape's own full
 * widths, 2 gamma, to each side of its own centre, `at`, but not beyond low..high.
 * Errors:    E_SHORT with fewer than 8 usable points, E_RANGE, E_MEMORY; a fit that does not converge, or
 *            whose window finds no rest, is ok = false
 * Method:    GSL nonlinear least squares (Levenberg-Marquardt) over place and width, a, d and the line by
 *            linear least squares wherever those are (variable projection), anew with the window that the
 *            shape asks for until place and width stay within a fiftieth of gamma. A point at the window's
 *            edge counts by its share.
 * Source:    G. H. Golub, V. Pereyra, SIAM J. Numer. Anal. 10, 413 (1973), with the derivative of L. Kaufman,
 *            BIT 15, 49 (1975); from memory
 */
pellet_status pellet_band_shape_fit(struct pellet_grid grid, const double *y, const struct pellet_band *band,
                                    double widths, double low, double high, struct pellet_band_shape *shape);

/* An extreme of a curve, up or down, as (a + d x)/(1 + x^2) on a straight line, beside the best
 * with d = 0. */
struct pellet_profile {
    double a, d; /* in the units of y: the even part and the odd one */
    double at_cm1, gamma_cm1;
    double rms, rms_even; /* what the two leave, in the units of y */
    size_t points;
};
/*
 * Whether an extreme at `at_cm1`, about `width_cm1` wide at half of its height, is one of absorption, which
 * is even, or of dispersion, which is odd. Either may point up or down: where nothing is known of its sign
 * and its centre this tells more than pellet_band_shape_fit(). Errors: E_RANGE, E_SHORT (fewer than 10 usable
 * points); profile untouched Method: linear least squares at each of a mesh of centres (within a width) and
 * widths, over 2.5 widths to each side; then around the best with smaller steps.
 */
pellet_status pellet_profile_fit(struct pellet_grid grid, const double *y, double at_cm1, double width_cm1,
                                 struct pellet_profile *profile);

/* ---------------------------------------------------------------- a band that is off scale */

/* The line shape that the apodisation of the interferogram makes. */
enum pellet_line { PELLET_LINE_UNKNOWN, PELLET_LINE_HAPP_GENZEL, PELLET_LINE_TRIANGULAR };

/* What the flanks of a band tell of its top. */
struct pellet_flank {
    double height;    /* A above the baseline, without line shape and false zero */
    double low, high; /* nine truths in ten lie between */
    double zero;      /* the false zero, as a T */
    double width_cm1; /* full width at half height */
    double misfit;    /* rms of what is left over the errors supposed; about 1 where the model holds */
    bool at_least;    /* the ends are further apart than a factor of two: only `low` is known */
};
/*
 * Height of a band whose top has no light, from its flanks.
 *
 * Given:     transmittance[n], sigma[n]  of T, 1 sigma of a point; NaN points are left out
 *            baseline[n]                 A
 *            bands[count], which         the bands found, and which of them it is; its neighbours are fitted
 *                                        along
 *            line, resolution            of the instrument; cm-1, 0 where the line shape is not to count
 * Returned:  flank
 * Errors:    E_SHORT (fewer than 12 points), E_RANGE, E_MEMORY, E_FIT; flank untouched
 * Method:    band, neighbours and a straight line are absorbances; what the instrument makes of them, the
 *            line shape and a false zero, acts on transmittance. GSL nonlinear least squares (Levenberg-
 *            Marquardt) from several starts, with several shapes between Lorentz and Gauss, without and with
 *            light that leaks; the answers are joined with the weight of their likelihood, so that the
 *            interval holds the covariance and what the choice of the shape is worth. Of a band that is off
 *            scale the fit is joined with what is likely beforehand, and the less trusted the more of the
 *            band is not seen.
 * Limits:    a shoulder that has drowned in the saturated top is taken for width. The interval is right for
 *            bands whose shape lies between Lorentz and Gauss.
 * Source:    the mixed shape: G. K. Wertheim et al., Rev. Sci. Instrum. 45, 1369 (1974), from memory. What is
 *            likely beforehand, and the error of what is not seen: judgement, held against the bench.
 */
pellet_status pellet_flank_fit(struct pellet_grid grid, const double *transmittance, const double *sigma,
                               const double *baseline, const struct pellet_band *bands, size_t count,
                               size_t which, enum pellet_line line, double resolution,
                               struct pellet_flank *flank);

#endif
