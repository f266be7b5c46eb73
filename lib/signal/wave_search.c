// SPDX-License-Identifier: GPL-3.0-or-later
/* The search for one more sinusoid in a window: periodogram, peak, chance of a false alarm, refinement. */
#include "signal/wave.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "signal/least.h"
#include "signal/periodogram.h"

/* Trial frequencies for each independent one (1 / length of the window). */
static const double OVERSAMPLING = 4;
/* Independent frequencies on each side that tell how strong the noise is. */
static const double NEIGHBOURS = 15;
/* Noise is counted up to the frequency below which this share of its power lies. */
static const double NOISY_SHARE = 0.97;
static const size_t REFINE_TRIALS = 8, REFINE_TURNS = 30;
/* The frequency has come to rest where a step is this share of what was searched. */
static const double REFINED = 1e-6;

static double window_length(const struct signal_wave *wave)
{
    return (wave->x[wave->n - 1] - wave->x[0]) * wave->scale;
}

/*
 * Power of what is left at all trial frequencies. About two for each point at most, since nobody searches for
 * periods of less than two points.
 */
static pellet_status periodogram(const struct signal_wave *wave, double low, double high,
                                 struct signal_periodogram *spectrum)
{
    const double trials = floor((high - low) * window_length(wave) * OVERSAMPLING) + 1;

    /* x of a wave is in units of its scale, and so is one over frequency. */
    const pellet_status status = signal_periodogram(wave->x, wave->rest, wave->n, low * wave->scale,
                                                    high * wave->scale, (size_t)trials, spectrum);
    if (status == PELLET_OK) {
        spectrum->low = low;
        spectrum->step /= wave->scale;
    }
    return status;
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
static size_t noisy_trials(const struct signal_periodogram *spectrum, double *scratch)
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
    struct signal_periodogram spectrum;
    size_t noisy, at, first, last;
    double *scratch;
    pellet_status status = periodogram(wave, low, high, &spectrum);

    if (status != PELLET_OK)
        return status;
    scratch = malloc(spectrum.n * sizeof *scratch);
    if (scratch == NULL) {
        signal_periodogram_clear(&spectrum);
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
    signal_periodogram_clear(&spectrum);
    return PELLET_OK;
}

/* Where the frequency of each sinusoid may lie. */
struct range {
    double low, high;
};

static double ssr_at(struct signal_wave *wave, size_t which, double frequency)
{
    wave->frequency[which] = frequency;
    return signal_wave_fit(wave) == PELLET_OK ? wave->ssr : HUGE_VAL;
}

/*
 * Move one frequency to the best of a few within `range`, because the quadratic takes a share of a slow wave
 * and moves the peak of the periodogram; the neighbours of the best, which bracket the minimum, are returned.
 */
static struct range take_best(struct signal_wave *wave, size_t which, struct range range)
{
    const double step = (range.high - range.low) / (double)REFINE_TRIALS;
    double best = range.low, least = HUGE_VAL;

    for (size_t k = 0; k <= REFINE_TRIALS; k++) {
        const double frequency = range.low + step * (double)k, ssr = ssr_at(wave, which, frequency);

        if (ssr < least) {
            least = ssr;
            best = frequency;
        }
    }
    wave->frequency[which] = best;
    return (struct range){fmax(best - step, range.low), fmin(best + step, range.high)};
}

/* How the frequencies should change by the linearised model; false where that does not tell. */
static bool step_of(const struct signal_wave *wave, double *step)
{
    const size_t terms = 3 + 2 * wave->count;
    double row[SIGNAL_WAVE_TERMS + SIGNAL_SINUSOIDS_MAX], x[SIGNAL_BASIS_MAX];
    struct signal_least sums;

    signal_least_start(&sums, terms + wave->count);
    for (size_t i = 0; i < wave->n; i++) {
        memcpy(row, wave->row[i], terms * sizeof *row);
        for (size_t k = 0; k < wave->count; k++) {
            const double *c = wave->coefficient + 3 + 2 * k, *wave_row = row + 3 + 2 * k;
            row[terms + k] = wave->x[i] * (c[1] * wave_row[0] - c[0] * wave_row[1]);
        }
        signal_least_add(&sums, row, wave->rest[i], 1);
    }
    if (signal_least_solve(&sums, x, NULL, NULL) != PELLET_OK)
        return false;
    for (size_t k = 0; k < wave->count; k++)
        step[k] = x[terms + k] / (2 * M_PI * wave->scale);
    return true;
}

/*
 * Least squares in all frequencies at once from where they stand, by Gauss and Newton: the linear
 * coefficients are refitted after each step (variable projection), and a step that does not pay is halved.
 * Source: G. H. Golub, V. Pereyra, SIAM J. Numer. Anal. 10, 413 (1973), from memory.
 */
static void descend(struct signal_wave *wave, const struct range *range, double settled)
{
    double from[SIGNAL_SINUSOIDS_MAX], step[SIGNAL_SINUSOIDS_MAX], share = 1;
    double least = signal_wave_fit(wave) == PELLET_OK ? wave->ssr : HUGE_VAL;
    bool moving = isfinite(least) && step_of(wave, step);

    memcpy(from, wave->frequency, sizeof from);
    for (size_t turn = 0; moving && turn < REFINE_TURNS; turn++) {
        moving = false;
        for (size_t k = 0; k < wave->count; k++) {
            wave->frequency[k] = fmin(fmax(from[k] + share * step[k], range[k].low), range[k].high);
            moving = moving || fabs(wave->frequency[k] - from[k]) > settled;
        }
        if (signal_wave_fit(wave) == PELLET_OK && wave->ssr < least) {
            least = wave->ssr;
            memcpy(from, wave->frequency, sizeof from);
            share = 1;
            moving = moving && step_of(wave, step);
        } else {
            share /= 2;
        }
    }
    memcpy(wave->frequency, from, sizeof from);
}

/* The best frequencies near where all of them stand. */
static void refine(struct signal_wave *wave, double reach, double low, double high)
{
    struct range range[SIGNAL_SINUSOIDS_MAX];

    for (size_t k = wave->count; k-- > 0;)
        range[k] = take_best(
            wave, k,
            (struct range){fmax(wave->frequency[k] - reach, low), fmin(wave->frequency[k] + reach, high)});
    descend(wave, range, REFINED * reach);
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
    refine(wave, 0.5 / length, low, high);
    status = signal_wave_fit(wave);
    if (status == PELLET_E_FIT) { /* two frequencies that cannot be told apart */
        wave->count--;
        return signal_wave_fit(wave);
    }
    *found = status == PELLET_OK;
    return status;
}
