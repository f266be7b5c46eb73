// SPDX-License-Identifier: GPL-3.0-or-later
/* What is true of that which does not belong to the sample: impurities, residue, water, and windows. */
#include "truths.h"

#include "synth/model.h"

#include <math.h>
#include <stdlib.h>

pellet_status bench_impurity_height(struct pellet_synth *model, const struct bench_case *of, bool in_blank,
                                    const struct bench_clean *with, double *height)
{
    struct pellet_synth_pellet subject = of->subject, blank = of->blank;
    struct bench_clean without = {0};
    *height = 0.0;
    if ((in_blank ? blank : subject).impurity_count == 0)
        return PELLET_OK;
    (in_blank ? &blank : &subject)->impurity_count = 0;
    const pellet_status status =
        bench_clean_make(model, of, &subject, bench_reference(of) ? &blank : NULL, false, &without);
    if (status == PELLET_OK)
        *height = bench_clean_difference(with, &without);
    bench_clean_clear(&without);
    return status;
}

/* ---------------------------------------------------------------- residue */

/* Bands of the earlier sample below this share of its strongest carry little of its pattern. */
#define BAND_SHARE  0.1
#define BAND_WIDEST 100.0
/*
 * What a band of the residue must stand above, in standard deviations of a point, to be seen in a second
 * derivative: a local quadratic over 1.2 widths and ten points leaves three eighths of a Lorentz top's 8
 * h/w^2 and makes 26.8 sigma / sqrt(10) / 1.44 w^2 of noise, so that 6 sigma of height stand 3 sigma high.
 */
#define BAND_SIGMAS 6.0
/* The sample's own curvature, against the residue's, beyond which they share the place. */
#define SHARED 0.5

/* Sums of squares over the band of the second differences, half a width to each side. */
static double bend_of(const double *y, size_t middle, size_t half)
{
    double sum = 0.0;
    for (size_t i = middle - half; i <= middle + half; i++) {
        const double bend = y[i - half] - 2.0 * y[i] + y[i + half];
        sum += bend * bend;
    }
    return sum;
}

/* The top of the residue's curve within half a width of the band; 0 where it has none there of its own. */
static size_t top_near(const struct bench_clean *grid, const double *residue, double at, double width)
{
    const size_t first = bench_clean_index(grid, at - 0.5 * width),
                 last = bench_clean_index(grid, at + 0.5 * width);
    size_t top = first;
    for (size_t i = first; i <= last; i++)
        top = residue[i] > residue[top] ? i : top;
    return top == first || top == last ? 0 : top;
}

/* Bands that show above the noise where the sample's own curve, `own`, bends less. Each is as high as it stands
 * above its feet: one on the wing of a stronger one is not as high as the wing. */
static size_t count_bands(const struct bench_case *of, const struct bench_clean *own, double *residue,
                          double most, double noise)
{
    const struct bench_clean alone = {own->n, own->wavenumber, residue};
    const bool lone = bench_is_lone(of);
    size_t count = 0, before = 0;
    for (size_t k = 0; k < of->earlier.band_count; k++) {
        const struct pellet_synth_band *band = &of->earlier.band[k];
        const double width = bench_seen_width(of, band->width_cm1);
        const size_t half = (size_t)(0.5 * width / (own->wavenumber[1] - own->wavenumber[0]));
        const size_t top = top_near(own, residue, band->at_cm1, width);
        struct bench_reading reading;
        if (!bench_read_band(of, &alone, band, &reading) || top < 2 * half || top + 2 * half >= own->n ||
            top == before || band->width_cm1 > BAND_WIDEST ||
            reading.height < fmax(BAND_SHARE * most, BAND_SIGMAS * noise) || band->at_cm1 > 3550.0 ||
            (lone && bench_among_air(band->at_cm1)) ||
            bend_of(own->absorbance, top, half) > SHARED * SHARED * bend_of(residue, top, half))
            continue;
        before = top;
        count++;
    }
    return count;
}

pellet_status bench_residue_find(struct pellet_synth *model, const struct bench_case *of,
                                 const struct bench_clean *with, double noise, struct bench_residue *found)
{
    struct pellet_synth_pellet subject = of->subject;
    struct bench_clean without = {0};
    *found = (struct bench_residue){0};
    if (subject.residue == NULL)
        return PELLET_OK;
    subject.residue = NULL;
    pellet_status status = bench_clean_make(model, of, &subject, bench_reference(of), false, &without);
    double *residue = status == PELLET_OK ? malloc(with->n * sizeof *residue) : NULL;
    if (status == PELLET_OK && !residue)
        status = PELLET_E_MEMORY;
    for (size_t i = 0; residue && i < with->n; i++)
        residue[i] = with->absorbance[i] - without.absorbance[i];
    if (residue) {
        const struct bench_clean alone = {with->n, with->wavenumber, residue};
        found->height = bench_strongest_band(of, &of->earlier, &alone).height;
        found->bands = count_bands(of, &without, residue, found->height, noise);
    }
    free(residue);
    bench_clean_clear(&without);
    return status;
}

/* ---------------------------------------------------------------- windows */

static size_t near(const struct bench_clean *clean, double wavenumber)
{
    return bench_clean_index(clean, wavenumber);
}

static double height_over_chord(const struct bench_clean *clean, double low, double high)
{
    const size_t first = near(clean, low), last = near(clean, high);
    const double *a = clean->absorbance;
    double most = -(double)INFINITY;
    for (size_t i = first; i <= last; i++) {
        const double share = (double)(i - first) / (double)(last - first);
        most = fmax(most, a[i] - a[first] - share * (a[last] - a[first]));
    }
    return most;
}

/* Where a band stands across an end of the window its height hangs on the place of the end to less than the
 * distance of the file's points: then there is no truth. */
static bool hangs_on_ends(const struct bench_case *of, const struct bench_clean *clean,
                          const struct pellet_window_rule *window, double height)
{
    const double step = of->beam.spacing_cm1;
    const double narrower = height_over_chord(clean, window->low_cm1 + step, window->high_cm1 - step);
    return fabs(narrower - height) > 0.1 * fmax(height, window->highest);
}

struct bench_window bench_window_find(const struct bench_case *of, const struct pellet_rules *rules,
                                      const struct bench_clean *clean)
{
    struct bench_window worst = {(double)NAN, (double)NAN};
    bool known = true;
    const bool lone = bench_is_lone(of);
    for (size_t i = 0; i < rules->window_count; i++) {
        const struct pellet_window_rule *window = &rules->window[i];
        if (isnan(window->highest) || window->low_cm1 < clean->wavenumber[0] ||
            window->high_cm1 > clean->wavenumber[clean->n - 1] ||
            (lone && (bench_among_air(window->low_cm1) || bench_among_air(window->high_cm1))))
            continue;
        const double height = height_over_chord(clean, window->low_cm1, window->high_cm1);
        if (!isnan(worst.height) && height / window->highest <= worst.height / worst.limit)
            continue;
        worst = (struct bench_window){height, window->highest};
        known = !hangs_on_ends(of, clean, window, height);
    }
    return known ? worst : (struct bench_window){(double)NAN, worst.limit};
}

/* ---------------------------------------------------------------- water and air */

/* Heights of liquid water's two bands, A for 1 ug/cm2: 0.10 A are 18.0 and 86.6 (Venyaminov and Prendergast
 * 1997). */
#define STRETCH_PER_UG (0.10 / 18.0)
#define BEND_PER_UG    (0.10 / 86.6)
/* The two bands must agree within this share. */
#define AGREE 0.3

bool bench_water_is_hidden(const struct bench_case *of, double water_ug_cm2)
{
    const double stretch = STRETCH_PER_UG * fabs(water_ug_cm2), bend = BEND_PER_UG * fabs(water_ug_cm2);
    if (of->role != PELLET_SAMPLE)
        return false;
    for (size_t i = 0; i < of->compound.band_count; i++) {
        const struct pellet_synth_band *band = &of->compound.band[i];
        const double height = band->absorptivity * of->subject.dose_mg_cm2;
        if (fabs(band->at_cm1 - 1640.0) < 60.0 + band->width_cm1 && height > AGREE * bend)
            return true;
        if (band->width_cm1 > 100.0 && fabs(band->at_cm1 - 3400.0) < 300.0 && height > AGREE * stretch)
            return true;
    }
    return false;
}

/* Water's bend and stretch, the rotation lines and carbon dioxide's bend, carbon dioxide's stretch. */
bool bench_among_air(double nu)
{
    return nu < 750.0 || (nu > 1300.0 && nu < 2000.0) || (nu > 2270.0 && nu < 2400.0) ||
           (nu > 3400.0 && nu < 4000.0);
}

/*
 * Without an open beam nobody can tell the pellet from all else in the beam: neither among the lines of the
 * room's air, nor where the oil on mirrors and windows has its C-H stretch. There even a clear band is
 * undecidable; the check says so in a note.
 */
bool bench_is_pellets(double nu)
{
    return !bench_among_air(nu) && !(nu > 2800.0 && nu < 3000.0);
}
