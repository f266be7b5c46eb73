// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/residue_match.h"

#include "checks/earlier.h"
#include "checks/ripple_curve.h"
#include "checks/view.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define HEIGHT_SHARE  0.1   /* of the strongest: lower bands of the earlier sample add mostly noise */
#define WIDTH_MAX     150.0 /* cm-1: broader ones, as of hydrogen-bonded O-H, are in most spectra */
#define SHARED_SHARE  0.35  /* of the earlier band's height: more is not carry-over */
#define SHARE_LEAST   0.015 /* of the earlier sample: below it 0.7 A leave half the usual limit */
#define SHARE_STEP    1.5   /* from one supposed share to the next */
#define SHARE_SLACK   2.0   /* a supposed share may be wrong by this factor */
#define TELLS         0.5   /* of the supposed share: a band that is known worse than that says nothing */
#define SIGMAS_LEAST  4.0   /* of a coefficient */
#define CERTAIN       0.1   /* of the supposed share: no band counts as known better than that */
#define WINDOW_WIDTHS 0.75  /* of the comparison, full widths to each side, */
#define WINDOW_POINTS 4.0   /* but so many points at least */

/* Window of the derivative in widths of each band: the narrow ones for crowded places and for bands that are
 * two, the wide one for noise.
 */
static const double derivative_widths[] = {0.6, 1.2, 2.0};

/* A band of the earlier sample that may be compared, and what it says by itself. */
struct candidate {
    const struct pellet_band *band;
    double window;       /* of the derivative, cm-1: the one by which the share is known better */
    double share, sigma; /* of the earlier sample, as this band alone has it */
    double norm;         /* root of the sum of squares of the earlier curve's derivative */
};

/* One comparison at work, on the grid of the measurement. */
struct search {
    const struct pellet_measurement *measurement;
    double *calm;                   /* A without the fringes, which are as narrow as bands */
    double *pattern, *here, *there; /* the earlier curve; both derivatives where they are compared */
    unsigned char *use;
    size_t count;
    struct candidate *candidate, *chosen;
};

/* Marks on points: compared; compared because of the band in hand. */
enum { IN_USE = 1, NOW_IN_USE = 2 };

/* Whether this spectrum has more at a band of the earlier sample than carry-over can explain. */
static bool is_shared(const struct pellet_measurement *measurement, const struct pellet_band *band)
{
    for (size_t i = 0; i < measurement->band_count; i++) {
        const struct pellet_band *own = &measurement->band[i];
        if (fabs(own->at_cm1 - band->at_cm1) <= 0.5 * (own->width_cm1 + band->width_cm1) &&
            own->height > SHARED_SHARE * band->height)
            return true;
    }
    return false;
}

/* Less the mean of what is taken just now. */
static void take_out_mean(double *y, const unsigned char *use, size_t first, size_t last)
{
    double sum = 0.0, n = 0.0;

    for (size_t i = first; i < last; i++) {
        sum += use[i] == NOW_IN_USE ? y[i] : 0.0;
        n += use[i] == NOW_IN_USE ? 1.0 : 0.0;
    }
    for (size_t i = first; i < last; i++)
        y[i] -= use[i] == NOW_IN_USE ? sum / n : 0.0;
}

/*
 * Both second derivatives about one band, less their means, because a broad background bends alike all over
 * the band; times `weight`. Points that a stronger band has taken stay with it.
 */
static pellet_status derive_about(struct search *search, const struct pellet_band *band, double window,
                                  double weight)
{
    const struct pellet_measurement *measurement = search->measurement;
    const struct pellet_grid grid = pellet_measurement_grid(measurement);
    const double half = fmax(WINDOW_WIDTHS * band->width_cm1, WINDOW_POINTS * measurement->spacing);
    size_t first, last, low, high;

    pellet_grid_window(grid, band->at_cm1 - half - window, band->at_cm1 + half + window, &first, &last);
    pellet_grid_window(grid, band->at_cm1 - half, band->at_cm1 + half, &low, &high);
    const struct pellet_grid part = {last - first, grid.wavenumber + first};
    double *here = malloc(2 * (part.n + 1) * sizeof *here);
    if (here == NULL)
        return PELLET_E_MEMORY;
    double *there = here + part.n;
    pellet_status status = pellet_second_derivative(part, search->calm + first, window, here);
    if (status == PELLET_OK)
        status = pellet_second_derivative(part, search->pattern + first, window, there);
    for (size_t i = low; status == PELLET_OK && i < high; i++) {
        if (search->use[i] || isnan(here[i - first]) || isnan(there[i - first]))
            continue;
        search->use[i] = NOW_IN_USE;
        search->here[i] = weight * here[i - first];
        search->there[i] = weight * there[i - first];
    }
    take_out_mean(search->here, search->use, low, high);
    take_out_mean(search->there, search->use, low, high);
    for (size_t i = low; i < high; i++)
        search->use[i] = search->use[i] ? IN_USE : 0;
    free(here);
    return status;
}

/*
 * Fit the pattern around some candidates; fails where it cannot be fitted. Each band counts by how well it
 * knows the share, as in any mean of values of unequal worth, but none so much that the others no longer do.
 */
static pellet_status fit_pattern(struct search *search, const struct candidate *candidate, size_t count,
                                 double share, struct checks_residue_match *match, struct pellet_pattern *fit)
{
    memset(search->use, 0, search->measurement->n);
    match->low_cm1 = INFINITY;
    match->high_cm1 = -INFINITY;
    for (size_t i = 0; i < count; i++) {
        const struct pellet_band *band = candidate[i].band;
        const double half = fmax(band->width_cm1, WINDOW_POINTS * search->measurement->spacing);
        const double weight = 1.0 / (candidate[i].norm * hypot(candidate[i].sigma, CERTAIN * share));
        const pellet_status status = derive_about(search, band, candidate[i].window, weight);
        if (status != PELLET_OK)
            return status;
        match->low_cm1 = fmin(match->low_cm1, band->at_cm1 - half);
        match->high_cm1 = fmax(match->high_cm1, band->at_cm1 + half);
    }
    return pellet_pattern_fit(pellet_measurement_grid(search->measurement), search->here, search->there,
                              search->use, match->low_cm1, match->high_cm1, 0.0, fit);
}

/*
 * Least squares of one curve on the other, both without their means. A derivative over `window` leaves about
 * two independent points in it: the rest's standard deviation is worth no more than these.
 */
static void fit_share(const struct search *search, struct candidate *candidate)
{
    double there = 0.0, both = 0.0, rest = 0.0, n = 0.0;

    for (size_t i = 0; i < search->measurement->n; i++) {
        if (!search->use[i])
            continue;
        there += search->there[i] * search->there[i];
        both += search->here[i] * search->there[i];
        n += 1.0;
    }
    candidate->share = both / there;
    candidate->norm = sqrt(there);
    for (size_t i = 0; i < search->measurement->n; i++) {
        const double left = search->here[i] - candidate->share * search->there[i];
        rest += search->use[i] ? left * left : 0.0;
    }
    candidate->sigma =
        sqrt(rest / (n - 2.0) / there * fmax(1.0, 0.5 * candidate->window / search->measurement->spacing));
}

/*
 * What one band says by itself, through the window that says it best. Where the sample's own curve bends, or
 * the noise is as strong as the band, much is left over and the share is known badly: infinitely so where
 * nothing can be said. Fails for want of memory only.
 */
static pellet_status ask_band(struct search *search, const struct pellet_band *band,
                              struct candidate *candidate)
{
    *candidate = (struct candidate){.sigma = INFINITY};
    for (size_t i = 0; i < sizeof derivative_widths / sizeof derivative_widths[0]; i++) {
        struct candidate tried = {.band = band, .window = derivative_widths[i] * band->width_cm1};
        memset(search->use, 0, search->measurement->n);
        const pellet_status status = derive_about(search, band, tried.window, 1.0);
        if (status == PELLET_E_MEMORY)
            return status;
        if (status != PELLET_OK)
            continue;
        fit_share(search, &tried);
        if (tried.sigma < candidate->sigma)
            *candidate = tried;
    }
    return PELLET_OK;
}

/* The earlier sample's bands that may be compared: narrow, covered here, not shared. */
static pellet_status find_candidates(struct search *search, const struct checks_earlier *curve,
                                     const struct pellet_band *scale)
{
    for (size_t i = 0; i < curve->band_count; i++) {
        const struct pellet_band *band = &curve->band[i];
        struct candidate *candidate = &search->candidate[search->count];
        if (band->height < HEIGHT_SHARE * scale->height || band->width_cm1 > WIDTH_MAX ||
            checks_is_everywhere(band) || is_shared(search->measurement, band) ||
            !checks_covers(search->measurement, band->at_cm1 - WINDOW_WIDTHS * band->width_cm1,
                           band->at_cm1 + band->width_cm1))
            continue;
        if (ask_band(search, band, candidate) != PELLET_OK)
            return PELLET_E_MEMORY;
        if (isfinite(candidate->sigma))
            search->count++;
    }
    return PELLET_OK;
}

/*
 * The bands to compare on the supposition that this spectrum holds `share` of the earlier one: those that can
 * tell it from nothing, and do not show more, which would be the sample's own. Bands that are missing here
 * stay and speak against it.
 */
static size_t choose_bands(struct search *search, double share)
{
    size_t kept = 0;

    for (size_t i = 0; i < search->count; i++) {
        const struct candidate *candidate = &search->candidate[i];
        if (candidate->sigma <= TELLS * share &&
            candidate->share - SIGMAS_LEAST * candidate->sigma <= SHARE_SLACK * share)
            search->chosen[kept++] = *candidate;
    }
    return kept;
}

/*
 * Suppose one share after another, and believe the fit that bears its own supposition out and matches best.
 */
static pellet_status try_shares(struct search *search, const struct pellet_band *scale,
                                struct checks_residue_match *best)
{
    for (double share = SHARE_LEAST; share < SHARED_SHARE; share *= SHARE_STEP) {
        struct checks_residue_match match = {.name = best->name};
        struct pellet_pattern fit;

        match.bands = choose_bands(search, share);
        if (match.bands < CHECKS_RESIDUE_BANDS_LEAST)
            continue;
        const pellet_status status = fit_pattern(search, search->chosen, match.bands, share, &match, &fit);
        if (status == PELLET_E_MEMORY)
            return status;
        if (status != PELLET_OK)
            continue;
        if (fit.coefficient > SIGMAS_LEAST * fit.sigma && fit.coefficient >= share / SHARE_SLACK &&
            fit.coefficient <= share * SHARE_SLACK) {
            match.r = fit.r;
            match.height = fit.coefficient * scale->height;
        }
        if (best->bands < CHECKS_RESIDUE_BANDS_LEAST || match.r > best->r)
            *best = match;
    }
    return PELLET_OK;
}

static void search_close(struct search *search)
{
    free(search->calm);
    free(search->pattern);
    free(search->use);
    free(search->candidate);
    *search = (struct search){0};
}

static pellet_status search_open(const struct pellet_measurement *measurement,
                                 const struct checks_earlier *curve, struct search *search)
{
    const size_t n = measurement->n;

    *search = (struct search){.measurement = measurement,
                              .calm = checks_without_ripple(measurement),
                              .pattern = malloc(3 * n * sizeof(double)),
                              .use = malloc(n),
                              .candidate = malloc(2 * (curve->band_count + 1) * sizeof(struct candidate))};
    if (search->calm == NULL || search->pattern == NULL || search->use == NULL || search->candidate == NULL)
        return PELLET_E_MEMORY;
    search->here = search->pattern + n;
    search->there = search->here + n;
    search->chosen = search->candidate + curve->band_count + 1;
    return pellet_grid_resample((struct pellet_grid){curve->n, curve->wavenumber}, curve->absorbance,
                                pellet_measurement_grid(measurement), search->pattern);
}

pellet_status checks_residue_compare(const struct pellet_measurement *measurement,
                                     const struct pellet_earlier *earlier, struct checks_residue_match *match,
                                     bool *serves)
{
    const char *own = measurement->inputs->subject.sample, *name = earlier->source.sample;
    struct search search = {0};
    struct checks_earlier curve;
    pellet_status status;

    *serves = false;
    *match = (struct checks_residue_match){.name = name != NULL ? name : earlier->source.file};
    if (earlier->source.spectrum == NULL || (own != NULL && name != NULL && strcmp(own, name) == 0))
        return PELLET_OK;
    status = checks_earlier_open(earlier, &curve);
    if (status != PELLET_OK)
        return status == PELLET_E_MEMORY ? status : PELLET_OK;
    const struct pellet_band *scale = checks_earlier_scale(measurement, &curve);
    if (scale != NULL) {
        status = search_open(measurement, &curve, &search);
        *serves = status == PELLET_OK;
        if (status == PELLET_OK)
            status = find_candidates(&search, &curve, scale);
        if (status == PELLET_OK)
            status = try_shares(&search, scale, match);
    }
    search_close(&search);
    checks_earlier_close(&curve);
    return status == PELLET_E_MEMORY ? status : PELLET_OK;
}
