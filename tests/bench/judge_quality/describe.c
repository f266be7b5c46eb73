// SPDX-License-Identifier: GPL-3.0-or-later
/* A case in words. */
#include "bench.h"

#include <math.h>

void bench_describe(FILE *out, size_t index, const struct bench_case *of, const struct bench_truth *truth,
                    const struct pellet_verdict *verdict)
{
    static const char marks[] = {
        [BENCH_UNDER] = ' ', [BENCH_GREY] = '?', [BENCH_OVER] = '!', [BENCH_UNDECIDABLE] = '~'};
    fprintf(out, "%zu %s %s, put in:", index, pellet_role_id(of->role),
            of->role == PELLET_BLANK ? "KBr" : of->compound.kind);
    for (size_t i = 0; i < 2 && of->fault[i]; i++)
        fprintf(out, " %s x%.2f", of->fault[i], of->severity[i]);
    fprintf(out, "; %.2f cm-1 spacing, x%u, %.0f cm-1, noise %.2g%s\n  true:", of->beam.spacing_cm1,
            of->beam.zero_fill, of->beam.resolution_cm1, of->beam.noise,
            of->is_later_blank  ? ", over the first blank"
            : of->has_open_beam ? ""
                                : ", no open beam");
    for (size_t i = 0; i < truth->n; i++) {
        const struct bench_quantity *q = &truth->quantity[i];
        if (q->state != BENCH_UNDER)
            fprintf(out, " %s %.4g%c", q->id, q->value, marks[q->state]);
    }
    fprintf(out, "\n  said: %s, %s;", pellet_outcome_id(verdict->outcome), verdict->summary);
    for (size_t i = 0; i < verdict->check_count; i++) {
        const struct pellet_finding *f = &verdict->check[i];
        if (f->outcome != PELLET_PASS)
            fprintf(out, " %s=%s %.4g", f->check->id, pellet_outcome_id(f->outcome), f->value);
    }
    fprintf(out, "\n");
}
