// SPDX-License-Identifier: GPL-3.0-or-later
/* How well the flanks tell what stands behind a saturated top. */
#include "loop.h"

#include "synth/model.h"

#include <gsl/gsl_sort.h>
#include <math.h>

static const double edges[] = {0.0, 2.0, 3.0, 4.0, 6.0, 1e9};
#define BINS       (sizeof edges / sizeof edges[0] - 1)
#define ERRORS_MAX 4000

/* An interval has two ends; a bound only the lower one, and is counted by itself: it is true too easily. */
struct bin {
    size_t n, bounds;
    size_t inside, below, above; /* of the intervals: the truth in it, below its low, above its high */
    size_t kept;                 /* of the bounds: the truth is no lower */
    double error[ERRORS_MAX];    /* relative, of all */
};

/* Total A against the blank at the strongest place, without line shape, leak and fringes. */
static double true_top(const struct bench_case *c)
{
    struct pellet_synth_pellet subject = c->subject;
    struct pellet_synth_truth truth;
    struct pellet_synth_parts parts;

    subject.leak = 0.0;
    pellet_synth_truth_find(&subject, &c->beam, &truth);
    pellet_synth_parts_at(&c->blank, c->beam.forward, truth.strongest_cm1, &parts);
    return truth.strongest_top +
           log10(pellet_synth_transmit(&c->blank, truth.strongest_cm1, parts.haze + parts.water, false));
}

static void count(struct bin *bins, double truth, const struct pellet_verdict *v)
{
    struct bin *bin = bins;

    while (truth >= edges[bin - bins + 1])
        bin++;
    if (bin->n == ERRORS_MAX)
        return;
    bin->error[bin->n++] = fabs(v->found.true_absorbance / truth - 1.0);
    if (isnan(v->found.true_absorbance_high)) {
        bin->bounds++;
        bin->kept += truth >= v->found.true_absorbance_low;
        return;
    }
    bin->below += truth < v->found.true_absorbance_low;
    bin->above += truth > v->found.true_absorbance_high;
    bin->inside += truth >= v->found.true_absorbance_low && truth <= v->found.true_absorbance_high;
}

static double share(size_t part, size_t whole)
{
    return whole > 0 ? 100.0 * (double)part / (double)whole : (double)NAN;
}

pellet_status loop_flanks(struct pellet_synth *model, const struct pellet_rules *rules,
                          const struct bench_options *options, FILE *out)
{
    static struct bin bins[BINS];
    struct pellet_error error = {0};
    const struct loop_past none = {0};
    pellet_status status = PELLET_OK;

    for (size_t i = 0; i < options->count && status == PELLET_OK; i++) {
        struct loop_bench bench = {.pellet = 1, .scan = 1};
        struct loop_then made = {0};
        bench_case_make(model, options, i, &bench.now);
        status = loop_judge(model, rules, &bench, 0, &none, &made, &error);
        if (status == PELLET_OK && made.verdict.outcome == PELLET_REMAKE &&
            isfinite(made.verdict.found.true_absorbance_low))
            count(bins, true_top(&bench.now), &made.verdict);
        pellet_spectrum_clear(&made.spectrum);
        pellet_spectrum_clear(&made.blank);
        pellet_verdict_clear(&made.verdict);
    }
    fprintf(out, "%-12s %5s %14s %11s %10s %10s %12s %12s %7s %12s\n", "true A", "n", "error, median",
            "90th perc.", "intervals", "truth in", "truth below", "truth above", "bounds", "truth above");
    for (size_t b = 0; b < BINS; b++) {
        struct bin *bin = &bins[b];
        const size_t intervals = bin->n - bin->bounds;
        if (bin->n == 0)
            continue;
        gsl_sort(bin->error, 1, bin->n);
        fprintf(out, "%4.1f..%-6.1f %5zu %13.1f%% %10.1f%% %10zu %9.1f%% %11.1f%% %11.1f%% %7zu %11.1f%%\n",
                edges[b], fmin(edges[b + 1], 99.0), bin->n, 100.0 * bin->error[bin->n / 2],
                100.0 * bin->error[bin->n * 9 / 10], intervals, share(bin->inside, intervals),
                share(bin->below, intervals), share(bin->above, intervals), bin->bounds,
                share(bin->kept, bin->bounds));
    }
    return status;
}
