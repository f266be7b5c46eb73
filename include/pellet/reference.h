// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Published constants and tables, each with its source. "Read" means that the text or the data file named was
 * seen; "from memory" means that it was not, and that nobody should quote it as an official figure.
 *
 * Nothing here allocates or fails: an argument outside a table gives 0 or NaN, as each function says.
 */
#ifndef PELLET_REFERENCE_H
#define PELLET_REFERENCE_H

#include <stdbool.h>
#include <stddef.h>

/* ---------------------------------------------------------------- liquid water */

/* Density of water at 25 C, g/cm3 (common practice: any table of the density of water). */
#define PELLET_WATER_DENSITY 0.99705
/* g/mol, from the standard atomic weights. */
#define PELLET_WATER_MOLAR_MASS 18.0153

/* One row of the table of optical constants; rows in falling wavenumber as printed. */
struct pellet_water_row {
    double wavelength_um;
    double n;
    double k;
};

/*
 * Optical constants of liquid water at 25 C, 2.6 to 25 um.
 * Source: G. M. Hale, M. R. Querry, Appl. Opt. 12, 555 (1973), as in the CC0 database refractiveindex.info
 *         (main/H2O/nk/Hale), read.
 */
extern const struct pellet_water_row pellet_water_rows[];
extern const size_t pellet_water_row_count;

/*
 * The imaginary index k of liquid water between the rows.
 *
 * Given:     wavenumber  cm-1
 * Returned:  k; 0 outside 400..3846.15 cm-1 (the table's ends) and for NaN
 * Method:    monotone cubic over wavenumber: M. Steffen, Astron. Astrophys. 239, 443 (1990). It neither
 *            overshoots nor rings where the printed steps change, and the maxima stay at printed rows.
 */
double pellet_water_k(double wavenumber);

/* The real index n, by the same interpolation; NaN outside the table. */
double pellet_water_n(double wavenumber);

/* Decadic linear absorption coefficient, cm-1: 4 pi k wavenumber / ln 10; 0 outside the table. */
double pellet_water_decadic(double wavenumber);

/*
 * Decadic absorbance of a layer that holds 1 ug of liquid water on 1 cm2 (10.03 nm); 0 outside the table.
 * 30 ug/cm2 make 0.166 A near 3400 and 0.035 A near 1640 cm-1.
 */
double pellet_water_absorbance(double wavenumber);

/*
 * Molar absorptivity (L/mol/cm) of liquid water at its three band maxima, for comparison with the table.
 * Source: S. Yu. Venyaminov, F. G. Prendergast, Anal. Biochem. 248, 234 (1997); numbers from memory, they
 * agree with Hale and Querry to 2 %.
 */
struct pellet_water_band {
    double wavenumber;
    double molar_absorptivity;
};
extern const struct pellet_water_band pellet_water_bands[];
extern const size_t pellet_water_band_count;

/* ---------------------------------------------------------------- potassium bromide */

/* g/cm3 (read: two public property pages; 2.74 is found as well). */
#define PELLET_KBR_DENSITY 2.75

/*
 * Refractive index of KBr at 24 C; NaN outside 238.1..50000 cm-1 (42 to 0.2 um).
 * Source: H. H. Li, J. Phys. Chem. Ref. Data 5, 329 (1976), as in the CC0 database refractiveindex.info
 *         (main/KBr/nk/Li), read. n at 2000 cm-1 is 1.5346.
 */
double pellet_kbr_index(double wavenumber);

/* Group index n + wavenumber dn/d(wavenumber): what the period of fringes shows. Same range. */
double pellet_kbr_group_index(double wavenumber);

/* Reflectance of one face at normal incidence, ((n - 1)/(n + 1))^2; 0.0445 at 2000 cm-1. */
double pellet_kbr_reflectance(double wavenumber);

/* Transmittance of a clear plate without fringes, all reflections added up: (1 - R)/(1 + R); 0.915 at 2000
 * cm-1. */
double pellet_kbr_plate_transmittance(double wavenumber);

/* Area of a round die (cm2) and the thickness (mm) of a clear pellet of `mass_mg` pressed in it. */
double pellet_die_area_cm2(double die_mm);
double pellet_kbr_thickness_mm(double mass_mg, double die_mm);

/* Pressure (MPa) on the face of a round die under a load in metric tonnes-force of 9.80665 kN: 10 t on 13 mm
 * are 738.8 MPa. Friction at the wall, which takes some of it, is left out. */
double pellet_die_pressure_mpa(double load_t, double die_mm);

/*
 * Thickness (mm) from the period of the fringes (cm-1): 10 / (2 n_g period), normal incidence, parallel
 * faces. `group_index` is that of the pellet in the middle of the window used. Source: Appl. Spectrosc. 20,
 * 116 (1966); the group index replaces n because n changes with wavenumber.
 */
double pellet_fringe_thickness_mm(double period, double group_index);

/* ---------------------------------------------------------------- room air */

/* A line of water vapour: vacuum wavenumber (cm-1) and intensity at 296 K (cm-1/(molecule cm-2)). */
struct pellet_vapour_line {
    double wavenumber;
    double intensity;
    double lower_energy; /* cm-1 */
    bool isolated;       /* no other line above a tenth of it within 3 cm-1 */
};

/*
 * The strong lines of water vapour in 1408.5..1900 and 3500..3950 cm-1, rising: the 30 strongest of each
 * region and the isolated ones above 4e-20. 1400..1408.5 is not covered. Source: HITRAN, I. E. Gordon et al.,
 * J. Quant. Spectrosc. Radiat. Transf. 277, 107949 (2022); read from public copies of the records.
 */
extern const struct pellet_vapour_line pellet_vapour_lines[];
extern const size_t pellet_vapour_line_count;

/*
 * The two regions where room air shows water lines in a pellet's spectrum.
 * Source: CRC Handbook of Chemistry and Physics, spurious infrared absorptions (1400..2000 and 3500..3900;
 * read, the upper one from memory); the ends used here are the project's own.
 */
#define PELLET_VAPOUR_BEND_LOW     1400.0
#define PELLET_VAPOUR_BEND_HIGH    1900.0
#define PELLET_VAPOUR_STRETCH_LOW  3550.0
#define PELLET_VAPOUR_STRETCH_HIGH 3900.0

/*
 * Carbon dioxide: the two band centres (cm-1) and the window that holds the antisymmetric stretch.
 * Source: L. S. Rothman, L. D. G. Young, J. Quant. Spectrosc. Radiat. Transf. 25, 505 (1981), as quoted in
 * public code; the window is the project's own.
 */
#define PELLET_CO2_STRETCH 2349.1433
#define PELLET_CO2_BEND    667.379
#define PELLET_CO2_LOW     2300.0
#define PELLET_CO2_HIGH    2380.0
/* Rotational constant of the ground state, cm-1 (from memory: any text on molecular spectra). */
#define PELLET_CO2_B 0.3902

/* ---------------------------------------------------------------- polystyrene film */

struct pellet_polystyrene_band {
    double wavenumber; /* cm-1 */
    double tolerance;  /* cm-1, from memory throughout (Ph. Eur. 2.2.24, JP 2.25) */
    bool read;         /* the wavenumber was read; else from memory */
};

/*
 * The pharmacopoeial list, falling. Wavenumbers marked read stand in the State Pharmacopoeia of the Russian
 * Federation XIV, vol. 1, mid-infrared spectrometry; the rest is from memory. A public spectrum of a film
 * with points every 1.93 cm-1 agrees within 1.3 cm-1.
 */
extern const struct pellet_polystyrene_band pellet_polystyrene_bands[];
extern const size_t pellet_polystyrene_band_count;

/* ---------------------------------------------------------------- impurities */

/* A band that is not the sample's, and where it is looked for. */
struct pellet_impurity {
    const char *id;   /* "nitrate" */
    const char *name; /* for people: "nitrate in the halide" */
    double low, high; /* cm-1; the listed position, or the project's own +-15 around a single figure */
    double at;        /* the listed figure, or the middle of the listed range */
    bool read;        /* seen in the source; else from memory */
    const char *source;
};

/* Rising in `low`. Liquid water, vapour and carbon dioxide have their own checks and are not listed. */
extern const struct pellet_impurity pellet_impurities[];
extern const size_t pellet_impurity_count;

/* The impurity whose range holds `wavenumber` (the nearest `at` where ranges overlap), or NULL. */
const struct pellet_impurity *pellet_impurity_at(double wavenumber);

#endif
