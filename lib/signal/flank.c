// SPDX-License-Identifier: GPL-3.0-or-later
/* A band without light at its top, worked out from its flanks: several suppositions, joined. */
#include "pellet/signal.h"

#include "signal/flank.h"
#include "signal/least.h"

#include <math.h>
#include <stdlib.h>

/* Nine in ten of a normal distribution lie within this many standard deviations. */
static const double NINE_IN_TEN = 1.645;
/* No model of a band is better than this, as a share of its height (1 sigma), and the less so the more of it
 * is not seen: of the logarithm of the height over what is seen. */
static const double LEAST_ERROR = 0.04, UNSEEN_ERROR = 0.2;
/* Beforehand: hands that weigh out too much seldom do so by more than a factor of four. The height over what
 * is seen, and 1 sigma of its logarithm. */
static const double LIKELY_RATIO = 1.5, LIKELY_SIGMA = 0.6;
/* A good instrument's false zero is a tenth of a per cent; past a pellet that cracked or was set askew comes
 * as much as the check of leaks lets pass (T, 1 sigma). */
#define USUAL_ZERO 0.001
#define LEAK_ZERO  0.01
/* Beyond this ratio of its ends an interval says no more than a lower bound. */
static const double INTERVAL_MAX = 2.0;

/* Mean and variance of the logarithm, each answer with the weight of its likelihood. */
static bool join(const struct flank_answer *answer, size_t count, size_t freedom, double *mean,
                 double *variance)
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
    *variance = second / sum - *mean * *mean;
    return isfinite(*mean) && isfinite(*variance);
}

/* What the fits say, with the error of their model, joined with what was likely beforehand. */
static void weigh_in(const struct pellet_band *band, double *mean, double *variance)
{
    const double seen = band->height, unseen = UNSEEN_ERROR * fmax(*mean - log(seen), 0.0);
    const double fitted = 1.0 / (*variance + LEAST_ERROR * LEAST_ERROR + unseen * unseen);
    const bool off_scale = band->at_least || band->flat_top;
    const double likely = off_scale ? 1.0 / (LIKELY_SIGMA * LIKELY_SIGMA) : 0.0;

    *mean = (fitted * *mean + likely * log(LIKELY_RATIO * seen)) / (fitted + likely);
    *variance = 1.0 / (fitted + likely);
}

static pellet_status fit_all(const struct flank_problem *problem, struct pellet_flank *flank)
{
    /* Shapes: free, near Lorentz, near half and half, with shoulders; with light that leaks; from a low and
     * from a high start. */
    static const struct flank_variant variants[] = {
        {1.2, -0.8, 1.2, USUAL_ZERO, false}, {2.5, -0.8, 1.2, USUAL_ZERO, false},
        {1.4, -3.0, 0.3, USUAL_ZERO, false}, {1.4, 0.4, 0.3, USUAL_ZERO, false},
        {1.0, -0.8, 1.2, USUAL_ZERO, true},  {2.0, -0.8, 1.2, USUAL_ZERO, true},
        {1.2, -0.8, 1.2, LEAK_ZERO, false},  {2.5, -0.8, 1.2, LEAK_ZERO, false},
    };
    struct flank_answer answer[sizeof variants / sizeof variants[0]];
    const size_t count = sizeof variants / sizeof variants[0];
    double mean, variance;

    for (size_t i = 0; i < count; i++) {
        const pellet_status status = flank_fit_once(problem, &variants[i], &answer[i]);
        if (status != PELLET_OK)
            return status;
    }
    if (!join(answer, count, problem->n, &mean, &variance))
        return PELLET_E_FIT;
    weigh_in(problem->band, &mean, &variance);
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
    const struct flank_data data = {.grid = grid,
                                    .transmittance = transmittance,
                                    .sigma = sigma,
                                    .baseline = baseline,
                                    .bands = bands,
                                    .count = count,
                                    .which = which,
                                    .line = line,
                                    .resolution = resolution};
    struct flank_problem *problem;
    pellet_status status;

    signal_quiet_gsl();
    if (which >= count || !(bands[which].width_cm1 > 0.0) || !(bands[which].height > 0.0) ||
        !(resolution >= 0.0))
        return PELLET_E_RANGE;
    problem = calloc(1, sizeof *problem);
    if (problem == NULL)
        return PELLET_E_MEMORY;
    status = flank_problem_take(&data, problem);
    if (status == PELLET_OK)
        status = fit_all(problem, flank);
    flank_problem_clear(problem);
    free(problem);
    return status;
}
