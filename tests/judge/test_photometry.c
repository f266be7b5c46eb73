// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * What is read of a band when a share s of the open beam's light gets past the pellet: A' = -log10((T + s)/(1
 * + s)), the textbook's formula for stray light. The table was computed apart from this program.
 */
#include "judge/fixture.h"

#include <math.h>

/* The top is that of a parabola through the points around it, and stray light flattens the band. */
#define TOP_ERROR 0.003

struct beam {
    double absorbance, stray;
};

static double beam_at(double wavenumber, const void *with)
{
    const struct beam *beam = with;
    const double x = (wavenumber - 1100.0) / 20.0;
    const double t = pow(10.0, -beam->absorbance * exp(-0.5 * x * x));

    return (t + beam->stray) / (1.0 + beam->stray);
}

/* The absorbance at the top of the strongest band, as the verdict gives it. */
static double read_top(double absorbance, double stray)
{
    const struct beam beam = {absorbance, stray};
    struct pellet_spectrum s = fixture_spectrum(PELLET_ORDINATE_TRANSMITTANCE, beam_at, &beam, 2e-6);
    struct pellet_verdict v;
    struct fixture f;

    fixture_init(&f, &s, NULL);
    f.settings.ratioed_against = PELLET_RATIOED_BLANK;
    assert_int_equal(pellet_judge(&f.inputs, &v, NULL, NULL), PELLET_OK);
    const struct pellet_finding *saturation = fixture_check(&v, "saturation");
    assert_non_null(saturation);
    /* A flattened top is called what it is, a lower bound; on the scale nothing is. */
    assert_true(absorbance > 1.3 || !saturation->at_least);
    const double top = saturation->value;
    pellet_verdict_clear(&v);
    pellet_spectrum_clear(&s);
    fixture_clear(&f);
    return top;
}

/* True absorbance; read with 1 % and with 0.1 % of stray light. */
static void stray_light_takes_what_the_table_says(void **state)
{
    (void)state;
    static const double table[][3] = {
        {0.10, 0.099, 0.100}, {0.43, 0.427, 0.434}, {0.60, 0.587, 0.599}, {1.00, 0.963, 0.996},
        {1.20, 1.140, 1.194}, {1.30, 1.225, 1.292}, {2.00, 1.703, 1.959}, {3.00, 1.963, 2.699},
    };

    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        /* The row called 0.43 is the minimum of the relative error, log10 e. */
        const double absorbance = i == 1 ? log10(exp(1.0)) : table[i][0];
        for (size_t k = 1; k <= 2; k++)
            assert_near(read_top(absorbance, k == 1 ? 0.01 : 0.001), table[i][k],
                        0.0006 + TOP_ERROR * table[i][k]);
    }
}

/* A = -log10 T: 5, 10, 25, 60, 75, 80 and 90 %. */
static void transmittance_becomes_absorbance(void **state)
{
    (void)state;
    static const double table[][2] = {{5, 1.301},  {10, 1.000}, {25, 0.602}, {60, 0.222},
                                      {75, 0.125}, {80, 0.097}, {90, 0.046}};

    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++)
        assert_near(read_top(-log10(table[i][0] / 100.0), 0.0), table[i][1], 0.0006);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(stray_light_takes_what_the_table_says),
        cmocka_unit_test(transmittance_becomes_absorbance),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
