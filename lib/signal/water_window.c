// SPDX-License-Identifier: GPL-3.0-or-later
/* A window's data, and the sample's bands in it. */
#include "signal/water_window.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "pellet/reference.h"

/* A band of the sample hides this many of its widths to each side; its flanks beyond are fitted. */
static const double CORE_WIDTHS = 1.2;
/* and what is this broad is the background's or water's own. */
static const double SAMPLE_WIDTH_MAX = 600;
/* Bands lower than this (A) do not matter beside the water that does. */
static const double SAMPLE_HEIGHT = 0.02;
/* and narrower ones (cm-1) are noise more often than bands. */
static const double SAMPLE_WIDTH_MIN = 5;
/* Flanks are fitted of bands within this distance of the window (cm-1). */
static const double TAIL_REACH = 150;

void signal_water_window_clear(struct signal_water_window *window)
{
    free(window->x);
    memset(window, 0, sizeof *window);
}

/* The mean of the usable points of one step is appended; returns how many there were. */
static size_t add_step(struct pellet_grid grid, const double *y, double low, double high,
                       struct signal_water_window *window)
{
    size_t first, last, count = 0;
    double x = 0, sum = 0;

    pellet_grid_window(grid, low, high, &first, &last);
    for (size_t i = first; i < last; i++) {
        const bool in_air = grid.wavenumber[i] >= PELLET_CO2_LOW && grid.wavenumber[i] <= PELLET_CO2_HIGH;

        if (isnan(y[i]) || in_air)
            continue;
        x += grid.wavenumber[i];
        sum += y[i];
        count++;
    }
    if (count > 0) {
        window->x[window->n] = x / (double)count;
        window->y[window->n++] = sum / (double)count;
    }
    return count;
}

static bool in_zone(const struct signal_water_kind *kind, const struct pellet_band *band)
{
    return fabs(band->at_cm1 - kind->centre) < kind->zone;
}

static bool is_sample(const struct signal_water_kind *kind, const struct pellet_band *band)
{
    if (band->height < SAMPLE_HEIGHT || band->width_cm1 < SAMPLE_WIDTH_MIN ||
        band->at_cm1 < kind->low - TAIL_REACH || band->at_cm1 > kind->high + TAIL_REACH)
        return false;
    if (in_zone(kind, band))
        return band->width_cm1 < kind->sample_width;
    return band->width_cm1 < SAMPLE_WIDTH_MAX;
}

/* What the flank of a band that is fitted does in the middle of water's band, as far as a Lorentz
 * curve goes. */
static double flank_of(const struct signal_water_window *window, size_t k)
{
    const double v = 2 * (window->kind->centre - window->tail_at[k]) / window->tail_width[k];

    return window->tail_height[k] / (1 + v * v);
}

/* Bands come strongest first; where there are too many, those whose flanks matter most are fitted. */
static void remember_flank(const struct pellet_band *band, bool broad, struct signal_water_window *window)
{
    size_t place = window->tails;
    const double v = 2 * (window->kind->centre - band->at_cm1) / band->width_cm1;

    if (window->tails == SIGNAL_TAILS_MAX) {
        place = 0;
        for (size_t k = 1; k < window->tails; k++)
            place = flank_of(window, k) < flank_of(window, place) ? k : place;
        if (band->height / (1 + v * v) <= flank_of(window, place))
            return;
    } else {
        window->tails++;
    }
    window->tail_at[place] = band->at_cm1;
    window->tail_width[place] = band->width_cm1;
    window->tail_height[place] = band->height;
    window->tail_broad[place] = broad;
}

static void cover_band(const struct pellet_band *band, struct signal_water_window *window)
{
    const bool broad = band->width_cm1 > window->kind->broad_width;

    for (size_t i = 0; !broad && i < window->n; i++) {
        if (fabs(window->x[i] - band->at_cm1) < CORE_WIDTHS * band->width_cm1)
            window->covered[i] = 1;
    }
    remember_flank(band, broad, window);
}

/* The cores of the sample's bands stop counting; their flanks are remembered. */
static void cover_bands(const struct pellet_band *band, size_t count, bool zone_too,
                        struct signal_water_window *window)
{
    const struct signal_water_kind *kind = window->kind;
    double seen = 0, all = 0;

    window->tails = 0;
    memset(window->covered, 0, window->n);
    for (size_t b = 0; b < count; b++) {
        if (is_sample(kind, &band[b]) && (zone_too || !in_zone(kind, &band[b])))
            cover_band(&band[b], window);
    }
    for (size_t i = 0; i < window->n; i++) {
        if (fabs(window->x[i] - kind->centre) > kind->half)
            continue;
        seen += !window->covered[i];
        all++;
    }
    window->hidden = !(seen >= kind->seen_min * all);
}

void signal_water_window_uncover(struct signal_water_window *window, const struct pellet_band *band,
                                 size_t count)
{
    cover_bands(band, count, false, window);
}

void signal_water_window_drop_covered(struct signal_water_window *window)
{
    size_t kept = 0;

    for (size_t i = 0; i < window->n; i++) {
        if (window->covered[i])
            continue;
        window->x[kept] = window->x[i];
        window->y[kept++] = window->y[i];
    }
    window->n = kept;
    memset(window->covered, 0, kept);
}

pellet_status signal_water_window_make(struct pellet_grid grid, const double *y, double noise,
                                       const struct pellet_band *band, size_t count,
                                       const struct signal_water_kind *kind,
                                       struct signal_water_window *window)
{
    const double step = fmax(kind->step, pellet_grid_spacing(grid));
    const size_t steps = (size_t)ceil((kind->high - kind->low) / step);
    size_t points = 0;

    memset(window, 0, sizeof *window);
    window->kind = kind;
    window->background = kind->background;
    window->x = malloc((6 + SIGNAL_WATER_TERMS) * steps * sizeof *window->x + steps);
    if (window->x == NULL)
        return PELLET_E_MEMORY;
    window->y = window->x + steps;
    window->rest = window->y + steps;
    window->doubt = window->rest + steps;
    window->scratch = window->doubt + steps;
    window->outside = window->scratch + steps;
    window->row = (double(*)[SIGNAL_WATER_TERMS])(window->outside + steps);
    window->covered = (unsigned char *)(window->row + steps);
    for (size_t k = 0; k < steps; k++)
        points += add_step(grid, y, kind->low + (double)k * step, kind->low + (double)(k + 1) * step, window);
    if (window->n < steps * 2 / 3) {
        signal_water_window_clear(window);
        return PELLET_OK;
    }
    window->noise = noise / sqrt((double)points / (double)window->n);
    cover_bands(band, count, true, window);
    return PELLET_OK;
}
