// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Resampling and ratio against SciPy on the same arrays: the blank on a grid of its own, taken to the
 * sample's grid by a natural cubic spline, divided, and made an absorbance. Needs Debian's python3-scipy;
 * skips, saying so, without.
 */
#include "judge/fixture.h"

#include "judge/measure.h"

static double lamp(double wavenumber, const void *with)
{
    (void)with;
    return 0.6 + 0.3 * sin(wavenumber / 170.0) + 0.05 * cos(wavenumber / 23.0);
}

static double through(double wavenumber, const void *with)
{
    const double x = (wavenumber - 1200.0) / 40.0;
    return lamp(wavenumber, with) * pow(10.0, -0.8 / (1.0 + x * x));
}

static const char script[] = "import sys\n"
                             "from numpy import loadtxt, log10\n"
                             "from scipy.interpolate import CubicSpline\n"
                             "x, s, bx, b = loadtxt(sys.argv[1], unpack=True)\n"
                             "for a in -log10(s / CubicSpline(bx, b, bc_type='natural')(x)):\n"
                             "    print(repr(float(a)))\n";

static void test_ratio_over_another_grid(void **state)
{
    char table[] = "/tmp/pelletd-scipy-XXXXXX", command[2048];
    struct pellet_spectrum blank = fixture_spectrum(PELLET_ORDINATE_SINGLE_BEAM, lamp, NULL, 1e-5);
    struct pellet_spectrum beam = fixture_spectrum(PELLET_ORDINATE_SINGLE_BEAM, through, NULL, 1e-5);
    struct pellet_measurement m;
    struct fixture f;
    FILE *file, *answer;
    size_t compared = 0;

    (void)state;
    if (system("/usr/bin/python3 -c 'import scipy' 2>/dev/null") != 0) {
        print_message("skipped: python3-scipy is not here\n");
        skip();
    }
    for (size_t i = 0; i < blank.n; i++) {
        blank.wavenumber[i] = 399.3 + 2.0 * (double)i;
        blank.y[i] = lamp(blank.wavenumber[i], NULL);
    }
    file = fdopen(mkstemp(table), "w");
    assert_non_null(file);
    for (size_t i = 0; i < beam.n; i++)
        fprintf(file, "%.17g %.17g %.17g %.17g\n", beam.wavenumber[i], beam.y[i], blank.wavenumber[i],
                blank.y[i]);
    assert_int_equal(fclose(file), 0);
    snprintf(command, sizeof command, "/usr/bin/python3 -c \"%s\" %s", script, table);

    fixture_init(&f, &beam, &blank);
    assert_int_equal(pellet_measure(&f.inputs, &m, NULL), PELLET_OK);
    answer = popen(command, "r");
    assert_non_null(answer);
    for (size_t i = 0; i < m.n; i++) {
        double expected;
        assert_int_equal(fscanf(answer, "%lf", &expected), 1);
        if (isnan(m.absorbance[i])) /* beyond the blank's own range SciPy extrapolates, we do not */
            continue;
        assert_near(m.absorbance[i], expected, 1e-9);
        compared++;
    }
    assert_int_equal(pclose(answer), 0);
    assert_true(compared > 1790);
    unlink(table);
    pellet_measurement_clear(&m);
    fixture_clear(&f);
    pellet_spectrum_clear(&beam);
    pellet_spectrum_clear(&blank);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_ratio_over_another_grid)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
