// SPDX-License-Identifier: GPL-3.0-or-later
/* What is true of the light: what leaks, what is dark, what is too bright, noise, gas, ripple. */
#include "truths.h"

#include "pellet/reference.h"
#include "synth/model.h"

#include <math.h>

/* At most a tenth of the level gets through of itself, and ten times that between two plateaus. */
size_t bench_plateaus(const struct bench_case *of, const struct bench_clean *without_leak, double leak)
{
    const double dark = 1.0 - log10(leak), bright = -log10(2.0 * leak);
    const double least = 2.0 * of->beam.resolution_cm1;
    size_t count = 0, run = 0;
    bool counted = false;
    for (size_t i = 1; i < without_leak->n; i++) {
        run = without_leak->absorbance[i] >= dark ? run + 1 : 0;
        if (without_leak->absorbance[i] < bright)
            counted = false;
        if (!counted && (double)run * (without_leak->wavenumber[1] - without_leak->wavenumber[0]) >= least) {
            counted = true;
            count++;
        }
    }
    return count;
}

pellet_status bench_dark_level(struct pellet_synth *model, const struct bench_case *of, double *level)
{
    struct pellet_synth_instrument quiet = of->beam;
    struct pellet_spectrum beam = {0};
    quiet.noise = 0.0;
    const pellet_status status = pellet_synth_measure(model, &of->subject, &quiet, 1, &beam, NULL, NULL);
    if (status != PELLET_OK)
        return status;
    double most = 0.0;
    for (size_t i = 0; i < beam.n; i++)
        most = fmax(most, beam.y[i]);
    *level = quiet.gain * quiet.false_zero / most;
    pellet_spectrum_clear(&beam);
    return PELLET_OK;
}

double bench_highest_transmittance(const struct bench_clean *dry)
{
    const double spacing = dry->wavenumber[1] - dry->wavenumber[0];
    const size_t half = (size_t)(10.0 / spacing);
    double best = 0.0;
    for (size_t i = half; i + half < dry->n; i += 4) {
        const double nu = dry->wavenumber[i];
        if ((nu > 1400.0 && nu < 1900.0) || (nu > 3550.0 && nu < 3900.0) || (nu > 2300.0 && nu < 2380.0))
            continue;
        double sum = 0.0;
        for (size_t k = i - half; k <= i + half; k++)
            sum += pow(10.0, -dry->absorbance[k]);
        best = fmax(best, sum / (double)(2 * half + 1));
    }
    return best;
}

double bench_noise(const struct bench_case *of, const struct bench_clean *clean)
{
    const struct pellet_synth_instrument *other = bench_reference_beam(of);
    const bool lone = bench_is_lone(of);
    double sum = 0.0;
    size_t n = 0;
    for (size_t i = 0; i < clean->n; i++) {
        const double nu = clean->wavenumber[i];
        if (nu < 2000.0 || nu > 2200.0)
            continue;
        double reference = pellet_synth_energy(other, nu);
        if (bench_reference(of)) {
            struct pellet_synth_parts parts;
            pellet_synth_parts_at(&of->blank, of->beam.forward, nu, &parts);
            reference *= pellet_synth_transmit(&of->blank, nu, parts.haze + parts.water, false);
        }
        const double subject = reference * pow(10.0, -clean->absorbance[i]);
        const double noise = hypot(of->beam.noise / subject, lone ? 0.0 : other->noise / reference);
        sum += M_LOG10E * M_LOG10E * noise * noise;
        n++;
    }
    return n ? sqrt(sum / (double)n) : (double)NAN;
}

pellet_status bench_carbon_dioxide(struct pellet_synth *model, const struct bench_case *of, double *height)
{
    struct bench_case part = *of; /* only the window */
    struct bench_clean clean = {0};
    part.beam.low_cm1 = PELLET_CO2_LOW - 10.0;
    part.beam.high_cm1 = PELLET_CO2_HIGH + 10.0;
    const pellet_status status =
        bench_clean_make(model, &part, &of->subject, bench_reference(of), true, &clean);
    if (status != PELLET_OK)
        return status;
    const size_t first = bench_clean_index(&clean, PELLET_CO2_LOW),
                 last = bench_clean_index(&clean, PELLET_CO2_HIGH);
    const double *a = clean.absorbance;
    *height = 0.0;
    for (size_t i = first; i <= last; i++) {
        const double share = (double)(i - first) / (double)(last - first);
        const double over = a[i] - a[first] - share * (a[last] - a[first]);
        *height = fabs(over) > fabs(*height) ? over : *height;
    }
    bench_clean_clear(&clean);
    return PELLET_OK;
}

/* ---------------------------------------------------------------- ripple */

/* Where fringes are sought, how many periods make a ripple of them, and how much of them a scan may lose. */
#define WINDOW_CM1    600.0
#define PERIODS_LEAST 5.0
#define PATH_SHARE    0.7
/* Of the window, and how much of a ripple the sample's own structure may look like. */
#define FREE_LEAST  0.4
#define FALSE_SHARE 0.3
/* Amplitudes in standard deviations: noise reaches five now and then. */
#define SIGMAS_CLEAR 8.0

static double path_cm(double thickness_mm)
{
    return 2.0 * pellet_kbr_group_index(2200.0) * 0.1 * thickness_mm;
}

static bool is_band_free(const struct bench_case *of, double wavenumber)
{
    if (wavenumber > PELLET_CO2_LOW && wavenumber < PELLET_CO2_HIGH)
        return false;
    for (size_t i = 0; of->role == PELLET_SAMPLE && i < of->compound.band_count; i++) {
        const struct pellet_synth_band *band = &of->compound.band[i];
        if (fabs(wavenumber - band->at_cm1) < 2.0 * bench_seen_width(of, band->width_cm1))
            return false;
    }
    return true;
}

/* How much of a wave the band-free curve without any fringes holds, A; infinite where too little is free. */
static double false_wave(const struct bench_case *of, const struct bench_clean *clean, double period)
{
    double weights = 0.0, mean = 0.0, slope = 0.0, squares = 0.0, c = 0.0, s = 0.0;
    for (int pass = 0; pass < 2; pass++) {
        for (size_t i = 0; i < clean->n; i++) {
            const double x = clean->wavenumber[i] - 2200.0;
            if (fabs(x) > 0.5 * WINDOW_CM1 || !is_band_free(of, clean->wavenumber[i]))
                continue;
            const double weight = 1.0 + cos(2.0 * M_PI * x / WINDOW_CM1), y = clean->absorbance[i];
            weights += pass == 0 ? weight : 0.0;
            mean += pass == 0 ? weight * y : 0.0;
            slope += pass == 0 ? weight * x * y : 0.0;
            squares += pass == 0 ? weight * x * x : 0.0;
            const double left = pass == 0 ? 0.0 : y - mean / weights - slope / squares * x;
            c += 2.0 * weight * left * cos(2.0 * M_PI * x / period);
            s += 2.0 * weight * left * sin(2.0 * M_PI * x / period);
        }
    }
    const double all = WINDOW_CM1 / (clean->wavenumber[1] - clean->wavenumber[0]);
    return weights > FREE_LEAST * all ? hypot(c, s) / weights : (double)INFINITY;
}

struct bench_fringes bench_fringes_find(const struct bench_case *of, const struct bench_clean *clean,
                                        double unlimited, double noise)
{
    const double path = path_cm(of->subject.thickness_mm), share = path * of->beam.resolution_cm1;
    const double points = WINDOW_CM1 / (of->beam.spacing_cm1 * of->beam.zero_fill);
    struct bench_fringes fringes = {(double)NAN, false};
    /* Two ripples of one frequency add with an unknown phase. */
    const bool mixed = bench_reference(of) && fabs(path - path_cm(of->blank.thickness_mm)) < 1.5 / WINDOW_CM1;
    if (share > PATH_SHARE || mixed)
        return fringes;
    fringes.peak_to_peak =
        unlimited *
        (of->beam.apodisation == PELLET_SYNTH_TRIANGULAR ? 1.0 - share : 0.54 + 0.46 * cos(M_PI * share));
    fringes.clear = 0.5 * fringes.peak_to_peak > SIGMAS_CLEAR * noise * sqrt(2.0 / points) &&
                    path * WINDOW_CM1 > PERIODS_LEAST &&
                    false_wave(of, clean, 1.0 / path) < FALSE_SHARE * 0.5 * fringes.peak_to_peak;
    return fringes;
}
