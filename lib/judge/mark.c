// SPDX-License-Identifier: GPL-3.0-or-later
#include "judge/mark.h"

#include "checks/ripple_curve.h"
#include "pellet/reference.h"

#include <math.h>
#include <stdlib.h>

/* The range where most samples have no band and the air only carbon dioxide. */
#define CLEAR_LOW_CM1   1900.0
#define CLEAR_HIGH_CM1  2700.0
#define BELOW_ACIDS_CM1 2300.0
/* Longer waves are not fringes of a pellet: 60 cm-1 are 0.05 mm of it. */
#define PERIOD_HIGH_CM1 60.0
/* Structure wider than this is the baseline's. */
#define BASELINE_WIDTH_CM1 700.0
#define SWELLING_HEIGHT_A  0.02
#define SWELLING_WIDTH_CM1 60.0
/* What stands off the baseline by less than this share of a band's height is clear ground. */
#define FOOT_SHARE 0.05
/* A dip wider than this is the baseline's, as in the check `inverted`. */
#define DIP_WIDTH_CM1 60.0
#define DIP_SIGMA     5.0

static struct pellet_grid grid_of(const struct pellet_measurement *m)
{
    return (struct pellet_grid){m->n, m->wavenumber};
}

/* A curve in the clear range, the room's carbon dioxide left out. */
static double *clear_curve(const struct pellet_measurement *m, const double *y)
{
    double *curve = malloc((m->n ? m->n : 1) * sizeof *curve);

    for (size_t i = 0; curve != NULL && i < m->n; i++) {
        const double nu = m->wavenumber[i];
        curve[i] =
            nu >= CLEAR_LOW_CM1 && nu <= CLEAR_HIGH_CM1 && !(m->mark[i] & PELLET_POINT_CO2) ? y[i] : NAN;
    }
    return curve;
}

/* The ripple of a window at the points that no band covers that is none of its crests. E_SHORT: bands fill
 * it.
 */
static pellet_status find_ripple_in(struct pellet_measurement *m, const double *y, struct pellet_limit window)
{
    const double finest = isnan(m->resolution) ? 0.0 : m->resolution;
    struct checks_ripple_curve curve = {0};
    struct pellet_ripple ripple = {0};
    pellet_status status = checks_ripple_curve_open(m, y, window, &curve);

    if (status == PELLET_OK)
        status = pellet_ripple_find((struct pellet_grid){curve.n, curve.x}, curve.y, window.low, window.high,
                                    fmax(finest, 2.0 * m->spacing), PERIOD_HIGH_CM1, &ripple);
    checks_ripple_curve_close(&curve);
    if (status == PELLET_OK)
        m->ripple = ripple;
    return status;
}

/* In the clear range, or in the part of it below the O-H bands of acids. */
static pellet_status find_ripple(struct pellet_measurement *m)
{
    static const struct pellet_limit windows[] = {{CLEAR_LOW_CM1, CLEAR_HIGH_CM1},
                                                  {CLEAR_LOW_CM1, BELOW_ACIDS_CM1}};
    double *y = malloc((m->n ? m->n : 1) * sizeof *y);
    pellet_status status = PELLET_E_SHORT;

    if (y == NULL)
        return PELLET_E_MEMORY;
    for (size_t i = 0; i < m->n; i++)
        y[i] = m->absorbance[i] - m->baseline[i];
    for (size_t i = 0; i < 2 && status == PELLET_E_SHORT; i++)
        status = find_ripple_in(m, y, windows[i]);
    free(y);
    return status == PELLET_E_MEMORY ? status : PELLET_OK;
}

static void drop_crests(struct pellet_measurement *m,
                        bool (*is_crest)(const struct pellet_ripple *, const struct pellet_band *))
{
    size_t kept = 0;

    for (size_t i = 0; i < m->band_count; i++) {
        if (!is_crest(&m->ripple, &m->band[i]) && m->band[i].width_cm1 <= BASELINE_WIDTH_CM1)
            m->band[kept++] = m->band[i];
    }
    m->band_count = kept;
}

pellet_status pellet_ripple_settle(struct pellet_measurement *m)
{
    if (find_ripple(m) != PELLET_OK)
        return PELLET_E_MEMORY;
    drop_crests(m, pellet_ripple_is_crest);
    return PELLET_OK;
}

void pellet_crests_drop(struct pellet_measurement *m)
{
    drop_crests(m, checks_is_rest_of_crest);
}

/*
 * A low, wide swelling is the baseline's as much as a band's, and changes a mean transmittance by less than
 * the limits' own precision: 0.02 A are 4.5 %. It stays in the list, but does not make a clear window
 * unusable.
 */
static bool is_swelling(const struct pellet_band *band)
{
    return band->height < SWELLING_HEIGHT_A && band->width_cm1 > SWELLING_WIDTH_CM1;
}

/*
 * A band reaches to its feet, but no further than two widths, where a Lorentz curve is at 6 % of its top, and
 * no further than it stands off the baseline: the feet of a broad band may lie far out on clear ground.
 */
static void mark_band(struct pellet_measurement *m, const double *calm, const struct pellet_band *band)
{
    const double reach = 2.0 * band->width_cm1;
    size_t first, last;

    pellet_grid_window(grid_of(m), fmax(band->low_cm1, band->at_cm1 - reach),
                       fmin(band->high_cm1, band->at_cm1 + reach), &first, &last);
    for (size_t i = first; i < last; i++) {
        if (!(fabs(calm[i] - m->baseline[i]) <= FOOT_SHARE * band->height))
            m->mark[i] |= PELLET_POINT_BAND;
    }
}

/* What the blank has and the sample has not is no more noise than a band of the sample. */
static pellet_status mark_dips(struct pellet_measurement *m, const double *calm, double noise)
{
    double *curve = clear_curve(m, calm);
    double *flat = calloc(m->n ? m->n : 1, sizeof *flat);
    struct pellet_band *dip = NULL;
    size_t count = 0;
    pellet_status status = PELLET_E_MEMORY;

    if (curve == NULL || flat == NULL)
        goto done;
    for (size_t i = 0; i < m->n; i++)
        curve[i] = fmax(m->baseline[i] - curve[i], isnan(curve[i]) ? NAN : 0.0);
    status = pellet_bands_find(grid_of(m), curve, flat, noise, NULL, &dip, &count);
    if (status != PELLET_OK)
        count = 0;
    for (size_t i = 0; i < count; i++) {
        if (dip[i].width_cm1 < DIP_WIDTH_CM1 && dip[i].height > DIP_SIGMA * noise &&
            !checks_is_rest_of_crest(&m->ripple, &dip[i]))
            mark_band(m, calm, &dip[i]);
    }
done:
    free(dip);
    free(flat);
    free(curve);
    return status == PELLET_E_MEMORY ? status : PELLET_OK;
}

pellet_status pellet_bands_mark(struct pellet_measurement *m, const double *calm, double noise)
{
    for (size_t i = 0; i < m->band_count; i++) {
        if (!is_swelling(&m->band[i]))
            mark_band(m, calm, &m->band[i]);
    }
    return mark_dips(m, calm, noise);
}
