// SPDX-License-Identifier: GPL-3.0-or-later
/* Line shapes against a slow Fourier transform of the apodisation, and what they do to fringes and bands. */
#include "testing.h"

#include "synth/model.h"

static double beam[PELLET_SYNTH_FINE_N];

static double apodisation(enum pellet_synth_apodisation kind, double x)
{
    return kind == PELLET_SYNTH_HAPP_GENZEL ? 0.54 + 0.46 * cos(M_PI * x) : 1.0 - x;
}

/* Integral of A(x) cos(2 pi nu x) over 0..L, L = 1/resolution, relative to nu = 0, by Simpson's rule. */
static double slow_line(enum pellet_synth_apodisation kind, double resolution, double nu)
{
    double at[2] = {0};
    const int n = 4000;
    for (int i = 0; i <= n; i++) {
        const double x = (double)i / n, weight = i == 0 || i == n ? 1.0 : i % 2 ? 4.0 : 2.0;
        at[0] += weight * apodisation(kind, x) * cos(2.0 * M_PI * nu / resolution * x);
        at[1] += weight * apodisation(kind, x);
    }
    return at[0] / at[1];
}

static void the_line_is_the_transform_of_the_apodisation(void **state)
{
    (void)state;
    for (int kind = PELLET_SYNTH_HAPP_GENZEL; kind <= PELLET_SYNTH_TRIANGULAR; kind++) {
        const double centre = pellet_synth_line((enum pellet_synth_apodisation)kind, 4.0, 0.0);
        for (double nu = 0.0; nu < 20.0; nu += 0.37) {
            const double line = pellet_synth_line((enum pellet_synth_apodisation)kind, 4.0, nu) / centre;
            assert_near(line, slow_line((enum pellet_synth_apodisation)kind, 4.0, nu), 1e-8);
        }
    }
}

/* Full widths at half height of textbooks: 1.815/2L for Happ-Genzel (Hamming), 1.772/2L for triangular. */
static void the_widths_are_the_textbooks(void **state)
{
    (void)state;
    static const double expected[] = {0.908, 0.886, 1.0};
    for (int kind = 0; kind < PELLET_SYNTH_APODISATION_COUNT; kind++) {
        const double half = 0.5 * pellet_synth_line((enum pellet_synth_apodisation)kind, 2.0, 0.0);
        double low = 0.0, high = 2.0;
        while (high - low > 1e-9) {
            const double middle = 0.5 * (low + high);
            if (pellet_synth_line((enum pellet_synth_apodisation)kind, 2.0, middle) > half)
                low = middle;
            else
                high = middle;
        }
        assert_near(2.0 * low / 2.0, expected[kind], 2e-3);
    }
}

/* A flat beam stays flat, a slope stays a slope, and a ripple keeps the apodisation at its path
 * difference. */
static void a_ripple_keeps_the_apodisation_at_its_path_difference(void **state)
{
    (void)state;
    struct pellet_synth_lineshape shape = {0};
    for (int kind = PELLET_SYNTH_HAPP_GENZEL; kind <= PELLET_SYNTH_TRIANGULAR; kind++) {
        assert_int_equal(pellet_synth_lineshape_make(&shape, 4.0, (enum pellet_synth_apodisation)kind),
                         PELLET_OK);
        const double period = 6.0, kept = apodisation((enum pellet_synth_apodisation)kind, 4.0 / period);
        for (size_t i = 0; i < PELLET_SYNTH_FINE_N; i++)
            beam[i] = 3.0 + 1e-3 * pellet_synth_fine(i) + cos(2.0 * M_PI * pellet_synth_fine(i) / period);
        for (double nu = 1000.0; nu < 1030.0; nu += 0.713) {
            const double expected = 3.0 + 1e-3 * nu + kept * cos(2.0 * M_PI * nu / period);
            assert_near(pellet_synth_lineshape_apply(&shape, beam, nu), expected, 0.02);
        }
    }
    pellet_synth_lineshape_clear(&shape);
}

/* The place between two points of the fine grid is honoured to a few thousandths of a wavenumber. */
static void the_convolution_does_not_shift(void **state)
{
    (void)state;
    struct pellet_synth_lineshape shape = {0};
    assert_int_equal(pellet_synth_lineshape_make(&shape, 2.0, PELLET_SYNTH_GAUSS), PELLET_OK);
    for (size_t i = 0; i < PELLET_SYNTH_FINE_N; i++)
        beam[i] = pellet_synth_fine(i);
    for (double nu = 500.0; nu < 501.0; nu += 0.0137)
        assert_near(pellet_synth_lineshape_apply(&shape, beam, nu), nu, 0.5 * 0.25 / 32.0 + 1e-9);
    assert_near(pellet_synth_lineshape_apply(&shape, beam, 360.0), 360.0, 0.01);
    assert_near(pellet_synth_lineshape_apply(&shape, beam, 4060.0), 4060.0, 0.01);
    pellet_synth_lineshape_clear(&shape);
    pellet_synth_lineshape_clear(&shape);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_line_is_the_transform_of_the_apodisation),
        cmocka_unit_test(the_widths_are_the_textbooks),
        cmocka_unit_test(a_ripple_keeps_the_apodisation_at_its_path_difference),
        cmocka_unit_test(the_convolution_does_not_shift),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
