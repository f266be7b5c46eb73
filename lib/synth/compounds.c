// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The invented compounds: bands where textbooks of infrared spectroscopy put the groups of each kind,
 * strengths and widths in the style of the kind. The strongest band makes 0.5 to 1.2 A at 0.75 mg/cm2 in fine
 * grains. Positions, strengths, widths, densities and indices are made up; no entry describes a real
 * substance, except that the film's band positions are polystyrene's.
 */
#include "synth/model.h"

#include <gsl/gsl_rng.h>
#include <math.h>
#include <string.h>

/* Bands: cm-1, A for 1 mg/cm2, width in cm-1, share of Gauss. */
// clang-format off
const struct pellet_synth_compound pellet_synth_compounds[] = {
    {"sugar-A", "sugar", 1.55, 1.555, 20, {
        {3392, 0.66, 210, 0.8}, {3310, 0.34, 150, 0.8}, {3526, 0.16, 60, 0.7},
        {2938, 0.20, 42, 0.5}, {2894, 0.13, 36, 0.5}, {1459, 0.17, 30, 0.4}, {1411, 0.20, 34, 0.4},
        {1369, 0.22, 30, 0.4}, {1339, 0.20, 24, 0.4}, {1238, 0.16, 26, 0.4}, {1149, 0.60, 22, 0.3},
        {1111, 0.62, 24, 0.3}, {1079, 0.85, 26, 0.3}, {1034, 1.22, 25, 0.3}, {996, 0.74, 20, 0.3},
        {914, 0.32, 16, 0.3}, {848, 0.22, 15, 0.3}, {774, 0.22, 18, 0.3}, {642, 0.32, 44, 0.6},
        {553, 0.30, 46, 0.6}}},
    {"alcohol-B", "alcohol", 1.10, 1.505, 17, {
        {3322, 0.92, 260, 0.8}, {3218, 0.32, 120, 0.8}, {2957, 0.34, 20, 0.3}, {2921, 0.92, 22, 0.3},
        {2852, 0.68, 17, 0.3}, {1472, 0.34, 9, 0.2}, {1463, 0.30, 9, 0.2}, {1379, 0.13, 13, 0.2},
        {1332, 0.10, 22, 0.3}, {1228, 0.08, 20, 0.3}, {1124, 0.19, 18, 0.3}, {1062, 0.64, 18, 0.3},
        {1012, 0.22, 16, 0.3}, {891, 0.09, 14, 0.3}, {729, 0.26, 8, 0.2}, {720, 0.23, 8, 0.2},
        {617, 0.20, 90, 0.7}}},
    {"acid-C", "acid", 1.35, 1.580, 19, {
        {3020, 0.36, 430, 0.9}, {2660, 0.22, 170, 0.8}, {2550, 0.20, 130, 0.8}, {3072, 0.14, 14, 0.3},
        {1689, 1.24, 22, 0.3}, {1605, 0.30, 11, 0.2}, {1584, 0.24, 10, 0.2}, {1498, 0.11, 10, 0.2},
        {1454, 0.36, 12, 0.2}, {1426, 0.52, 16, 0.3}, {1328, 0.42, 20, 0.3}, {1293, 0.92, 22, 0.3},
        {1181, 0.22, 12, 0.2}, {1128, 0.13, 10, 0.2}, {1028, 0.12, 9, 0.2}, {936, 0.46, 42, 0.6},
        {709, 0.74, 12, 0.2}, {668, 0.22, 12, 0.2}, {551, 0.20, 16, 0.3}}},
    {"amide-D", "amide", 1.30, 1.590, 18, {
        {3368, 0.62, 70, 0.7}, {3176, 0.58, 110, 0.8}, {3062, 0.13, 18, 0.3}, {2930, 0.09, 30, 0.4},
        {1660, 1.22, 26, 0.4}, {1627, 0.72, 24, 0.4}, {1578, 0.34, 12, 0.2}, {1494, 0.13, 10, 0.2},
        {1449, 0.32, 12, 0.2}, {1404, 0.66, 18, 0.3}, {1297, 0.18, 14, 0.3}, {1184, 0.15, 12, 0.2},
        {1142, 0.20, 12, 0.2}, {1026, 0.12, 9, 0.2}, {918, 0.09, 12, 0.2}, {790, 0.30, 22, 0.4},
        {704, 0.42, 13, 0.2}, {638, 0.36, 50, 0.7}}},
    {"ester-E", "ester", 1.20, 1.520, 17, {
        {2987, 0.20, 16, 0.3}, {2945, 0.22, 22, 0.3}, {2871, 0.10, 20, 0.3}, {1742, 1.18, 15, 0.3},
        {1466, 0.18, 16, 0.3}, {1446, 0.16, 14, 0.3}, {1392, 0.14, 10, 0.2}, {1368, 0.28, 12, 0.2},
        {1301, 0.34, 16, 0.3}, {1241, 1.02, 24, 0.3}, {1184, 0.62, 20, 0.3}, {1098, 0.42, 18, 0.3},
        {1042, 0.60, 18, 0.3}, {937, 0.13, 14, 0.2}, {860, 0.17, 13, 0.2}, {786, 0.12, 13, 0.2},
        {633, 0.15, 18, 0.3}}},
    {"aromatic-F", "aromatic", 1.22, 1.640, 16, {
        {3078, 0.12, 10, 0.2}, {3056, 0.24, 11, 0.2}, {3028, 0.17, 10, 0.2}, {1952, 0.05, 15, 0.3},
        {1880, 0.05, 15, 0.3}, {1809, 0.05, 15, 0.3}, {1597, 0.42, 9, 0.2}, {1570, 0.20, 8, 0.2},
        {1489, 0.76, 8, 0.2}, {1449, 0.54, 8, 0.2}, {1176, 0.16, 8, 0.2}, {1073, 0.22, 8, 0.2},
        {1030, 0.20, 7, 0.2}, {908, 0.24, 9, 0.2}, {756, 1.10, 10, 0.2}, {694, 1.32, 9, 0.2}}},
    {"carbonate-G", "carbonate", 2.65, 1.600, 7, {
        {1434, 1.06, 92, 0.5}, {1482, 0.20, 60, 0.5}, {876, 0.72, 11, 0.2}, {713, 0.26, 9, 0.2},
        {1796, 0.06, 14, 0.2}, {2514, 0.08, 40, 0.5}, {2874, 0.04, 50, 0.5}}},
    {"sulfate-H", "sulfate", 2.60, 1.500, 8, {
        {1118, 1.16, 58, 0.4}, {1152, 0.52, 34, 0.4}, {1078, 0.32, 34, 0.4}, {983, 0.08, 8, 0.2},
        {638, 0.42, 16, 0.2}, {617, 0.62, 17, 0.2}, {2138, 0.03, 26, 0.5}, {471, 0.10, 18, 0.3}}},
    {"hydrochloride-I", "hydrochloride", 1.28, 1.575, 21, {
        {2980, 0.34, 46, 0.6}, {2806, 0.36, 120, 0.8}, {2650, 0.52, 130, 0.8}, {2540, 0.46, 100, 0.8},
        {2448, 0.32, 80, 0.8}, {3060, 0.14, 14, 0.3}, {1588, 0.42, 22, 0.4}, {1498, 0.30, 10, 0.2},
        {1474, 0.50, 14, 0.2}, {1457, 0.62, 12, 0.2}, {1396, 0.36, 14, 0.2}, {1334, 0.20, 10, 0.2},
        {1216, 0.40, 14, 0.2}, {1164, 0.30, 12, 0.2}, {1086, 0.46, 12, 0.2}, {1028, 0.42, 10, 0.2},
        {974, 0.28, 10, 0.2}, {880, 0.18, 10, 0.2}, {762, 1.02, 11, 0.2}, {700, 1.14, 10, 0.2},
        {566, 0.30, 14, 0.2}}},
    {"nitrile-J", "nitrile", 1.25, 1.600, 15, {
        {3092, 0.11, 10, 0.2}, {3064, 0.15, 10, 0.2}, {2929, 0.08, 18, 0.3}, {2229, 0.86, 8, 0.2},
        {1606, 0.62, 10, 0.2}, {1507, 0.74, 10, 0.2}, {1412, 0.32, 9, 0.2}, {1306, 0.20, 9, 0.2},
        {1279, 0.26, 10, 0.2}, {1178, 0.38, 9, 0.2}, {1119, 0.16, 8, 0.2}, {1017, 0.22, 8, 0.2},
        {838, 1.26, 12, 0.2}, {776, 0.20, 9, 0.2}, {548, 0.74, 9, 0.2}}},
    {"polymer-K", "polymer", 1.05, 1.510, 13, {
        {2952, 0.72, 30, 0.4}, {2919, 0.80, 30, 0.4}, {2870, 0.42, 24, 0.4}, {2840, 0.44, 22, 0.4},
        {1458, 0.72, 24, 0.4}, {1376, 0.98, 16, 0.3}, {1304, 0.12, 14, 0.3}, {1256, 0.11, 16, 0.3},
        {1168, 0.34, 18, 0.3}, {998, 0.40, 13, 0.2}, {973, 0.38, 13, 0.2}, {841, 0.36, 13, 0.2},
        {809, 0.16, 12, 0.2}}},
    {"hydrate-L", "hydrate", 2.10, 1.530, 11, {
        {3546, 0.68, 46, 0.5}, {3408, 0.80, 84, 0.6}, {3242, 0.20, 70, 0.7}, {1685, 0.20, 22, 0.3},
        {1621, 0.56, 20, 0.3}, {1146, 1.10, 46, 0.4}, {1116, 0.78, 36, 0.4}, {1004, 0.08, 10, 0.2},
        {669, 0.58, 22, 0.3}, {602, 0.52, 20, 0.3}, {466, 0.18, 30, 0.4}}},
    {"amine-M", "amine", 1.20, 1.600, 19, {
        {3448, 0.40, 30, 0.4}, {3358, 0.58, 36, 0.4}, {3216, 0.20, 50, 0.6}, {3034, 0.17, 14, 0.2},
        {2920, 0.12, 24, 0.3}, {1622, 0.72, 22, 0.3}, {1603, 0.34, 12, 0.2}, {1516, 1.18, 11, 0.2},
        {1448, 0.20, 11, 0.2}, {1378, 0.10, 10, 0.2}, {1284, 0.76, 18, 0.3}, {1176, 0.42, 10, 0.2},
        {1120, 0.20, 10, 0.2}, {1043, 0.12, 9, 0.2}, {934, 0.09, 9, 0.2}, {822, 0.86, 12, 0.2},
        {752, 0.16, 10, 0.2}, {690, 0.28, 44, 0.6}, {508, 0.42, 12, 0.2}}},
};
const size_t pellet_synth_compound_count = sizeof pellet_synth_compounds / sizeof pellet_synth_compounds[0];

const struct pellet_synth_compound pellet_synth_polystyrene = {"polystyrene", "film", 1.05, 1.590, 16, {
    {3082.0, 0.07, 8, 0.2}, {3060.0, 0.16, 10, 0.2}, {3026.0, 0.30, 11, 0.2}, {3001.0, 0.08, 8, 0.2},
    {2923.0, 0.33, 22, 0.3}, {2849.5, 0.18, 16, 0.3}, {1942.9, 0.045, 14, 0.3}, {1601.2, 0.15, 8, 0.2},
    {1583.0, 0.045, 7, 0.2}, {1493.0, 0.33, 8, 0.2}, {1452.0, 0.36, 10, 0.2}, {1154.5, 0.05, 9, 0.2},
    {1069.0, 0.05, 12, 0.2}, {1028.3, 0.14, 8, 0.2}, {906.6, 0.07, 10, 0.2}, {699.0, 0.60, 10, 0.2}}};
// clang-format on

const struct pellet_synth_compound *pellet_synth_compound_find(const char *id)
{
    for (size_t i = 0; i < pellet_synth_compound_count; i++) {
        if (strcmp(pellet_synth_compounds[i].id, id) == 0)
            return &pellet_synth_compounds[i];
    }
    return NULL;
}

/* -1..1 */
static double uniform(gsl_rng *rng)
{
    return 2.0 * gsl_rng_uniform(rng) - 1.0;
}

void pellet_synth_compound_vary(const struct pellet_synth_compound *from, double shift_cm1, double spread,
                                unsigned long seed, struct pellet_synth_compound *relative)
{
    struct pellet_synth_compound made = *from;
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_mt19937);
    if (rng) {
        gsl_rng_set(rng, seed);
        made.index += 0.02 * uniform(rng);
        for (size_t i = 0; i < made.band_count; i++) {
            struct pellet_synth_band *band = &made.band[i];
            band->at_cm1 += shift_cm1 * uniform(rng);
            band->absorptivity *= 1.0 + spread * uniform(rng);
            band->width_cm1 *= 1.0 + spread * uniform(rng);
        }
        gsl_rng_free(rng);
    }
    *relative = made;
}

/* Beyond this many half widths a Gauss curve is below 1e-12. */
#define GAUSS_REACH 6.5

double pellet_synth_band_shape(double offset, double width, double gauss)
{
    const double x = offset / (0.5 * width), square = x * x;
    const double lorentz = 1.0 / (1.0 + square);
    if (!(gauss > 0.0) || square > GAUSS_REACH * GAUSS_REACH)
        return (1.0 - gauss) * lorentz;
    return (1.0 - gauss) * lorentz + gauss * exp(-M_LN2 * square);
}

/*
 * A Lorentz band of peak k0 adds -k0 x / (1 + x^2) to the index, x in half widths (the classical oscillator
 * close to its centre); the Gauss share is given the same wings, which is exact only far from the band.
 */
void pellet_synth_compound_at(const struct pellet_synth_compound *compound, double wavenumber,
                              double *absorptivity, double *dispersion)
{
    double sum = 0.0, swing = 0.0;
    for (size_t i = 0; i < compound->band_count; i++) {
        const struct pellet_synth_band *band = &compound->band[i];
        const double offset = wavenumber - band->at_cm1, x = offset / (0.5 * band->width_cm1);
        sum += band->absorptivity * pellet_synth_band_shape(offset, band->width_cm1, band->gauss);
        swing -= band->absorptivity / band->at_cm1 * x / (1.0 + x * x);
    }
    *absorptivity = sum;
    *dispersion = swing * 1e3 * compound->density * M_LN10 / (4.0 * M_PI);
}
