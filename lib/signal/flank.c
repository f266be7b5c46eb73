// SPDX-License-Identifier: GPL-3.0-or-later
/* A band without light at its top, worked out from its flanks. */
#include "pellet/signal.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_blas.h>
#include <gsl/gsl_multifit_nlinear.h>

#include "signal/least.h"

/* Points of the data and of the model's own grid, and neighbours that are fitted along. */
#define DATA_MAX       160
#define FINE_MAX       1200
#define NEIGHBOURS_MAX 5
#define SHOULDERS      2
#define OTHERS_MAX     (NEIGHBOURS_MAX + SHOULDERS)

/* The unknowns of the band itself; three more follow for each neighbour. */
enum { HEIGHT, PLACE, WIDTH, MIX, SKEW, LEVEL, SLOPE, ZERO, OF_BAND };
enum { N_HEIGHT, N_PLACE, N_WIDTH, OF_NEIGHBOUR };
#define UNKNOWNS_MAX (OF_BAND + OF_NEIGHBOUR * OTHERS_MAX)

/* How far the line shape is followed, in units of the resolution. */
static const double LINE_REACH = 8.0;
/* A model of a few smooth bands is not true to more than this: A, and a share of A. It keeps the many points
 * beside the band, which are known far better, from bending it. */
static const double MODEL_ERROR = 0.01, MODEL_ERROR_SHARE = 0.015;
static const size_t TURNS_MAX = 40;
/* Nine in ten of a normal distribution lie within this many standard deviations. */
static const double NINE_IN_TEN = 1.645;
/* A good instrument's false zero is a tenth of a per cent; a top that is flat above zero light speaks for
 * more (T, 1 sigma). */
static const double USUAL_ZERO = 0.001, FLAT_ZERO = 0.02;
/* No model of a band is better than this, as a share of its height (1 sigma). */
static const double LEAST_ERROR = 0.04;
/* Beyond this ratio of its ends an interval says no more than a lower bound. */
static const double INTERVAL_MAX = 2.0;

/* What is known beforehand of each unknown: middle and standard deviation. The mix is a logistic one. */
struct prior {
    double middle, sigma;
};

struct problem {
    size_t n, unknowns, neighbours, others;
    const struct pellet_band *band;
    const struct pellet_band *other[OTHERS_MAX]; /* neighbours that were found, then drowned shoulders */
    struct pellet_band shoulder[SHOULDERS];
    double nu[DATA_MAX], t[DATA_MAX], sigma[DATA_MAX];
    size_t fine_n, taps;
    double fine_low, fine_step;
    double base[FINE_MAX]; /* the baseline, A */
    double beam[FINE_MAX]; /* scratch: the model's transmittance */
    size_t first[DATA_MAX];
    double *weight; /* of the line shape, taps for each data point; owned */
    struct prior prior[UNKNOWNS_MAX];
};

/* ---------------------------------------------------------------- the instrument's line shape */

static double sinc(double x)
{
    return fabs(x) < 1e-6 ? 1.0 : sin(M_PI * x) / (M_PI * x);
}

/* Of unit height; x in units of the resolution, the inverse of the longest path difference. */
static double line_at(enum pellet_line line, double x)
{
    switch (line) {
    case PELLET_LINE_HAPP_GENZEL:
        return 0.54 * sinc(2.0 * x) + 0.23 * (sinc(2.0 * x - 1.0) + sinc(2.0 * x + 1.0));
    case PELLET_LINE_TRIANGULAR:
        return sinc(x) * sinc(x);
    case PELLET_LINE_UNKNOWN:
        break;
    }
    return exp(-4.0 * M_LN2 * x * x / (0.9 * 0.9)); /* as wide at half height as the two others */
}

static bool make_weights(struct problem *problem, enum pellet_line line, double resolution)
{
    const double half = LINE_REACH * resolution;

    problem->taps = 2 * (size_t)(half / problem->fine_step) + 1;
    problem->weight = malloc(problem->n * problem->taps * sizeof *problem->weight);
    if (problem->weight == NULL)
        return false;
    for (size_t i = 0; i < problem->n; i++) {
        double *row = problem->weight + i * problem->taps, sum = 0.0;
        const double place = (problem->nu[i] - problem->fine_low) / problem->fine_step;

        problem->first[i] = (size_t)lround(place) - problem->taps / 2;
        for (size_t k = 0; k < problem->taps; k++) {
            const double offset = ((double)(problem->first[i] + k) - place) * problem->fine_step;
            row[k] = resolution > 0.0 ? line_at(line, offset / resolution) : 1.0;
            sum += row[k];
        }
        for (size_t k = 0; k < problem->taps; k++)
            row[k] /= sum;
    }
    return true;
}

/* ---------------------------------------------------------------- the model */

static double share_of(double logit)
{
    return 1.0 / (1.0 + exp(-logit));
}

/* A Gauss curve below this share of its top (exp(-40)) is nothing beside the noise. */
#define GAUSS_REACH 40.0

static double gauss_at(double x)
{
    const double power = M_LN2 * x * x;
    return power < GAUSS_REACH ? exp(-power) : 0.0;
}

/* The bands of one set of unknowns, worked out once for all points. */
struct curves {
    double height, gauss, skew, place, half;
    size_t others;
    double other_height[OTHERS_MAX], other_place[OTHERS_MAX], other_half[OTHERS_MAX];
};

static struct curves curves_of(const struct problem *problem, const double *p)
{
    const double unit = problem->band->width_cm1;
    struct curves curves = {.height = exp(p[HEIGHT]),
                            .gauss = share_of(p[MIX]),
                            .skew = p[SKEW],
                            .place = problem->band->at_cm1 + p[PLACE] * unit,
                            .half = 0.5 * unit * exp(p[WIDTH]),
                            .others = problem->others};

    for (size_t k = 0; k < problem->others; k++) {
        const struct pellet_band *other = problem->other[k];
        const double *q = p + OF_BAND + OF_NEIGHBOUR * k;
        curves.other_height[k] = other->height * exp(q[N_HEIGHT]);
        curves.other_place[k] = other->at_cm1 + q[N_PLACE] * other->width_cm1;
        curves.other_half[k] = 0.5 * other->width_cm1 * exp(q[N_WIDTH]);
    }
    return curves;
}

/* Absorbance of the band and its neighbours, without level and slope. */
static double bands_at(const struct curves *curves, double nu)
{
    const double x = (nu - curves->place) / curves->half, lorentz = 1.0 / (1.0 + x * x);
    double a = curves->height *
               (curves->gauss * gauss_at(x) + (1.0 - curves->gauss) * lorentz + curves->skew * x * lorentz);

    for (size_t k = 0; k < curves->others; k++) {
        const double y = (nu - curves->other_place[k]) / curves->other_half[k];
        a += curves->other_height[k] * (0.3 * gauss_at(y) + 0.7 / (1.0 + y * y));
    }
    return a;
}

static int residuals(const gsl_vector *vector, void *context, gsl_vector *f)
{
    struct problem *problem = context;
    const double *p = vector->data; /* GSL's own vectors have a stride of 1 */
    const double span = problem->fine_step * (double)(problem->fine_n - 1);
    const struct curves curves = curves_of(problem, p);

    for (size_t i = 0; i < problem->fine_n; i++) {
        const double nu = problem->fine_low + problem->fine_step * (double)i;
        const double slant = (nu - problem->band->at_cm1) / span;
        const double a = problem->base[i] + p[LEVEL] + p[SLOPE] * slant + bands_at(&curves, nu);
        problem->beam[i] = exp(-M_LN10 * fmin(fmax(a, -1.0), 20.0));
    }
    for (size_t i = 0; i < problem->n; i++) {
        const double *row = problem->weight + i * problem->taps, *beam = problem->beam + problem->first[i];
        double t = p[ZERO];

        for (size_t k = 0; k < problem->taps; k++)
            t += row[k] * beam[k];
        gsl_vector_set(f, i, (t - problem->t[i]) / problem->sigma[i]);
    }
    for (size_t k = 0; k < problem->unknowns; k++)
        gsl_vector_set(f, problem->n + k, (p[k] - problem->prior[k].middle) / problem->prior[k].sigma);
    return GSL_SUCCESS;
}

/* The highest point of the bands near the middle of this one: what stands above the baseline. */
static double top_of(const struct problem *problem, const double *p)
{
    const struct curves curves = curves_of(problem, p);
    double best = 0.0;

    for (int i = -20; i <= 20; i++)
        best = fmax(best, bands_at(&curves, curves.place + problem->band->width_cm1 * (double)i / 40.0));
    return best;
}

/* ---------------------------------------------------------------- one fit */

struct answer {
    bool ok;
    double log_top, variance, squares, zero, width_cm1;
};

/* What the height starts from, and what is supposed of the shape. */
struct variant {
    double start;       /* of the height, in what is seen of it */
    double logit, sure; /* the mix of shapes and how sure it is */
    bool shoulders;     /* two more bands may have drowned in the top */
};

static void set_priors(struct problem *problem, const struct variant *variant)
{
    const struct prior of_band[OF_BAND] = {
        [HEIGHT] = {0.0, 10.0}, [PLACE] = {0.0, 0.2},  [WIDTH] = {0.0, 1.0},  [MIX] = {0.0, 1.0},
        [SKEW] = {0.0, 0.1},    [LEVEL] = {0.0, 0.05}, [SLOPE] = {0.0, 0.05}, [ZERO] = {0.0, USUAL_ZERO},
    };
    static const struct prior of_neighbour[OF_NEIGHBOUR] = {
        [N_HEIGHT] = {0.0, 0.7}, [N_PLACE] = {0.0, 0.3}, [N_WIDTH] = {0.0, 0.4}};

    static const struct prior of_shoulder[OF_NEIGHBOUR] = {
        [N_HEIGHT] = {0.0, 1.5}, [N_PLACE] = {0.0, 0.4}, [N_WIDTH] = {0.0, 0.4}};

    problem->others = problem->neighbours + (variant->shoulders ? SHOULDERS : 0);
    problem->unknowns = OF_BAND + OF_NEIGHBOUR * problem->others;
    memcpy(problem->prior, of_band, sizeof of_band);
    problem->prior[MIX] = (struct prior){variant->logit, variant->sure};
    if (problem->band->flat_top)
        problem->prior[ZERO].sigma = FLAT_ZERO;
    for (size_t k = 0; k < problem->others; k++)
        memcpy(problem->prior + OF_BAND + OF_NEIGHBOUR * k,
               k < problem->neighbours ? of_neighbour : of_shoulder, sizeof of_neighbour);
}

/* A Lorentz band of this height is as wide as what is seen where that is half as high as it seems. */
static double start_width(double start)
{
    return -0.5 * log(fmax(2.0 * start - 1.0, 0.2));
}

static void read_answer(struct problem *problem, gsl_multifit_nlinear_workspace *work, gsl_matrix *covariance,
                        struct answer *answer)
{
    const double *p = gsl_multifit_nlinear_position(work)->data;
    double shifted[UNKNOWNS_MAX], slope[UNKNOWNS_MAX], squares = 0.0;
    const double top = log(top_of(problem, p));

    gsl_blas_ddot(gsl_multifit_nlinear_residual(work), gsl_multifit_nlinear_residual(work), &squares);
    if (!signal_covariance(gsl_multifit_nlinear_jac(work), covariance))
        return;
    for (size_t k = 0; k < problem->unknowns; k++) {
        memcpy(shifted, p, problem->unknowns * sizeof *shifted);
        shifted[k] += 1e-4;
        slope[k] = (log(top_of(problem, shifted)) - top) / 1e-4;
    }
    answer->variance = 0.0;
    for (size_t i = 0; i < problem->unknowns; i++) {
        for (size_t k = 0; k < problem->unknowns; k++)
            answer->variance += slope[i] * gsl_matrix_get(covariance, i, k) * slope[k];
    }
    answer->log_top = top;
    answer->squares = squares;
    answer->zero = p[ZERO];
    answer->width_cm1 = problem->band->width_cm1 * exp(p[WIDTH]);
    answer->ok = isfinite(top) && isfinite(answer->variance) && isfinite(squares);
}

static pellet_status fit(struct problem *problem, const struct variant *variant, struct answer *answer)
{
    set_priors(problem, variant);
    const size_t rows = problem->n + problem->unknowns, p = problem->unknowns;
    gsl_multifit_nlinear_parameters how = gsl_multifit_nlinear_default_parameters();
    gsl_multifit_nlinear_fdf system = {.f = residuals, .n = rows, .p = p, .params = problem};
    double start[UNKNOWNS_MAX] = {[HEIGHT] = log(variant->start * problem->band->height),
                                  [WIDTH] = start_width(variant->start),
                                  [MIX] = variant->logit};
    gsl_vector_view begin = gsl_vector_view_array(start, p);
    gsl_matrix *covariance = gsl_matrix_alloc(p, p);
    gsl_multifit_nlinear_workspace *work =
        gsl_multifit_nlinear_alloc(gsl_multifit_nlinear_trust, &how, rows, p);
    pellet_status status = work != NULL && covariance != NULL ? PELLET_OK : PELLET_E_MEMORY;
    int info;

    *answer = (struct answer){.ok = false};
    /* Not to have come to rest is no failure: the covariance says how well what was reached is known. */
    if (status == PELLET_OK && gsl_multifit_nlinear_init(&begin.vector, &system, work) == GSL_SUCCESS) {
        (void)gsl_multifit_nlinear_driver(TURNS_MAX, 1e-5, 1e-5, 1e-6, NULL, NULL, &info, work);
        read_answer(problem, work, covariance, answer);
    }
    if (work != NULL)
        gsl_multifit_nlinear_free(work);
    if (covariance != NULL)
        gsl_matrix_free(covariance);
    return status;
}

/* ---------------------------------------------------------------- the data */

static double weight_of(const struct pellet_band *band, const struct pellet_band *other)
{
    const double x = (other->at_cm1 - band->at_cm1) / (other->width_cm1 + band->width_cm1);
    return other->height / (1.0 + x * x);
}

/* The neighbours that matter most within `reach` cm-1. */
static void choose_neighbours(struct problem *problem, const struct pellet_band *bands, size_t count,
                              double reach)
{
    for (size_t i = 0; i < count; i++) {
        const struct pellet_band *other = &bands[i];
        size_t k = problem->neighbours;

        if (other == problem->band ||
            fabs(other->at_cm1 - problem->band->at_cm1) > reach + other->width_cm1 ||
            other->height < 0.03 * problem->band->height)
            continue;
        if (k == NEIGHBOURS_MAX) {
            k = 0;
            for (size_t j = 1; j < NEIGHBOURS_MAX; j++) {
                if (weight_of(problem->band, problem->other[j]) < weight_of(problem->band, problem->other[k]))
                    k = j;
            }
            if (weight_of(problem->band, other) <= weight_of(problem->band, problem->other[k]))
                continue;
        } else {
            problem->neighbours++;
        }
        problem->other[k] = other;
    }
}

/* Where bands that cannot be told from the saturated top would stand: on its two sides, within its width. */
static void suppose_shoulders(struct problem *problem)
{
    for (size_t k = 0; k < SHOULDERS; k++) {
        struct pellet_band *shoulder = &problem->shoulder[k];
        *shoulder = *problem->band;
        shoulder->height *= 0.4;
        shoulder->width_cm1 *= 0.5;
        shoulder->at_cm1 += (k == 0 ? -0.35 : 0.35) * problem->band->width_cm1;
        problem->other[problem->neighbours + k] = shoulder;
    }
}

/* At most DATA_MAX points of the window, no closer than half the resolution: closer ones are not independent.
 */
static void take_points(struct problem *problem, struct pellet_grid grid, const double *transmittance,
                        const double *sigma, const double *baseline, double reach, double resolution)
{
    const double closest = fmax(0.45 * resolution, 2.0 * reach / (DATA_MAX - 1));
    size_t first, last;
    double next = -HUGE_VAL;

    pellet_grid_window(grid, problem->band->at_cm1 - reach, problem->band->at_cm1 + reach, &first, &last);
    for (size_t i = first; i < last && problem->n < DATA_MAX; i++) {
        const double t = transmittance[i];
        if (!isfinite(t) || grid.wavenumber[i] < next)
            continue;
        const double s = isfinite(sigma[i]) ? sigma[i] : 1e-3;
        const double above = fmax(-log10(fmax(t, s)) - baseline[i], 0.0);
        problem->nu[problem->n] = grid.wavenumber[i];
        problem->t[problem->n] = t;
        problem->sigma[problem->n++] =
            hypot(s, M_LN10 * fmax(t, 0.0) * (MODEL_ERROR + MODEL_ERROR_SHARE * above));
        next = grid.wavenumber[i] + closest;
    }
}

static void make_fine(struct problem *problem, struct pellet_grid grid, const double *baseline,
                      double resolution)
{
    const double beside = (LINE_REACH + 1.0) * resolution;
    const double low = problem->nu[0] - beside, high = problem->nu[problem->n - 1] + beside;
    const double wanted = resolution > 0.0 ? fmin(problem->band->width_cm1 / 16.0, resolution / 5.0)
                                           : problem->band->width_cm1 / 16.0;

    problem->fine_step = fmax(wanted, (high - low) / (FINE_MAX / 2.0 - 1.0));
    problem->fine_low = low - 2.0 * problem->fine_step;
    problem->fine_n = (size_t)((high - problem->fine_low) / problem->fine_step) + 4;
    for (size_t i = 0; i < problem->fine_n; i++) {
        const double nu = problem->fine_low + problem->fine_step * (double)i;
        const double at = fmin(fmax(nu, grid.wavenumber[0]), grid.wavenumber[grid.n - 1]);
        const double base = pellet_grid_at(grid, baseline, at);
        problem->base[i] = isfinite(base) ? base : 0.0;
    }
}

/* ---------------------------------------------------------------- all fits together */

/* Mean and variance of the logarithm, each answer with the weight of its likelihood. */
static bool join(const struct answer *answer, size_t count, size_t freedom, double *mean, double *variance)
{
    double least = HUGE_VAL, sum = 0.0, first = 0.0, second = 0.0;

    for (size_t i = 0; i < count; i++) {
        if (answer[i].ok)
            least = fmin(least, answer[i].squares);
    }
    if (!isfinite(least))
        return false;
    /* Where the best one leaves more than the errors supposed, so much larger are they all. */
    const double unit = fmax(least / (double)freedom, 1.0);
    for (size_t i = 0; i < count; i++) {
        if (!answer[i].ok)
            continue;
        const double weight = exp(-0.5 * (answer[i].squares - least) / unit);
        sum += weight;
        first += weight * answer[i].log_top;
        second += weight * (answer[i].log_top * answer[i].log_top + unit * answer[i].variance);
    }
    *mean = first / sum;
    *variance = second / sum - *mean * *mean + LEAST_ERROR * LEAST_ERROR;
    return isfinite(*mean) && isfinite(*variance);
}

static pellet_status fit_all(struct problem *problem, struct pellet_flank *flank)
{
    /* Shapes: free, near Lorentz, near half and half; each from a low and from a high start. */
    static const struct variant variants[] = {
        {1.2, -0.8, 1.2, false}, {2.5, -0.8, 1.2, false}, {1.4, -3.0, 0.3, false},
        {1.4, 0.4, 0.3, false},  {1.0, -0.8, 1.2, true},  {2.0, -0.8, 1.2, true},
    };
    struct answer answer[sizeof variants / sizeof variants[0]];
    const size_t count = sizeof variants / sizeof variants[0];
    double mean, variance;

    for (size_t i = 0; i < count; i++) {
        const pellet_status status = fit(problem, &variants[i], &answer[i]);
        if (status != PELLET_OK)
            return status;
    }
    if (!join(answer, count, problem->n, &mean, &variance))
        return PELLET_E_FIT;
    size_t best = 0;
    for (size_t i = 1; i < count; i++) {
        if (answer[i].ok && (!answer[best].ok || answer[i].squares < answer[best].squares))
            best = i;
    }
    *flank = (struct pellet_flank){.height = exp(mean),
                                   .low = exp(mean - NINE_IN_TEN * sqrt(variance)),
                                   .high = exp(mean + NINE_IN_TEN * sqrt(variance)),
                                   .zero = answer[best].zero,
                                   .width_cm1 = answer[best].width_cm1,
                                   .misfit = sqrt(answer[best].squares / (double)problem->n)};
    flank->at_least = flank->high > INTERVAL_MAX * flank->low;
    return PELLET_OK;
}

pellet_status pellet_flank_fit(struct pellet_grid grid, const double *transmittance, const double *sigma,
                               const double *baseline, const struct pellet_band *bands, size_t count,
                               size_t which, enum pellet_line line, double resolution,
                               struct pellet_flank *flank)
{
    static const double REACH_WIDTHS = 1.5;
    static const size_t POINTS_MIN = 12;
    struct problem *problem;
    pellet_status status = PELLET_E_SHORT;

    signal_quiet_gsl();
    if (which >= count || !(bands[which].width_cm1 > 0.0) || !(bands[which].height > 0.0) ||
        !(resolution >= 0.0))
        return PELLET_E_RANGE;
    problem = calloc(1, sizeof *problem);
    if (problem == NULL)
        return PELLET_E_MEMORY;
    problem->band = &bands[which];
    const double reach = fmax(REACH_WIDTHS * problem->band->width_cm1, 2.0 * resolution);
    choose_neighbours(problem, bands, count, reach);
    suppose_shoulders(problem);
    take_points(problem, grid, transmittance, sigma, baseline, reach, resolution);
    if (problem->n >= POINTS_MIN) {
        make_fine(problem, grid, baseline, resolution);
        status = make_weights(problem, line, resolution) ? fit_all(problem, flank) : PELLET_E_MEMORY;
    }
    free(problem->weight);
    free(problem);
    return status;
}
