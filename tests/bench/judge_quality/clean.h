// SPDX-License-Identifier: GPL-3.0-or-later
/* Spectra without noise, on a fine grid, at the file's own resolution: what truths are read from. */
#ifndef BENCH_CLEAN_H
#define BENCH_CLEAN_H

#include "bench.h"

/* Absorbance against the reference; the caller clears it. */
struct bench_clean {
    size_t n;
    double *wavenumber, *absorbance;
};
void bench_clean_clear(struct bench_clean *clean);

/*
 * Without noise, room air and fringes. `subject` and `reference` stand for the case's own pellets, so that
 * something can be left out of them; reference NULL: the empty beam. `carbon_dioxide` leaves that gas in.
 */
pellet_status bench_clean_make(struct pellet_synth *model, const struct bench_case *of,
                               const struct pellet_synth_pellet *subject,
                               const struct pellet_synth_pellet *reference, bool carbon_dioxide,
                               struct bench_clean *clean);

/* The pellet that the subject is divided by, or NULL: the empty beam; and the beam it was measured in. */
const struct pellet_synth_pellet *bench_reference(const struct bench_case *of);
const struct pellet_synth_instrument *bench_reference_beam(const struct bench_case *of);
/* Whether there is only a single beam: the session's first blank without an open beam. */
bool bench_is_lone(const struct bench_case *of);

/* The point next below a wavenumber, within the ends. */
size_t bench_clean_index(const struct bench_clean *clean, double wavenumber);
/* Greatest absolute difference of two clean spectra of one grid. */
double bench_clean_difference(const struct bench_clean *one, const struct bench_clean *other);

/* Signed peak-to-peak height of the lines of water vapour, A, at the file's own points. */
pellet_status bench_vapour_height(struct pellet_synth *model, const struct bench_case *of, double *height);

#endif
