// SPDX-License-Identifier: GPL-3.0-or-later
#include "judge/ratio.h"

#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

/* Two statements of one setting agree as numbers ("4" and "4.0"), else as words whatever the case. */
static bool settings_agree(const char *a, const char *b)
{
    double x = 0.0, y = 0.0;

    if (pellet_number_parse(a, strlen(a), '.', &x) == PELLET_OK &&
        pellet_number_parse(b, strlen(b), '.', &y) == PELLET_OK)
        return fabs(x - y) <= 1e-6 * fmax(fabs(x), fabs(y));
    return strcasecmp(a, b) == 0;
}

static bool resolution_conflict(const struct pellet_spectrum *a, const struct pellet_spectrum *b, char *why,
                                size_t size)
{
    if (isnan(a->resolution) || isnan(b->resolution) ||
        fabs(a->resolution - b->resolution) <= 1e-3 * fmax(a->resolution, b->resolution))
        return false;
    snprintf(why, size, "resolution %g and %g cm-1", a->resolution, b->resolution);
    return true;
}

static bool spacing_conflict(const struct pellet_spectrum *a, const struct pellet_spectrum *b, char *why,
                             size_t size)
{
    const double da = pellet_grid_spacing((struct pellet_grid){a->n, a->wavenumber});
    const double db = pellet_grid_spacing((struct pellet_grid){b->n, b->wavenumber});

    if (fabs(da - db) <= PELLET_SPACING_TOLERANCE * fmax(da, db))
        return false;
    snprintf(why, size, "points every %.4g and every %.4g cm-1", da, db);
    return true;
}

bool pellet_ratio_conflict(const struct pellet_spectrum *subject, const struct pellet_spectrum *reference,
                           char *why, size_t size)
{
    why[0] = '\0';
    if (resolution_conflict(subject, reference, why, size))
        return true;
    /* The resolution stands as a number of its own; which instrument it was is for the record only. */
    for (int i = PELLET_SETTING_SCANS; i <= PELLET_SETTING_DETECTOR; i++) {
        const char *a = subject->setting[i], *b = reference->setting[i];
        if (a != NULL && b != NULL && !settings_agree(a, b)) {
            snprintf(why, size, "%s %.40s and %.40s", pellet_setting_id((enum pellet_setting)i), a, b);
            return true;
        }
    }
    return spacing_conflict(subject, reference, why, size);
}

pellet_status pellet_beam_noise(struct pellet_grid grid, const double *beam, double *sigma)
{
    static const struct {
        double low, high;
    } windows[] = {{2000.0, 2200.0}, {2500.0, 2700.0}};
    double least = NAN;

    for (size_t i = 0; i < sizeof windows / sizeof windows[0]; i++) {
        struct pellet_noise noise;
        const pellet_status status = pellet_noise_window(grid, beam, windows[i].low, windows[i].high, &noise);
        if (status == PELLET_E_MEMORY)
            return status;
        if (status == PELLET_OK)
            least = fmin(least, noise.rms); /* fmin passes over NaN */
    }
    *sigma = least;
    return PELLET_OK;
}
