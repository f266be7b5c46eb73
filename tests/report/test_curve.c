// SPDX-License-Identifier: GPL-3.0-or-later
/* The curve of a picture against a slow and obvious reading of it: every ordinate lies on it,
 * within a unit. */
#include "testing.h"

#include "core/random.h"
#include "report/curve.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define POINTS  5000
#define COLUMNS (REPORT_CURVE_SCALE * REPORT_PLOT_WIDTH)
/* Of each column of the curve, the lowest and the highest half unit that the path touches. */
struct touched {
    long low[COLUMNS + 1], high[COLUMNS + 1];
};

static void touch(struct touched *t, long x, long y)
{
    assert_in_range(x, 0, COLUMNS);
    t->low[x] = y < t->low[x] ? y : t->low[x];
    t->high[x] = y > t->high[x] ? y : t->high[x];
}

/* Walks along the path in small steps. */
static void walk(const char *d, struct touched *t)
{
    long x = 0, y = 0;
    char command = 0;

    for (size_t i = 0; i <= COLUMNS; i++) {
        t->low[i] = 100000;
        t->high[i] = -100000;
    }
    while (*d != '\0') {
        if (*d == 'M' || *d == 'l')
            command = *d++;
        char *end;
        const long a = strtol(d, &end, 10);
        assert_ptr_not_equal(end, d);
        const long b = strtol(end, &end, 10);
        d = end;
        for (long k = 0; command == 'l' && k <= a; k++)
            touch(t, x + k, a > 0 ? y + lround((double)(b * k) / (double)a) : y);
        x = command == 'M' ? a : x + a;
        y = command == 'M' ? b : y + b;
        touch(t, x, y);
    }
}

static double random_unit(uint64_t *state)
{
    return (double)random_below(state, 1000000) / 1e6;
}

static void test_no_ordinate_is_lost(void **state)
{
    (void)state;
    double nu[POINTS], ordinate[POINTS];
    struct touched t;

    for (unsigned seed = 1; seed <= 20; seed++) {
        uint64_t random = seed;
        const size_t n = 200 + (size_t)(random_unit(&random) * (POINTS - 200));
        struct pellet_text d = {0};
        struct report_axes axes;
        double walker = 0.5;
        for (size_t i = 0; i < n; i++) {
            nu[i] = 400.0 + 3600.0 * (double)i / (double)(n - 1);
            walker += 0.05 * (random_unit(&random) - 0.5);
            ordinate[i] = fabs(walker) + (random_unit(&random) < 0.01 ? 1.0 : 0.0);
        }
        const struct pellet_spectrum s = {.n = n, .wavenumber = nu, .y = ordinate};
        assert_int_equal(report_axes_fit(&s, &axes), PELLET_OK);
        report_curve(&s, &axes, &d);
        walk(pellet_text_string(&d), &t);
        for (size_t i = 0; i < n; i++) {
            const long x = lround(REPORT_CURVE_SCALE * report_axes_x(&axes, nu[i]));
            const long y = lround(REPORT_CURVE_SCALE * report_axes_y(&axes, ordinate[i]));
            const long from = x > 0 ? x - 1 : 0, to = x < COLUMNS ? x + 1 : x;
            bool reached = false;
            /* Two half units are the slack of the strokes, another is that of rounding. */
            for (long k = from; k <= to; k++)
                reached = reached || (t.low[k] - 3 <= y && y <= t.high[k] + 3);
            /* Between columns the path is a straight stroke: what lies on it is reached from either side. */
            for (long k = from; k < to; k++)
                reached =
                    reached || (t.low[k] <= y && y <= t.high[k + 1]) || (t.low[k + 1] <= y && y <= t.high[k]);
            assert_true(reached);
        }
        assert_true(d.length < (size_t)24 * COLUMNS);
        pellet_text_free(&d);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_no_ordinate_is_lost),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
