// SPDX-License-Identifier: GPL-3.0-or-later
/* Liquid water: the table of Hale and Querry and what follows from it. */
#include "pellet/reference.h"

#include <math.h>

// clang-format off
const struct pellet_water_row pellet_water_rows[] = {
    /* wavelength (um), n, k */
    {2.6, 1.242, 3.17E-3},
    {2.65, 1.219, 6.70E-3},
    {2.70, 1.188, 0.019},
    {2.75, 1.157, 0.059},
    {2.80, 1.142, 0.115},
    {2.85, 1.149, 0.185},
    {2.90, 1.201, 0.268},
    {2.95, 1.292, 0.298},
    {3.00, 1.371, 0.272},
    {3.05, 1.426, 0.240},
    {3.10, 1.467, 0.192},
    {3.15, 1.483, 0.135},
    {3.20, 1.478, 0.0924},
    {3.25, 1.467, 0.0610},
    {3.30, 1.450, 0.0368},
    {3.35, 1.432, 0.0261},
    {3.40, 1.420, 0.0195},
    {3.45, 1.410, 0.0132},
    {3.50, 1.400, 0.0094},
    {3.6, 1.385, 0.00515},
    {3.7, 1.374, 0.00360},
    {3.8, 1.364, 0.00340},
    {3.9, 1.357, 0.00380},
    {4.0, 1.351, 0.00460},
    {4.1, 1.346, 0.00562},
    {4.2, 1.342, 0.00688},
    {4.3, 1.338, 0.00845},
    {4.4, 1.334, 0.0103},
    {4.5, 1.332, 0.0134},
    {4.6, 1.330, 0.0147},
    {4.7, 1.330, 0.0157},
    {4.8, 1.330, 0.0150},
    {4.9, 1.328, 0.0137},
    {5.0, 1.325, 0.0124},
    {5.1, 1.322, 0.0111},
    {5.2, 1.317, 0.0101},
    {5.3, 1.312, 0.0098},
    {5.4, 1.305, 0.0103},
    {5.5, 1.298, 0.0116},
    {5.6, 1.289, 0.0142},
    {5.7, 1.277, 0.0203},
    {5.8, 1.262, 0.0330},
    {5.9, 1.248, 0.0622},
    {6.0, 1.265, 0.107},
    {6.1, 1.319, 0.131},
    {6.2, 1.363, 0.0880},
    {6.3, 1.357, 0.0570},
    {6.4, 1.347, 0.0449},
    {6.5, 1.339, 0.0392},
    {6.6, 1.334, 0.0356},
    {6.7, 1.329, 0.0337},
    {6.8, 1.324, 0.0327},
    {6.9, 1.321, 0.0322},
    {7.0, 1.317, 0.0320},
    {7.1, 1.314, 0.0320},
    {7.2, 1.312, 0.0321},
    {7.3, 1.309, 0.0322},
    {7.4, 1.307, 0.0324},
    {7.5, 1.304, 0.0326},
    {7.6, 1.302, 0.0328},
    {7.7, 1.299, 0.0331},
    {7.8, 1.297, 0.0335},
    {7.9, 1.294, 0.0339},
    {8.0, 1.291, 0.0343},
    {8.2, 1.286, 0.0351},
    {8.4, 1.281, 0.0361},
    {8.6, 1.275, 0.0372},
    {8.8, 1.269, 0.0385},
    {9.0, 1.262, 0.0399},
    {9.2, 1.255, 0.0415},
    {9.4, 1.247, 0.0433},
    {9.6, 1.239, 0.0454},
    {9.8, 1.229, 0.0479},
    {10.0, 1.218, 0.0508},
    {10.5, 1.185, 0.0662},
    {11.0, 1.153, 0.0968},
    {11.5, 1.126, 0.142},
    {12.0, 1.111, 0.199},
    {12.5, 1.123, 0.259},
    {13.0, 1.146, 0.305},
    {13.5, 1.177, 0.343},
    {14.0, 1.210, 0.370},
    {14.5, 1.241, 0.388},
    {15.0, 1.270, 0.402},
    {15.5, 1.297, 0.414},
    {16.0, 1.325, 0.422},
    {16.5, 1.351, 0.428},
    {17.0, 1.376, 0.429},
    {17.5, 1.401, 0.429},
    {18.0, 1.423, 0.426},
    {18.5, 1.443, 0.421},
    {19.0, 1.461, 0.414},
    {19.5, 1.476, 0.404},
    {20.0, 1.480, 0.393},
    {21.0, 1.487, 0.382},
    {22.0, 1.500, 0.373},
    {23.0, 1.511, 0.367},
    {24.0, 1.521, 0.361},
    {25.0, 1.531, 0.356},
};
// clang-format on
const size_t pellet_water_row_count = sizeof pellet_water_rows / sizeof pellet_water_rows[0];

/* Numbers from memory; see the header. */
const struct pellet_water_band pellet_water_bands[] = {
    {1643.5, 20.8},
    {2127.5, 3.4},
    {3404.0, 99.9},
};
const size_t pellet_water_band_count = sizeof pellet_water_bands / sizeof pellet_water_bands[0];

#define LAST_ROW (sizeof pellet_water_rows / sizeof pellet_water_rows[0] - 1)

enum column { COLUMN_N, COLUMN_K };

static double row_wavenumber(size_t row)
{
    return 1e4 / pellet_water_rows[row].wavelength_um;
}

static double row_value(size_t row, enum column column)
{
    return column == COLUMN_N ? pellet_water_rows[row].n : pellet_water_rows[row].k;
}

/* Slope of the chord from a row to the next. */
static double chord(size_t row, enum column column)
{
    return (row_value(row + 1, column) - row_value(row, column)) /
           (row_wavenumber(row + 1) - row_wavenumber(row));
}

/*
 * The slope at a row, where the chords and pieces before and after it meet: that of the parabola through it
 * and its neighbours, cut back so that the curve stays monotone between rows (Steffen's equation 11).
 */
static double slope_between(double before, double h_before, double after, double h_after)
{
    const double parabola = (before * h_after + after * h_before) / (h_before + h_after);
    const double least = fmin(fmin(fabs(before), fabs(after)), 0.5 * fabs(parabola));
    return (copysign(1.0, before) + copysign(1.0, after)) * least;
}

/* The last row at or above the wavenumber; rows fall in wavenumber. */
static size_t row_above(double wavenumber)
{
    const double wavelength_um = 1e4 / wavenumber;
    size_t low = 0, high = LAST_ROW;
    while (high - low > 1) {
        const size_t middle = low + (high - low) / 2;
        if (pellet_water_rows[middle].wavelength_um <= wavelength_um)
            low = middle;
        else
            high = middle;
    }
    return low;
}

static bool in_table(double wavenumber)
{
    return wavenumber >= row_wavenumber(LAST_ROW) && wavenumber <= row_wavenumber(0);
}

/* At the two ends of the table the slope is the plain chord. */
static double interpolate(double wavenumber, enum column column)
{
    const size_t row = row_above(wavenumber);
    const double start = row_wavenumber(row), h = row_wavenumber(row + 1) - start, x = wavenumber - start;
    const double s = (row_value(row + 1, column) - row_value(row, column)) / h;
    const double from =
        row == 0 ? s : slope_between(chord(row - 1, column), start - row_wavenumber(row - 1), s, h);
    const double to = row + 1 == LAST_ROW ? s
                                          : slope_between(s, h, chord(row + 1, column),
                                                          row_wavenumber(row + 2) - row_wavenumber(row + 1));
    const double a = (from + to - 2.0 * s) / (h * h), b = (3.0 * s - 2.0 * from - to) / h;
    return ((a * x + b) * x + from) * x + row_value(row, column);
}

double pellet_water_k(double wavenumber)
{
    return in_table(wavenumber) ? interpolate(wavenumber, COLUMN_K) : 0.0;
}

double pellet_water_n(double wavenumber)
{
    return in_table(wavenumber) ? interpolate(wavenumber, COLUMN_N) : (double)NAN;
}

double pellet_water_decadic(double wavenumber)
{
    return in_table(wavenumber) ? 4.0 * M_PI * M_LOG10E * pellet_water_k(wavenumber) * wavenumber : 0.0;
}

double pellet_water_absorbance(double wavenumber)
{
    const double layer_cm = 1e-6 / PELLET_WATER_DENSITY;
    return pellet_water_decadic(wavenumber) * layer_cm;
}
