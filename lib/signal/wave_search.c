// SPDX-License-Identifier: GPL-3.0-or-later
/* The search for one more sinusoid in a window: periodogram, peak, chance of a false alarm, refinement. */
#include "signal/wave.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_min.h>

#include "signal/least.h"

/* Trial frequencies for each independent one (1 / length of the window). */
static const double OVERSAMPLING = 4;
/* Independent frequencies on each side that tell how strong the noise is. */
static const double NEIGHBOURS = 15;
static const double TRIALS_MAX = 20000;
/* Noise is counted up to the frequency below which this share of its power lies. */
static const double NOISY_SHARE = 0.97;
static const size_t REFINE_TURNS = 40, REFINE_TRIALS = 8, REFINE_ROUNDS = 3;

static double window_length(const struct signal_wave *wave)
{
    return (wave->x[wave->n - 1] - wave->x[0]) * wave->scale;
}

/*
 * Power of `rest` at the frequency that `turn` stands at, and one step on: the part of its sum of squares
 * that a cosine and a sine explain, halved, so that white noise of variance s2 has the mean s2 (Lomb's
 * normalisation before division by the variance). Source: N. R. Lomb, Astrophys. Space Sci. 39, 447 (1976);
 * J. D. Scargle, Astrophys. J. 263, 835 (1982).
 */
static double power_of(const struct signal_wave *wave, double *turn)
{
    double cc = 0, ss = 0, cs = 0, yc = 0, ys = 0, determinant;

    for (size_t i = 0; i < wave->n; i++) {
        double *t = turn + 4 * i; /* cosine and sine now, and of the step to the next frequency */
        const double c = t[0], s = t[1];

        cc += c * c;
        ss += s * s;
        cs += c * s;
        yc += wave->rest[i] * c;
        ys += wave->rest[i] * s;
        t[0] = c * t[2] - s * t[3];
        t[1] = s * t[2] + c * t[3];
    }
    determinant = cc * ss - cs * cs;
    if (!(determinant > 1e-9 * cc * ss))
        return 0;
    return (yc * yc * ss - 2 * yc * ys * cs + ys * ys * cc) / determinant / 2;
}

/* A periodogram: power[k] at low + (k + 0.5) step. Owns power. */
struct spectrum {
    size_t n;
    double low, step;
    double *power;
};

/*
 * Power at all trial frequencies. The cosines and sines of one point over evenly spaced frequencies follow
 * from each other by one rotation, so that only the first ones are computed.
 */
static pellet_status periodogram(const struct signal_wave *wave, double low, double high,
                                 struct spectrum *spectrum)
{
    const double trials = floor((high - low) * window_length(wave) * OVERSAMPLING) + 1;
    double *turn;

    spectrum->n = (size_t)fmin(trials, TRIALS_MAX);
    spectrum->low = low;
    spectrum->step = (high - low) / (double)spectrum->n;
    spectrum->power = malloc(spectrum->n * sizeof *spectrum->power);
    turn = malloc(4 * wave->n * sizeof *turn);
    if (spectrum->power == NULL || turn == NULL) {
        free(spectrum->power);
        free(turn);
        return PELLET_E_MEMORY;
    }
    for (size_t i = 0; i < wave->n; i++) {
        const double angle = 2 * M_PI * wave->scale * wave->x[i];

        turn[4 * i] = cos(angle * (low + spectrum->step / 2));
        turn[4 * i + 1] = sin(angle * (low + spectrum->step / 2));
        turn[4 * i + 2] = cos(angle * spectrum->step);
        turn[4 * i + 3] = sin(angle * spectrum->step);
    }
    for (size_t k = 0; k < spectrum->n; k++)
        spectrum->power[k] = power_of(wave, turn);
    free(turn);
    return PELLET_OK;
}

static size_t strongest(const double *power, size_t n)
{
    size_t best = 0;

    for (size_t k = 1; k < n; k++) {
        if (power[k] > power[best])
            best = k;
    }
    return best;
}

/* Set the lobe around trial k to zero. */
static void cut_lobe(double *power, size_t n, size_t k)
{
    const size_t reach = (size_t)(1.25 * OVERSAMPLING);

    for (size_t i = k > reach ? k - reach : 0; i < n && i <= k + reach; i++)
        power[i] = 0;
}

/*
 * Where the noise ends: a zero-filled spectrum has none at the high frequencies, and neither a level nor a
 * chance may be reckoned from there. Two lobes are left out, because there may be two ripples. Returns the
 * number of trials that hold nearly all of the power.
 */
static size_t noisy_trials(const struct spectrum *spectrum, double *scratch)
{
    double all = 0, sum = 0;
    size_t k = 0;

    memcpy(scratch, spectrum->power, spectrum->n * sizeof *scratch);
    for (size_t lobe = 0; lobe < SIGNAL_SINUSOIDS_MAX; lobe++)
        cut_lobe(scratch, spectrum->n, strongest(scratch, spectrum->n));
    for (size_t i = 0; i < spectrum->n; i++)
        all += scratch[i];
    while (k < spectrum->n && sum <= NOISY_SHARE * all)
        sum += scratch[k++];
    return k;
}

/* What the search found: the peak, the mean power of the noise about it, and from how many independent
 * frequencies that was taken. */
struct peak {
    double frequency, power, noise, known_from;
};

static pellet_status search(const struct signal_wave *wave, double low, double high, struct peak *peak)
{
    const size_t reach = (size_t)(NEIGHBOURS * OVERSAMPLING);
    struct spectrum spectrum;
    size_t noisy, at, first, last;
    double *scratch;
    pellet_status status = periodogram(wave, low, high, &spectrum);

    if (status != PELLET_OK)
        return status;
    scratch = malloc(spectrum.n * sizeof *scratch);
    if (scratch == NULL) {
        free(spectrum.power);
        return PELLET_E_MEMORY;
    }
    noisy = noisy_trials(&spectrum, scratch);
    at = strongest(spectrum.power, noisy);
    first = at > reach ? at - reach : 0;
    last = at + reach + 1 < noisy ? at + reach + 1 : noisy;
    peak->frequency = low + spectrum.step * ((double)at + 0.5);
    peak->power = spectrum.power[at];
    peak->known_from = fmax((double)(last - first) / OVERSAMPLING - 1, 1);
    /* The power of noise is distributed exponentially: its median is ln 2 times its mean. */
    memcpy(scratch, spectrum.power + first, (last - first) * sizeof *scratch);
    peak->noise = signal_median(scratch, last - first) / M_LN2;
    free(scratch);
    free(spectrum.power);
    return PELLET_OK;
}

struct trial {
    struct signal_wave *wave;
    size_t which;
};

static double ssr_at(double frequency, void *context)
{
    struct trial *trial = context;

    trial->wave->frequency[trial->which] = frequency;
    return signal_wave_fit(trial->wave) == PELLET_OK ? trial->wave->ssr : HUGE_VAL;
}

/* The best of a few frequencies from low to high; the neighbours of it bracket the minimum. */
static double best_of(struct trial *trial, double low, double high)
{
    double best = low, least = HUGE_VAL;

    for (size_t k = 0; k <= REFINE_TRIALS; k++) {
        const double frequency = low + (high - low) * (double)k / (double)REFINE_TRIALS;
        const double ssr = ssr_at(frequency, trial);

        if (ssr < least) {
            least = ssr;
            best = frequency;
        }
    }
    return best;
}

/*
 * Least squares in one frequency, all linear coefficients refitted at each trial (variable projection): a few
 * trials, because the quadratic takes a share of a slow wave and moves the peak of the periodogram, then
 * Brent's method between the neighbours of the best.
 */
static pellet_status refine(struct signal_wave *wave, size_t which, double reach, double lowest,
                            double highest)
{
    struct trial trial = {wave, which};
    gsl_function function = {ssr_at, &trial};
    const double start = wave->frequency[which];
    const double low = fmax(start - reach, lowest), high = fmin(start + reach, highest);
    const double step = (high - low) / (double)REFINE_TRIALS, best = best_of(&trial, low, high);
    gsl_min_fminimizer *brent = gsl_min_fminimizer_alloc(gsl_min_fminimizer_brent);
    double answer = best;

    if (brent == NULL)
        return PELLET_E_MEMORY;
    if (gsl_min_fminimizer_set(brent, &function, best, fmax(best - step, low), fmin(best + step, high)) ==
        GSL_SUCCESS) {
        for (size_t turn = 0; turn < REFINE_TURNS; turn++) {
            if (gsl_min_fminimizer_iterate(brent) != GSL_SUCCESS ||
                gsl_min_test_interval(gsl_min_fminimizer_x_lower(brent), gsl_min_fminimizer_x_upper(brent),
                                      1e-5 * reach, 0) == GSL_SUCCESS)
                break;
        }
        answer = gsl_min_fminimizer_x_minimum(brent);
    }
    gsl_min_fminimizer_free(brent);
    wave->frequency[which] = answer;
    return PELLET_OK;
}

/*
 * The chance that noise alone makes a peak this much above its mean power somewhere in the search: for each
 * frequency (1 + z/K)^-K, where the mean is known from K independent frequencies (an F distribution; for
 * large K the exp(-z) of Scargle).
 */
static double false_alarm(double z, double known_from, double independent)
{
    return independent * pow(1 + z / known_from, -known_from);
}

pellet_status signal_wave_add(struct signal_wave *wave, double low, double high, bool *found,
                              double *significance)
{
    const double length = window_length(wave);
    struct peak peak = {0};
    pellet_status status;

    signal_quiet_gsl();
    *found = false;
    *significance = 0;
    if (wave->count == SIGNAL_SINUSOIDS_MAX || !(low < high))
        return PELLET_OK;
    status = search(wave, low, high, &peak);
    if (status != PELLET_OK)
        return status;
    *significance = peak.noise > 0 ? peak.power / peak.noise : 0;
    if (false_alarm(*significance, peak.known_from, fmax((high - low) * length, 1)) > SIGNAL_FALSE_ALARM)
        return PELLET_OK;
    wave->frequency[wave->count++] = peak.frequency;
    for (size_t round = 0; round < (wave->count > 1 ? REFINE_ROUNDS : 1); round++) {
        for (size_t k = wave->count; k-- > 0;) {
            status = refine(wave, k, 0.5 / length, low, high);
            if (status != PELLET_OK)
                return status;
        }
    }
    status = signal_wave_fit(wave);
    if (status == PELLET_E_FIT) { /* two frequencies that cannot be told apart */
        wave->count--;
        return signal_wave_fit(wave);
    }
    *found = status == PELLET_OK;
    return status;
}
