// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * A physical model of pellets and of the spectrometer that measures them, for the demo and for the quality
 * bench: spectra with a known truth. It is written from the physics, not from the checks, and shares nothing
 * with them but published constants.
 *
 * From publications: optics of KBr, of liquid water, of small grains (van de Hulst), of a plate, lines of
 * room air, line shapes of apodised interferograms. Invented, in the style of their class: the compounds'
 * bands, the energy curve of the instrument, all amounts. No compound here is a real substance but the
 * polystyrene film.
 */
#ifndef PELLET_SYNTH_H
#define PELLET_SYNTH_H

#include "pellet/core.h"
#include "pellet/spectrum.h"

/* ---------------------------------------------------------------- compounds */

struct pellet_synth_band {
    double at_cm1;
    double absorptivity; /* decadic absorbance for 1 mg/cm2 at the top, of grains far below the wavelength */
    double width_cm1;    /* full width at half height */
    double gauss;        /* share of a Gauss curve in the shape, 0..1; the rest is Lorentz */
};

#define PELLET_SYNTH_BANDS_MAX 24

struct pellet_synth_compound {
    const char *id;   /* "sugar-A": invented */
    const char *kind; /* "sugar" */
    double density;   /* g/cm3 */
    double index;     /* refractive index far from any band; KBr has about 1.53 */
    size_t band_count;
    struct pellet_synth_band band[PELLET_SYNTH_BANDS_MAX];
};

/* Thirteen kinds: sugar, alcohol, acid, amide, ester, aromatic, carbonate, sulfate, hydrochloride, nitrile,
 * polymer, hydrate, amine. */
extern const struct pellet_synth_compound pellet_synth_compounds[];
extern const size_t pellet_synth_compound_count;
/* A film with the bands of polystyrene (positions from pellet/reference.h, strengths invented). */
extern const struct pellet_synth_compound pellet_synth_polystyrene;

const struct pellet_synth_compound *pellet_synth_compound_find(const char *id); /* NULL where there is none */

/*
 * A relative of a compound: bands moved by up to +-`shift_cm1`, strengths and widths scaled by factors of up
 * to 1 +- `spread` (0..0.9), index by up to +-0.02. The same seed gives the same relative.
 */
void pellet_synth_compound_vary(const struct pellet_synth_compound *from, double shift_cm1, double spread,
                                unsigned long seed, struct pellet_synth_compound *relative);

/* ---------------------------------------------------------------- the pellet */

/* A narrow band that belongs to the halide or to grease, not to the sample. */
struct pellet_synth_impurity {
    double at_cm1;
    double height; /* A */
    double width_cm1;
};
#define PELLET_SYNTH_IMPURITIES_MAX 4

/*
 * What stands in the beam. pellet_synth_pellet_init makes a good, dry, clear blank; whoever sets `compound`
 * and `dose_mg_cm2` has a sample.
 */
struct pellet_synth_pellet {
    const struct pellet_synth_compound *compound; /* NULL: none; borrowed */
    double dose_mg_cm2;                           /* sample in the beam; 0.4..1.5 is usual */
    double grain_um;     /* radius of the sample's grains, 0.05..20: coarse ones scatter and weaken bands */
    double thickness_mm; /* 0.01..3 */
    double fringes;      /* 0..1: share of the ideal fringes left by wedge and beam spread */
    double roughness_um; /* rms of the faces; damps fringes toward high wavenumbers */
    double haze;         /* A at 2000 cm-1 lost by scatter at voids and clouded places */
    double haze_um;      /* radius of these places: 0.1 slopes as the square and more, 2 is nearly flat */
    double water_ug_cm2; /* liquid water in the beam */
    double water_shift_cm1; /* of its bands against bulk water */
    double water_width; /* of its bands against bulk water (1); the amount keeps its integrated strength */
    const struct pellet_synth_compound *residue; /* of an earlier sample; NULL: none; fine grains */
    double residue_mg_cm2;
    size_t impurity_count;
    struct pellet_synth_impurity impurity[PELLET_SYNTH_IMPURITIES_MAX];
    double leak;   /* 0..1: share of the light that passes beside the pellet (crack, pinhole, loose mask) */
    double shaded; /* 0..1: share of the light cut off by holder or mask */
    bool film;     /* free, of the compound and no KBr: thickness_mm of it; the density gives the dose */
};

void pellet_synth_pellet_init(struct pellet_synth_pellet *pellet);

/* The dose of a pellet pressed from a mix: `fraction` of sample by mass, `pressed_mg` in a die of `die_mm`.
 * The thickness is that of the KBr. */
void pellet_synth_pellet_press(struct pellet_synth_pellet *pellet, double fraction, double pressed_mg,
                               double die_mm);

/* ---------------------------------------------------------------- the instrument */

enum pellet_synth_apodisation {
    PELLET_SYNTH_HAPP_GENZEL, /* 0.54 + 0.46 cos: width at half height 0.91 of the resolution */
    PELLET_SYNTH_TRIANGULAR,  /* squared sinc: 0.89 */
    PELLET_SYNTH_GAUSS,       /* a plain Gauss line of the resolution's width */
    PELLET_SYNTH_APODISATION_COUNT
};

/* pellet_synth_instrument_init makes a good one: 4 cm-1, points every 1.93 cm-1, 4000..400, purged. */
struct pellet_synth_instrument {
    double low_cm1, high_cm1; /* what the file holds; within 360..4060 */
    double resolution_cm1;    /* 1..16, the inverse of the longest path difference */
    double spacing_cm1;       /* of the points in the file, 0.1..16 */
    unsigned zero_fill;       /* 1, 2, 4 or 8: the noise is independent at spacing x zero_fill only */
    enum pellet_synth_apodisation apodisation;
    double gain;       /* of the whole beam: drifts from file to file */
    double warmth;     /* slow change of the source: the energy is multiplied by (wavenumber/2000)^warmth */
    double cutoff_cm1; /* below it the detector sees no light */
    double blocked_below_cm1; /* 0, or a filter that takes all light below */
    double noise;             /* 1 sigma of a point, as a fraction of the greatest energy */
    double false_zero;        /* added to every point, as a fraction of the greatest energy */
    double vapour_cm2;        /* water molecules per cm2 in the beam's air; purged 1e17, a breath more 1e18 */
    double carbon_dioxide_cm2; /* CO2 molecules per cm2 */
    double ripple;             /* half of peak-to-peak of the energy's ripple from windows, a fraction */
    double ripple_period_cm1;
    double forward;   /* 0..1: share of the scattered light that the detector still collects */
    double scale_ppm; /* error of the wavenumber scale */
    unsigned scans;   /* only stated in the file; the noise above is what counts */
};

void pellet_synth_instrument_init(struct pellet_synth_instrument *instrument);

/* ---------------------------------------------------------------- measuring */

/*
 * What is true of a pellet in an instrument, without noise and at unlimited resolution. Everything against
 * the open beam: what a blank takes away is for the caller to subtract.
 */
struct pellet_synth_truth {
    double transmittance_2000; /* mean over 2040..1960, where no compound has a band; fringes left out */
    double tilt;               /* of reflection and scatter alone: A at 3900 less A at 2000 */
    double strongest_cm1;      /* the compound's strongest band; NaN for a blank */
    double strongest_height;   /* A above what grains without bands would show */
    double strongest_top;  /* total A there, reflection, scatter, water, leak and all but fringes; no false
                              zero */
    double residue_height; /* A of the residue's strongest band */
    double water_stretch;  /* A of the water at its stretching maximum */
    double fringe_peak_to_peak; /* A at 2200 cm-1, before the finite resolution takes its share */
    double asymmetry; /* to first order in the grain's size: 3/4 (4 pi a nu) (n - n_KBr) (1 - forward) */
};

void pellet_synth_truth_find(const struct pellet_synth_pellet *pellet,
                             const struct pellet_synth_instrument *instrument,
                             struct pellet_synth_truth *truth);

/* Grids, line lists and kernels that are made once; one for each thread. */
struct pellet_synth;
pellet_status pellet_synth_new(struct pellet_synth **model, struct pellet_error *error);
void pellet_synth_free(struct pellet_synth *model); /* NULL is allowed */

/*
 * Measure: the single beam of a pellet.
 *
 * Given:     model       from pellet_synth_new; its caches are refilled where the instrument changed
 *            pellet      NULL for the open beam
 *            instrument
 *            seed        of the noise (Mersenne twister); the same seed gives the same spectrum
 * Returned:  spectrum    single beam, greatest energy of the open beam about `gain`, with the settings
 * stated; the caller clears it; untouched on error truth       may be NULL Errors:    E_RANGE where a number
 * is outside what the structs say, E_MEMORY Method:    energy(nu) x room air x pellet, convolved with the
 * instrument's line shape as intensity, sampled, false zero and noise added. See the files of lib/synth for
 * each part and its source.
 */
pellet_status pellet_synth_measure(struct pellet_synth *model, const struct pellet_synth_pellet *pellet,
                                   const struct pellet_synth_instrument *instrument, unsigned long seed,
                                   struct pellet_spectrum *spectrum, struct pellet_synth_truth *truth,
                                   struct pellet_error *error);

/*
 * As CSV with metadata lines above the numbers, as a spectrometer's export would be.
 *
 * Given:     title     NULL: none
 *            measured  written as date and time of UTC; PELLET_NO_TIME: no such lines
 */
pellet_status pellet_synth_write_csv(const struct pellet_spectrum *spectrum, const char *title,
                                     pellet_ns measured, struct pellet_text *out);

/* ---------------------------------------------------------------- an invented session in the laboratory */

enum pellet_synth_scene_kind {
    PELLET_SYNTH_SCENE_OPEN_BEAM,
    PELLET_SYNTH_SCENE_BLANK,
    PELLET_SYNTH_SCENE_SAMPLE,
    PELLET_SYNTH_SCENE_TEXT /* somebody saved a note under a spectrum's name */
};

/* One file of the session. The verdicts are what a spectroscopist would say under `routine`. */
struct pellet_synth_scene {
    const char *file; /* "sugar-A_p1.csv"; a name that comes twice is the same file saved again */
    enum pellet_synth_scene_kind kind;
    double minute;           /* since the session's start; rising */
    const char *fault;       /* the check that should speak, or NULL for a good one */
    const char *verdict;     /* when the file lands: "pass", "remake", "rescan" or "wait" */
    const char *verdict_end; /* at the session's end: differs where a wait was resolved */
    const char *story;       /* what happened at the bench, one line */
    struct pellet_synth_pellet pellet;
    struct pellet_synth_instrument instrument;
    unsigned long seed;
};

size_t pellet_synth_scene_count(void);
/* Scene `i` of the session that `seed` varies: amounts and noise differ a little, the story stays. */
void pellet_synth_scene_make(size_t i, unsigned long seed, struct pellet_synth_scene *scene);
/* The bytes of the scene's file. `start` is the time of minute 0; PELLET_NO_TIME leaves times out of the
 * file. */
pellet_status pellet_synth_scene_write(struct pellet_synth *model, const struct pellet_synth_scene *scene,
                                       pellet_ns start, struct pellet_text *out, struct pellet_error *error);

#endif
