// SPDX-License-Identifier: GPL-3.0-or-later
#include "score.h"

#include <math.h>
#include <stdlib.h>

void bench_errors_push(struct bench_errors *errors, double value)
{
    if (isnan(value))
        return;
    if (errors->n == errors->capacity) {
        const size_t capacity = errors->capacity ? 2 * errors->capacity : 256;
        double *grown = realloc(errors->item, capacity * sizeof *grown);
        if (!grown)
            return;
        errors->item = grown;
        errors->capacity = capacity;
    }
    errors->item[errors->n++] = value;
}

static int by_value(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

double bench_errors_percentile(const struct bench_errors *errors, double share)
{
    if (errors->n == 0)
        return (double)NAN;
    qsort(errors->item, errors->n, sizeof errors->item[0], by_value);
    return errors->item[(size_t)(share * (double)(errors->n - 1) + 0.5)];
}

void bench_errors_clear(struct bench_errors *errors)
{
    free(errors->item);
    *errors = (struct bench_errors){0};
}
