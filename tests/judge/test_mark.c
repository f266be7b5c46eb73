// SPDX-License-Identifier: GPL-3.0-or-later
#include "testing.h"

#include "judge/mark.h"

#include <math.h>
#include <string.h>

#define N 1200

static double wavenumber[N], absorbance[N], baseline[N];
static unsigned char mark[N];

/* 400..3997 cm-1 by 3 cm-1: a ripple of 0.006 A peak to peak, 20 cm-1 long, and noise of 1e-4 A. */
static struct pellet_measurement rippled(void)
{
    unsigned state = 1;

    for (size_t i = 0; i < N; i++) {
        state = state * 1103515245u + 12345u;
        wavenumber[i] = 400.0 + 3.0 * (double)i;
        absorbance[i] =
            0.003 * cos(2.0 * M_PI * wavenumber[i] / 20.0) + 1e-4 * ((double)(state >> 16) / 32768.0 - 1.0);
        baseline[i] = 0.0;
    }
    memset(mark, 0, sizeof mark);
    return (struct pellet_measurement){.n = N,
                                       .wavenumber = wavenumber,
                                       .absorbance = absorbance,
                                       .baseline = baseline,
                                       .mark = mark,
                                       .spacing = 3.0,
                                       .resolution = NAN};
}

static void test_crests_and_the_bow_are_no_bands(void **state)
{
    struct pellet_measurement m = rippled();
    struct pellet_band band[] = {
        {.at_cm1 = 2100, .height = 0.100, .width_cm1 = 10},  /* higher than a crest */
        {.at_cm1 = 2500, .height = 0.080, .width_cm1 = 900}, /* the baseline's bow */
        {.at_cm1 = 1500, .height = 0.007, .width_cm1 = 18},  /* wider than a crest */
        {.at_cm1 = 2200, .height = 0.006, .width_cm1 = 10},  /* a crest */
    };

    (void)state;
    m.band = band;
    m.band_count = 4;
    assert_int_equal(pellet_ripple_settle(&m), PELLET_OK);
    assert_near(m.ripple.amplitude, 0.003, 1e-4);
    assert_near(m.ripple.period_cm1, 20.0, 0.05);
    assert_int_equal(m.band_count, 2);
    assert_near(band[0].at_cm1, 2100, 0);
    assert_near(band[1].at_cm1, 1500, 0);
}

static void test_a_dip_is_marked_and_a_trough_is_not(void **state)
{
    struct pellet_measurement m = rippled();

    (void)state;
    for (size_t i = 0; i < N; i++)
        absorbance[i] -= 0.05 * exp(-4.0 * M_LN2 * pow((wavenumber[i] - 2101.0) / 24.0, 2));
    assert_int_equal(pellet_ripple_settle(&m), PELLET_OK);
    assert_int_equal(pellet_bands_mark(&m, absorbance, 1e-4), PELLET_OK);
    for (size_t i = 0; i < N; i++) {
        if (fabs(wavenumber[i] - 2101.0) < 10.0)
            assert_true(mark[i] & PELLET_POINT_BAND);
        if (fabs(wavenumber[i] - 2101.0) > 60.0)
            assert_false(mark[i] & PELLET_POINT_BAND);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_crests_and_the_bow_are_no_bands),
        cmocka_unit_test(test_a_dip_is_marked_and_a_trough_is_not),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
