// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Smoothing, second derivative, spline, prominences and least squares against SciPy on the same arrays. Needs
 * Debian's python3-scipy; skips, saying so, without. The scripts are handed one table: wavenumber and curve.
 */
#include "signal/curves.h"

#include "signal/prominence.h"

static struct curves make(void)
{
    struct curves c = curves_make(1000, 1600, 1, 17);

    for (int k = 0; k < 8; k++)
        curves_add(&c, k % 2 ? curves_gauss : curves_lorentz, curves_uniform(&c, 0.1, 0.9), 1040 + 70 * k,
                   curves_uniform(&c, 10, 40));
    curves_noise(&c, 2e-3, 1);
    return c;
}

/* Run a script over the curve; its numbers, one a line, are in answer. Skips the test where SciPy
 * is missing. */
static size_t scipy(const struct curves *c, const char *script, double *answer, size_t most)
{
    char table[] = "/tmp/pelletd-scipy-XXXXXX", command[4096];
    FILE *file, *pipe;
    size_t n = 0;

    if (system("/usr/bin/python3 -c 'import scipy' 2>/dev/null") != 0) {
        print_message("skipped: python3-scipy is not here\n");
        skip();
    }
    file = fdopen(mkstemp(table), "w");
    assert_non_null(file);
    for (size_t i = 0; i < c->grid.n; i++)
        fprintf(file, "%.17g %.17g\n", c->x[i], c->y[i]);
    assert_int_equal(fclose(file), 0);
    snprintf(command, sizeof command,
             "/usr/bin/python3 -c \"import sys, numpy as np\nx, y = np.loadtxt(sys.argv[1], "
             "unpack=True)\n%s\nfor v "
             "in out: print(repr(float(v)))\" %s",
             script, table);
    pipe = popen(command, "r");
    assert_non_null(pipe);
    while (n < most && fscanf(pipe, "%lf", &answer[n]) == 1)
        n++;
    assert_int_equal(pclose(pipe), 0);
    unlink(table);
    return n;
}

/* scipy.signal.savgol_filter over 13 points, second order; away from the ends. */
static void smoothing_and_second_derivative(void **state)
{
    struct curves c = make();
    double *answer = calloc(c.grid.n, sizeof *answer);

    (void)state;
    assert_non_null(answer);
    assert_int_equal(
        scipy(&c, "from scipy.signal import savgol_filter\nout = savgol_filter(y, 13, 2)", answer, c.grid.n),
        c.grid.n);
    assert_int_equal(pellet_smooth_quadratic(c.grid, c.y, 12, c.out), PELLET_OK);
    for (size_t i = 6; i + 6 < c.grid.n; i++)
        assert_near(c.out[i], answer[i], 1e-12);
    assert_int_equal(scipy(&c,
                           "from scipy.signal import savgol_filter\nout = savgol_filter(y, 13, 2, deriv=2)",
                           answer, c.grid.n),
                     c.grid.n);
    assert_int_equal(pellet_second_derivative(c.grid, c.y, 12, c.out), PELLET_OK);
    for (size_t i = 6; i + 6 < c.grid.n; i++)
        assert_near(c.out[i], answer[i], 1e-12);
    assert_int_equal(scipy(&c, "from scipy.ndimage import uniform_filter1d\nout = uniform_filter1d(y, 9)",
                           answer, c.grid.n),
                     c.grid.n);
    assert_int_equal(pellet_smooth_boxcar(c.grid, c.y, 8, c.out), PELLET_OK);
    for (size_t i = 4; i + 4 < c.grid.n; i++)
        assert_near(c.out[i], answer[i], 1e-12);
    free(answer);
    curves_free(&c);
}

/* scipy.interpolate.CubicSpline with natural ends. */
static void spline(void **state)
{
    struct curves c = make(), to = curves_make(1000.3, 1599.3, 1, 1);
    double *answer = calloc(to.grid.n, sizeof *answer);

    (void)state;
    assert_non_null(answer);
    assert_int_equal(scipy(&c,
                           "from scipy.interpolate import CubicSpline\n"
                           "out = CubicSpline(x, y, bc_type='natural')(1000.3 + np.arange(600))",
                           answer, to.grid.n),
                     to.grid.n);
    assert_int_equal(pellet_grid_resample(c.grid, c.y, to.grid, to.out), PELLET_OK);
    for (size_t i = 0; i < to.grid.n; i++)
        assert_near(to.out[i], answer[i], 1e-12);
    free(answer);
    curves_free(&c);
    curves_free(&to);
}

/* scipy.signal.find_peaks and peak_prominences: places and prominences, one after the other. */
static void peaks(void **state)
{
    struct curves c = make();
    struct signal_maximum *maximum = NULL;
    double *answer = calloc(2 * c.grid.n, sizeof *answer);
    size_t count = 0, n;

    (void)state;
    assert_non_null(answer);
    n = scipy(&c,
              "from scipy.signal import find_peaks, peak_prominences\np, _ = find_peaks(y)\n"
              "out = np.concatenate([p, peak_prominences(y, p)[0]])",
              answer, 2 * c.grid.n);
    assert_int_equal(signal_maxima(c.y, c.grid.n, &maximum, &count), PELLET_OK);
    assert_int_equal(n, 2 * count);
    assert_true(count > 20);
    for (size_t k = 0; k < count; k++) {
        assert_int_equal(maximum[k].at, (size_t)answer[k]);
        assert_near(maximum[k].prominence, answer[count + k], 1e-12);
    }
    free(maximum);
    free(answer);
    curves_free(&c);
}

/* scipy.optimize.least_squares on (a + d x)/(1 + x^2) with a line: the six parameters, and the rms of the
 * rest. */
static void least_squares(void **state)
{
    struct curves c = curves_make(1500, 1900, 1, 5);
    const struct pellet_band band = {.at_cm1 = 1700, .height = 0.5, .top = 0.6, .width_cm1 = 18};
    struct pellet_band_shape shape;
    double answer[5];

    (void)state;
    for (size_t i = 0; i < c.grid.n; i++) {
        const double x = (c.x[i] - 1701.3) / 8.5;
        c.y[i] = (0.5 - 0.2 * x) / (1 + x * x) + 0.1 + 1e-4 * (c.x[i] - 1700);
    }
    curves_noise(&c, 1e-3, 1);
    assert_int_equal(
        scipy(&c,
              "from scipy.optimize import least_squares\nk = (x >= 1628) & (x <= 1772)\nx, y = x[k], y[k]\n"
              "def rest(p):\n    u = (x - p[2]) / p[3]\n"
              "    return (p[0] + p[1] * u) / (1 + u * u) + p[4] + p[5] * (x - 1700) - y\n"
              "s = least_squares(rest, [0.5, 0, 1700, 9, 0.1, 0], x_scale=[1, 1, 1, 1, 1, 0.01], xtol=1e-14, "
              "ftol=1e-14, gtol=1e-14)\n"
              "out = list(s.x[:4]) + [np.sqrt(2 * s.cost / (len(x) - 6))]",
              answer, 5),
        5);
    /* Half a spacing more to either side: there the outermost points count whole as well. */
    assert_int_equal(pellet_band_shape_fit(c.grid, c.y, &band, 40, 1627.5, 1772.5, &shape), PELLET_OK);
    assert_true(shape.ok);
    assert_near(shape.a, answer[0], 1e-6);
    assert_near(shape.d, answer[1], 1e-6);
    assert_near(shape.at_cm1, answer[2], 1e-5);
    assert_near(shape.gamma_cm1, answer[3], 1e-5);
    assert_near(shape.rms, answer[4], 1e-9);
    curves_free(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(smoothing_and_second_derivative),
        cmocka_unit_test(spline),
        cmocka_unit_test(peaks),
        cmocka_unit_test(least_squares),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
