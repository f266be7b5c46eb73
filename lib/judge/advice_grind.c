// SPDX-License-Identifier: GPL-3.0-or-later
#include "judge/advice_grind.h"

#include <gsl/gsl_cdf.h>
#include <math.h>

/* The absorptivity, A cm2/mg, of a compound that has 0.7 A in the middle of the usual doses (0.4 to 1.5
 * mg/cm2, their geometric mean 0.77). Strong and weak absorbers differ: that band is taken for one sigma. */
#define USUAL_ABSORPTIVITY       0.9
#define USUAL_ABSORPTIVITY_SIGMA 0.66

/* The gain of coarse grains, by the method above: nine in ten from 1.3 to 8.5. */
#define COARSE_GAIN  3.3
#define COARSE_SIGMA 0.57

/* What weighing, mixing and pressing add, 1 sigma of the logarithm: 0.2 mg in 2 mg, and the mix. */
#define HAND_ERROR 0.15

/* Shares of the skew's limit: below the first the bands' shape is that of fine grains, above the second it
 * may be that of grains that are not small against the wavelength, beyond the limit it is. */
#define FINE_SHARE   0.25
#define COARSE_SHARE 0.5

/* How likely the grains are fine, by the shape of the bands alone. A compound whose index is that of KBr
 * shows no skew however coarse it is. */
static double fine_by_shape(double skew_share)
{
    if (skew_share < FINE_SHARE)
        return 0.9;
    if (skew_share > 1.0)
        return 0.05;
    return skew_share > COARSE_SHARE ? 0.3 : 0.6; /* NaN: either */
}

/* The density of a normal distribution, up to a factor. */
static double likelihood(double away, double sigma)
{
    return exp(-0.5 * away * away / (sigma * sigma)) / sigma;
}

struct pellet_gains pellet_grind_gains(const struct pellet_diagnosis *d, double mg_cm2, double height)
{
    struct pellet_gains gains = {fine_by_shape(d->skew_share), COARSE_GAIN, COARSE_SIGMA};
    /* Of the gain, if the compound is a usual one. */
    const double by_dose = log(USUAL_ABSORPTIVITY * mg_cm2 / height);

    if (!isfinite(by_dose))
        return gains;
    const double fine = gains.fine * likelihood(by_dose, USUAL_ABSORPTIVITY_SIGMA);
    const double coarse = (1.0 - gains.fine) * likelihood(by_dose - log(COARSE_GAIN),
                                                          hypot(USUAL_ABSORPTIVITY_SIGMA, COARSE_SIGMA));
    const double a = 1.0 / (COARSE_SIGMA * COARSE_SIGMA);
    const double b = 1.0 / (USUAL_ABSORPTIVITY_SIGMA * USUAL_ABSORPTIVITY_SIGMA);
    /* Grinding never weakens a band. */
    gains.factor = fmax(exp((a * log(COARSE_GAIN) + b * by_dose) / (a + b)), 1.0);
    gains.sigma = 1.0 / sqrt(a + b);
    if (fine + coarse > 0.0)
        gains.fine = fine / (fine + coarse);
    return gains;
}

/* The probability that a height known like this lies in the window; all as logarithms. */
static double within(double middle, double sigma, double low, double high)
{
    return gsl_cdf_gaussian_P(high - middle, sigma) - gsl_cdf_gaussian_P(low - middle, sigma);
}

double pellet_grind_aim(const struct pellet_gains *gains, struct pellet_limit window)
{
    enum { STEPS = 400 };
    const double low = log(window.low), high = log(window.high), gain = log(gains->factor);
    const double sigma = hypot(gains->sigma, HAND_ERROR);
    double best = 0.5 * (low + high), chance = -1.0;

    for (int i = 0; i <= STEPS; i++) {
        const double aim = low - gain + (high - low + gain) * i / STEPS;
        const double passes = gains->fine * within(aim, HAND_ERROR, low, high) +
                              (1.0 - gains->fine) * within(aim + gain, sigma, low, high);
        if (passes > chance) {
            chance = passes;
            best = aim;
        }
    }
    return exp(best);
}
