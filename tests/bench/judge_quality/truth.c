// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The truth of a case, from the model's own parts and from spectra without noise: each quantity as design.md
 * section 5 defines it, at the file's resolution where the definition speaks of what is read in the spectrum.
 */
#include "bench.h"

#include "pellet/reference.h"
#include "synth/model.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* ---------------------------------------------------------------- clean spectra */

/* Fine enough that tops are not missed; the resolution stays the file's. */
#define CLEAN_SPACING 0.25

static pellet_status measure_clean(struct pellet_synth *model, const struct pellet_synth_pellet *pellet,
                                   const struct pellet_synth_instrument *beam,
                                   struct pellet_spectrum *spectrum)
{
    struct pellet_synth_instrument quiet = *beam;
    quiet.noise = quiet.vapour_cm2 = quiet.carbon_dioxide_cm2 = quiet.false_zero = 0.0;
    quiet.spacing_cm1 = CLEAN_SPACING;
    if (!pellet)
        return pellet_synth_measure(model, NULL, &quiet, 1, spectrum, NULL, NULL);
    struct pellet_synth_pellet dull = *pellet;
    dull.fringes = 0.0;
    return pellet_synth_measure(model, &dull, &quiet, 1, spectrum, NULL, NULL);
}

pellet_status bench_clean_make(struct pellet_synth *model, const struct pellet_synth_pellet *subject,
                               const struct pellet_synth_pellet *reference,
                               const struct pellet_synth_instrument *subject_beam,
                               const struct pellet_synth_instrument *reference_beam,
                               struct bench_clean *clean)
{
    struct pellet_spectrum s = {0}, b = {0};
    struct pellet_synth_instrument same_ends = *reference_beam;
    same_ends.low_cm1 = subject_beam->low_cm1;
    same_ends.high_cm1 = subject_beam->high_cm1;
    pellet_status status = measure_clean(model, subject, subject_beam, &s);
    if (status == PELLET_OK)
        status = measure_clean(model, reference, &same_ends, &b);
    if (status == PELLET_OK) {
        for (size_t i = 0; i < s.n; i++)
            s.y[i] = -log10(s.y[i] / b.y[i]);
        *clean = (struct bench_clean){s.n, s.wavenumber, s.y};
        s.wavenumber = s.y = NULL;
    }
    pellet_spectrum_clear(&s);
    pellet_spectrum_clear(&b);
    return status;
}

void bench_clean_clear(struct bench_clean *clean)
{
    free(clean->wavenumber);
    free(clean->absorbance);
    *clean = (struct bench_clean){0};
}

static bool is_sample(const struct bench_case *of)
{
    return of->role == PELLET_SAMPLE;
}

static const struct pellet_synth_pellet *reference_of(const struct bench_case *of)
{
    return is_sample(of) ? &of->blank : NULL;
}

static const struct pellet_synth_instrument *reference_beam_of(const struct bench_case *of)
{
    return is_sample(of) ? &of->blank_beam : &of->open_beam;
}

/* ---------------------------------------------------------------- room air */

/* Height of the strongest lines over what stands 15 cm-1 around them, both ways, between low and high. */
static void line_heights(const struct bench_clean *lines, double low, double high, double *up, double *down)
{
    for (size_t i = 0; i < lines->n; i++) {
        if (lines->wavenumber[i] < low || lines->wavenumber[i] > high)
            continue;
        *up = fmax(*up, lines->absorbance[i]);
        *down = fmin(*down, lines->absorbance[i]);
    }
}

/* The lines alone: the clean spectrum with the case's air less the same without. Structure wider than 60 cm-1
 * is taken out by a running mean. */
static pellet_status vapour_lines(struct pellet_synth *model, const struct bench_case *of,
                                  struct bench_clean *lines)
{
    struct pellet_synth_instrument moist[2] = {of->beam, *reference_beam_of(of)}, dry[2];
    const struct pellet_synth_pellet *pellet[2] = {&of->subject, reference_of(of)};
    struct pellet_spectrum with[2] = {{0}, {0}}, without[2] = {{0}, {0}};
    pellet_status status = PELLET_OK;
    for (int i = 0; i < 2 && status == PELLET_OK; i++) {
        moist[i].noise = moist[i].carbon_dioxide_cm2 = 0.0;
        moist[i].low_cm1 = of->beam.low_cm1;
        moist[i].high_cm1 = of->beam.high_cm1;
        dry[i] = moist[i];
        dry[i].vapour_cm2 = 0.0;
        status = pellet_synth_measure(model, pellet[i], &moist[i], 1, &with[i], NULL, NULL);
        if (status == PELLET_OK)
            status = pellet_synth_measure(model, pellet[i], &dry[i], 1, &without[i], NULL, NULL);
    }
    if (status == PELLET_OK) {
        for (size_t i = 0; i < with[0].n; i++)
            with[0].y[i] = -log10(with[0].y[i] / without[0].y[i] * without[1].y[i] / with[1].y[i]);
        *lines = (struct bench_clean){with[0].n, with[0].wavenumber, with[0].y};
        with[0].wavenumber = with[0].y = NULL;
    }
    for (int i = 0; i < 2; i++) {
        pellet_spectrum_clear(&with[i]);
        pellet_spectrum_clear(&without[i]);
    }
    return status;
}

static void take_out_broad(struct bench_clean *lines, double width_cm1)
{
    const double spacing = lines->wavenumber[1] - lines->wavenumber[0];
    const size_t half = (size_t)(0.5 * width_cm1 / spacing);
    double *mean = calloc(lines->n, sizeof *mean);
    if (!mean)
        return;
    for (size_t i = 0; i < lines->n; i++) {
        const size_t from = i > half ? i - half : 0, to = i + half < lines->n ? i + half : lines->n - 1;
        for (size_t k = from; k <= to; k++)
            mean[i] += lines->absorbance[k] / (double)(to - from + 1);
    }
    for (size_t i = 0; i < lines->n; i++)
        lines->absorbance[i] -= mean[i];
    free(mean);
}

pellet_status bench_vapour_height(struct pellet_synth *model, const struct bench_case *of, double *height)
{
    struct bench_clean lines = {0};
    const pellet_status status = vapour_lines(model, of, &lines);
    if (status != PELLET_OK)
        return status;
    take_out_broad(&lines, 60.0);
    double up = 0.0, down = 0.0;
    line_heights(&lines, 1430.0, 1870.0, &up, &down);
    *height = (up > -down ? 1.0 : -1.0) * (up - down);
    bench_clean_clear(&lines);
    return PELLET_OK;
}

/* ---------------------------------------------------------------- the sample's bands */

static size_t index_at(const struct bench_clean *clean, double wavenumber)
{
    size_t i = 0;
    while (i + 1 < clean->n && clean->wavenumber[i + 1] <= wavenumber)
        i++;
    return i;
}

/* What is read of a band at the file's resolution. */
struct reading {
    double top, height, at_cm1;
};

/* Place of the top, and its height above the chord between the feet within three widths. */
static bool read_band(const struct bench_case *of, const struct bench_clean *clean,
                      const struct pellet_synth_band *band, struct reading *reading)
{
    const double *a = clean->absorbance, w = hypot(band->width_cm1, of->beam.resolution_cm1);
    if (band->at_cm1 - w < clean->wavenumber[0] || band->at_cm1 + w > clean->wavenumber[clean->n - 1])
        return false;
    size_t peak = index_at(clean, band->at_cm1), left, right;
    const size_t low = index_at(clean, band->at_cm1 - 0.5 * w),
                 high = index_at(clean, band->at_cm1 + 0.5 * w);
    for (size_t i = low; i <= high; i++)
        peak = a[i] > a[peak] ? i : peak;
    left = right = peak;
    for (size_t i = index_at(clean, clean->wavenumber[peak] - 3.0 * w); i <= peak; i++)
        left = a[i] < a[left] ? i : left;
    for (size_t i = peak; i <= index_at(clean, clean->wavenumber[peak] + 3.0 * w); i++)
        right = a[i] < a[right] ? i : right;
    if (left == peak || right == peak)
        return false;
    const double share = (double)(peak - left) / (double)(right - left);
    *reading = (struct reading){a[peak], a[peak] - (a[left] + share * (a[right] - a[left])),
                                clean->wavenumber[peak]};
    return true;
}

static struct reading strongest_band(const struct bench_case *of, const struct bench_clean *clean)
{
    struct reading best = {(double)NAN, (double)NAN, (double)NAN};
    for (size_t i = 0; i < of->compound.band_count; i++) {
        struct reading reading;
        if (read_band(of, clean, &of->compound.band[i], &reading) && !(reading.height <= best.height))
            best = reading;
    }
    return best;
}

/* -d/a of one Lorentz band by least squares of a/(1+x^2) + d x/(1+x^2) + a line, centre and width known. */
static bool band_skew(const struct bench_case *of, const struct pellet_synth_band *band, double *skew)
{
    double m[4][5] = {{0}};
    for (int i = -60; i <= 60; i++) {
        const double x = i / 15.0, nu = band->at_cm1 + x * 0.5 * band->width_cm1;
        struct pellet_synth_parts parts;
        pellet_synth_parts_at(&of->subject, of->beam.forward, nu, &parts);
        const double f[5] = {1.0 / (1.0 + x * x), x / (1.0 + x * x), 1.0, x, parts.sample};
        for (int r = 0; r < 4; r++)
            for (int k = 0; k < 5; k++)
                m[r][k] += f[r] * f[k];
    }
    for (int p = 0; p < 4; p++) {
        for (int r = 0; r < 4; r++) {
            const double factor = r == p ? 0.0 : m[r][p] / m[p][p];
            for (int k = p; k < 5; k++)
                m[r][k] -= factor * m[p][k];
        }
    }
    const double a = m[0][4] / m[0][0], d = m[1][4] / m[1][1];
    *skew = -d / a;
    return a > 0.0;
}

/* Alone, narrow as bands without hydrogen bonds are, and with enough points to have a shape. */
static bool isolated(const struct bench_case *of, size_t band)
{
    const struct pellet_synth_compound *compound = &of->compound;
    const struct pellet_synth_band *one = &compound->band[band];
    if (one->width_cm1 < fmax(4.0 * of->beam.spacing_cm1, 1.5 * of->beam.resolution_cm1))
        return false;
    for (size_t i = 0; i < compound->band_count; i++) {
        const struct pellet_synth_band *other = &compound->band[i];
        if (i != band && fabs(other->at_cm1 - one->at_cm1) < 1.5 * (other->width_cm1 + one->width_cm1) &&
            other->absorptivity > 0.1 * one->absorptivity)
            return false;
    }
    return one->at_cm1 < 3000.0 && one->width_cm1 < 60.0;
}

static int by_value(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* The median over the isolated bands of 0.2 to 1.2 A. Where there are fewer than three, what the grains' size
 * and index say to first order, if that is harmless; else NaN. */
static double median_skew(const struct bench_case *of, const struct bench_clean *clean, double first_order)
{
    double skew[PELLET_SYNTH_BANDS_MAX];
    size_t n = 0;
    for (size_t i = 0; i < of->compound.band_count; i++) {
        struct reading reading;
        if (isolated(of, i) && read_band(of, clean, &of->compound.band[i], &reading) &&
            reading.height > 0.2 && reading.height < 1.2 && band_skew(of, &of->compound.band[i], &skew[n]))
            n++;
    }
    if (n < 3)
        return fabs(first_order) < 0.1 ? fabs(first_order) : (double)NAN;
    qsort(skew, n, sizeof skew[0], by_value);
    return fmax(0.0, n % 2 ? skew[n / 2] : 0.5 * (skew[n / 2] + skew[n / 2 - 1]));
}

/* How many bands would show the leak's level: opaque, and wider than the line shape. */
static size_t opaque_bands(const struct bench_case *of, double leak)
{
    size_t n = 0;
    for (size_t i = 0; i < of->compound.band_count; i++) {
        const struct pellet_synth_band *band = &of->compound.band[i];
        struct pellet_synth_parts parts;
        pellet_synth_parts_at(&of->subject, of->beam.forward, band->at_cm1, &parts);
        n += parts.sample > 1.3 - log10(leak) && band->width_cm1 > 2.0 * of->beam.resolution_cm1;
    }
    return n;
}

/* ---------------------------------------------------------------- the whole */

/* Highest transmittance smoothed over 20 cm-1, water and vapour and CO2 windows left out. */
static double highest_transmittance(const struct bench_clean *dry)
{
    const double spacing = dry->wavenumber[1] - dry->wavenumber[0];
    const size_t half = (size_t)(10.0 / spacing);
    double best = 0.0;
    for (size_t i = half; i + half < dry->n; i++) {
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

/* RMS of A at native points in 2200..2000 from the noise of both beams. */
static double noise_of(const struct bench_case *of, const struct bench_clean *clean)
{
    double sum = 0.0;
    size_t n = 0;
    for (size_t i = 0; i < clean->n; i++) {
        const double nu = clean->wavenumber[i];
        if (nu < 2000.0 || nu > 2200.0)
            continue;
        double reference = pellet_synth_energy(reference_beam_of(of), nu);
        if (is_sample(of)) {
            struct pellet_synth_parts parts;
            pellet_synth_parts_at(&of->blank, of->beam.forward, nu, &parts);
            reference *= pellet_synth_transmit(&of->blank, nu, parts.haze + parts.water, false);
        }
        const double subject = reference * pow(10.0, -clean->absorbance[i]);
        const double noise = hypot(of->beam.noise / subject, reference_beam_of(of)->noise / reference);
        sum += M_LOG10E * M_LOG10E * noise * noise;
        n++;
    }
    return n ? sqrt(sum / (double)n) : (double)NAN;
}

/* What the line shape leaves of the fringes, or NaN where a scan cannot show them: beyond 70 % of its longest
 * path difference. */
static double visible_fringes(const struct bench_case *of, double peak_to_peak)
{
    const double path = 2.0 * pellet_kbr_group_index(2200.0) * 0.1 * of->subject.thickness_mm;
    const double share = path * of->beam.resolution_cm1;
    if (share > 0.7)
        return (double)NAN;
    return peak_to_peak *
           (of->beam.apodisation == PELLET_SYNTH_TRIANGULAR ? 1.0 - share : 0.54 + 0.46 * cos(M_PI * share));
}

static double impurity_height(const struct pellet_synth_pellet *pellet)
{
    double best = 0.0;
    for (size_t i = 0; i < pellet->impurity_count; i++)
        best = fmax(best, pellet->impurity[i].height);
    return best;
}

static void add(struct bench_truth *truth, const char *id, double value, double limit, bool lower,
                double inside)
{
    const double ratio = lower ? limit / value : value / limit;
    const enum bench_state state = isnan(value)           ? BENCH_GREY
                                   : ratio >= BENCH_CLEAR ? BENCH_OVER
                                   : ratio <= inside      ? BENCH_UNDER
                                                          : BENCH_GREY;
    truth->quantity[truth->n++] = (struct bench_quantity){id, value, limit, inside, lower, state};
}

#define INSIDE (1.0 / BENCH_CLEAR)

static void add_sample(struct bench_truth *truth, const struct bench_case *of,
                       const struct bench_clean *clean, const struct bench_clean *dry, double skew)
{
    const struct reading strongest = strongest_band(of, clean);
    const double leak = of->subject.leak / pow(10.0, -of->blank.haze) / 0.915;
    truth->strongest_cm1 = strongest.at_cm1;
    add(truth, "saturation", strongest.top, 1.5, false, INSIDE);
    add(truth, "weak", strongest.height, 0.2, true, INSIDE);
    add(truth, "overcompensation", highest_transmittance(dry) - 1.0, 0.05, false, INSIDE);
    add(truth, "inverted", impurity_height(&of->blank), 0.02, false, INSIDE);
    add(truth, "leak", leak > 0.0 && opaque_bands(of, leak) < 2 ? (double)NAN : leak, 0.02, false, INSIDE);
    add(truth, "asymmetry", median_skew(of, clean, skew), 0.35, false, INSIDE);
}

/*
 * A film shows the wavenumber scale only. The value is the error over its tolerance at the band where that is
 * greatest: 1.5 cm-1 above 1900, 1.0 below.
 */
static pellet_status film_truth(const struct bench_case *of, struct bench_truth *truth)
{
    double worst = 0.0;
    for (size_t i = 0; i < pellet_polystyrene_band_count; i++) {
        const double at = pellet_polystyrene_bands[i].wavenumber;
        worst = fmax(worst, fabs(at * 1e-6 * of->beam.scale_ppm) / (at > 1900.0 ? 1.5 : 1.0));
    }
    *truth = (struct bench_truth){.water_ug_cm2 = (double)NAN,
                                  .thickness_mm = (double)NAN,
                                  .transmittance_2000 = (double)NAN,
                                  .strongest_cm1 = (double)NAN};
    add(truth, "wavenumber", worst, 1.0, false, INSIDE);
    return PELLET_OK;
}

pellet_status bench_truth_find(struct pellet_synth *model, const struct bench_case *of,
                               struct bench_truth *truth)
{
    const bool sample = is_sample(of);
    struct pellet_synth_truth subject, blank = {0};
    struct pellet_synth_pellet dry_subject = of->subject, dry_blank = of->blank;
    struct bench_clean clean = {0}, dry = {0};
    double vapour = 0.0;
    if (of->role == PELLET_FILM)
        return film_truth(of, truth);
    dry_subject.water_ug_cm2 = dry_blank.water_ug_cm2 = 0.0;
    *truth = (struct bench_truth){.strongest_cm1 = (double)NAN};
    pellet_synth_truth_find(&of->subject, &of->beam, &subject);
    if (sample)
        pellet_synth_truth_find(&of->blank, &of->blank_beam, &blank);
    pellet_status status =
        bench_clean_make(model, &of->subject, reference_of(of), &of->beam, reference_beam_of(of), &clean);
    if (status == PELLET_OK)
        status = bench_clean_make(model, &dry_subject, sample ? &dry_blank : NULL, &of->beam,
                                  reference_beam_of(of), &dry);
    if (status == PELLET_OK)
        status = bench_vapour_height(model, of, &vapour);
    if (status != PELLET_OK)
        goto out;
    truth->water_ug_cm2 = of->subject.water_ug_cm2 - (sample ? of->blank.water_ug_cm2 : 0.0);
    truth->transmittance_2000 = subject.transmittance_2000;
    const double fringes = visible_fringes(of, subject.fringe_peak_to_peak);
    truth->thickness_mm = fringes > 0.01 ? of->subject.thickness_mm : (double)NAN;
    if (sample)
        add_sample(truth, of, &clean, &dry, subject.asymmetry);
    else
        add(truth, "purity", fmax(impurity_height(&of->subject), subject.residue_height), 0.02, false,
            INSIDE);
    const bool cut = of->beam.low_cm1 > of->range_low + 55.0 || of->beam.high_cm1 < of->range_high - 55.0;
    add(truth, "span", cut ? 2.0 : 0.0, 1.0, false, INSIDE);
    add(truth, "noise", noise_of(of, &clean), sample ? 0.002 : 0.001, false, sample ? INSIDE : 0.8);
    add(truth, "vapour", fabs(vapour), 0.02, false, INSIDE);
    add(truth, "moisture", fabs(truth->water_ug_cm2), 30.0, false, INSIDE);
    add(truth, "tilt", subject.tilt - blank.tilt, sample ? 0.20 : 0.10, false, INSIDE);
    add(truth, "opacity", subject.transmittance_2000, sample ? 0.60 : 0.75, true, sample ? 0.85 : 0.90);
    add(truth, "residue", subject.residue_height, 0.02, false, INSIDE);
    add(truth, "fringes", fringes, 0.02, false, INSIDE);
out:
    bench_clean_clear(&clean);
    bench_clean_clear(&dry);
    return status;
}
