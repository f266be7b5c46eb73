// SPDX-License-Identifier: GPL-3.0-or-later
#include "signal/prominence.h"

#include <math.h>
#include <stdlib.h>

/* A point that is still higher than all after it, and the lowest point between it and the one before. */
struct step {
    size_t at;
    double lowest;
};

/*
 * For each point of one run: the nearest higher point in one direction (or the run's end) and the lowest
 * value on the way. A stack of falling values makes it linear: each point is pushed and popped once.
 */
static void look_back(const double *y, const size_t *order, size_t n, struct step *stack, size_t *higher,
                      double *lowest)
{
    size_t depth = 0;

    for (size_t k = 0; k < n; k++) {
        const size_t i = order[k];
        double low = y[i];

        while (depth > 0 && y[stack[depth - 1].at] <= y[i])
            low = fmin(low, stack[--depth].lowest);
        higher[i] = depth > 0 ? stack[depth - 1].at : order[0];
        lowest[i] = low;
        stack[depth++] = (struct step){i, low};
    }
}

/* Scratch of signal_maxima, one block each. */
struct scratch {
    struct step *stack;
    size_t *order, *left, *right;
    double *left_low, *right_low;
};

static void scratch_free(struct scratch *scratch)
{
    free(scratch->stack);
    free(scratch->order);
    free(scratch->left_low);
}

static pellet_status scratch_make(size_t n, struct scratch *scratch)
{
    scratch->stack = malloc(n * sizeof *scratch->stack);
    scratch->order = malloc(3 * n * sizeof *scratch->order);
    scratch->left_low = malloc(2 * n * sizeof *scratch->left_low);
    if (scratch->stack == NULL || scratch->order == NULL || scratch->left_low == NULL) {
        scratch_free(scratch);
        return PELLET_E_MEMORY;
    }
    scratch->left = scratch->order + n;
    scratch->right = scratch->left + n;
    scratch->right_low = scratch->left_low + n;
    return PELLET_OK;
}

/* The maxima of the run first..end; appended to list, whose length is returned. */
static size_t run_maxima(const double *y, size_t first, size_t end, const struct scratch *scratch,
                         struct signal_maximum *list, size_t count)
{
    const size_t n = end - first;

    for (size_t k = 0; k < n; k++)
        scratch->order[k] = first + k;
    look_back(y, scratch->order, n, scratch->stack, scratch->left, scratch->left_low);
    for (size_t k = 0; k < n; k++)
        scratch->order[k] = end - 1 - k;
    look_back(y, scratch->order, n, scratch->stack, scratch->right, scratch->right_low);
    for (size_t i = first + 1; i + 1 < end;) {
        size_t last = i;

        while (last + 1 < end && y[last + 1] == y[i])
            last++;
        if (y[i - 1] < y[i] && last + 1 < end && y[last + 1] < y[i]) {
            const double foot = fmax(scratch->left_low[last], scratch->right_low[i]);

            list[count++] = (struct signal_maximum){.at = i + (last - i) / 2,
                                                    .left = scratch->left[last],
                                                    .right = scratch->right[i],
                                                    .prominence = y[i] - foot};
        }
        i = last + 1;
    }
    return count;
}

pellet_status signal_maxima(const double *y, size_t n, struct signal_maximum **maximum, size_t *count)
{
    struct scratch scratch = {0};
    struct signal_maximum *list;
    size_t found = 0;
    pellet_status status;

    if (n < 3) {
        *maximum = NULL;
        *count = 0;
        return PELLET_OK;
    }
    status = scratch_make(n, &scratch);
    if (status != PELLET_OK)
        return status;
    list = malloc((n / 2 + 1) * sizeof *list);
    if (list == NULL) {
        scratch_free(&scratch);
        return PELLET_E_MEMORY;
    }
    for (size_t i = 0; i < n;) {
        size_t end = i;

        while (end < n && !isnan(y[end]))
            end++;
        if (end > i)
            found = run_maxima(y, i, end, &scratch, list, found);
        i = end + 1;
    }
    scratch_free(&scratch);
    if (found == 0) {
        free(list);
        list = NULL;
    }
    *maximum = list;
    *count = found;
    return PELLET_OK;
}
