// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/measurement.h"
#include "pellet/reference.h"

/* A film whose bands all lie `shift` off the list, the one nearest `special` by `other` instead. */
static void make(struct bench *bench, double step, double shift, double special, double other)
{
    bench_make(bench, PELLET_FILM, PELLET_AGAINST_OPEN_BEAM, 400, 4000, step);
    for (size_t i = 0; i < pellet_polystyrene_band_count; i++) {
        const double listed = pellet_polystyrene_bands[i].wavenumber;
        bench_add(bench, bench_gauss, 0.3, listed + (fabs(listed - special) < 1.0 ? other : shift), 9);
    }
}

/* Gauss bands keep their centroid on any grid that shows them; the neighbours 1601.2 and 1583.0 lean on each
 * other by less than 0.1 cm-1. */
static void a_shift_comes_back(void **state)
{
    static const double steps[] = {0.25, 0.964, 1.93};
    static const double shifts[] = {0.0, 0.4, -0.9};

    (void)state;
    for (size_t s = 0; s < 3; s++) {
        for (size_t k = 0; k < 3; k++) {
            struct bench bench;
            struct pellet_finding finding;
            make(&bench, steps[s], shifts[k], 0.0, 0.0);
            finding = bench_run(&bench, "wavenumber");
            assert_int_equal(finding.outcome, PELLET_PASS);
            assert_int_equal(finding.phrase, PELLET_SAYS_SCALE_RIGHT);
            assert_near(finding.value, shifts[k], 0.1);
            assert_near(finding.number[0], (double)pellet_polystyrene_band_count, 0.0);
            bench_clear(&bench);
        }
    }
}

/* 1.5 above 1900 cm-1, 1.0 below. */
static void the_limit_depends_on_the_place(void **state)
{
    static const struct {
        double at, error;
        enum pellet_outcome outcome;
        double limit;
    } rows[] = {
        {1154.5, 0.9, PELLET_PASS, 1.0},    {1154.5, 1.1, PELLET_RESCAN, 1.0},
        {1154.5, -1.1, PELLET_RESCAN, 1.0}, {2849.5, 1.4, PELLET_PASS, 1.5},
        {2849.5, 1.6, PELLET_RESCAN, 1.5},  {3060.0, -1.6, PELLET_RESCAN, 1.5},
        {1942.9, 1.4, PELLET_PASS, 1.5},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct bench bench;
        struct pellet_finding finding;
        make(&bench, 0.964, 0.0, rows[i].at, rows[i].error);
        finding = bench_run(&bench, "wavenumber");
        assert_int_equal(finding.outcome, rows[i].outcome);
        assert_near(finding.value, rows[i].error, 0.1);
        assert_near(finding.limit, rows[i].limit, 0.0);
        assert_near(finding.at_cm1, rows[i].at, 0.1);
        assert_int_equal(finding.phrase,
                         rows[i].outcome == PELLET_PASS ? PELLET_SAYS_SCALE_RIGHT : PELLET_SAYS_SCALE_OFF);
        bench_clear(&bench);
    }
}

/* The middle of a skewed band: the centroid of the upper half of a triangle of feet -6 and +12 lies a third
 * of the upper half's asymmetry off the top, (6 - 3)/3 = 1. */
static double skewed(double nu, double at, double width)
{
    const double u = nu - at;
    (void)width;
    return fmax(0.0, u < 0.0 ? 1.0 + u / 6.0 : 1.0 - u / 12.0);
}

static void the_centroid_is_that_of_the_upper_half(void **state)
{
    struct bench bench;

    (void)state;
    bench_make(&bench, PELLET_FILM, PELLET_AGAINST_OPEN_BEAM, 400, 4000, 0.1);
    for (size_t i = 0; i < pellet_polystyrene_band_count; i++) {
        const double listed = pellet_polystyrene_bands[i].wavenumber;
        bench_add(&bench, skewed, 0.3, fabs(listed - 1028.3) < 1.0 ? listed : listed - 1.0, 0);
    }
    assert_near(bench_run(&bench, "wavenumber").value, 1.0, 0.05);
    bench_clear(&bench);
}

static void what_cannot_be_checked_says_why(void **state)
{
    struct bench bench;

    (void)state;
    bench_make(&bench, PELLET_FILM, PELLET_AGAINST_NOTHING, 400, 4000, 1);
    bench_expect(&bench, "wavenumber", PELLET_NOT_CHECKED, PELLET_SAYS_NEEDS_OPEN_BEAM);
    bench_clear(&bench);
    bench_make(&bench, PELLET_FILM, PELLET_AGAINST_OPEN_BEAM, 400, 4000, 1);
    bench_expect(&bench, "wavenumber", PELLET_NOT_CHECKED, PELLET_SAYS_NO_BANDS);
    bench_add(&bench, bench_gauss, 0.3, 1601.2, 9);
    bench_add(&bench, bench_gauss, 0.3, 1028.3, 9);
    bench_expect(&bench, "wavenumber", PELLET_NOT_CHECKED, PELLET_SAYS_NO_BANDS);
    bench_add(&bench, bench_gauss, 0.3, 906.6, 9);
    assert_int_equal(bench_run(&bench, "wavenumber").outcome, PELLET_PASS);
    bench_mark(&bench, 905, 907, PELLET_POINT_LOWER_BOUND);
    bench_expect(&bench, "wavenumber", PELLET_NOT_CHECKED, PELLET_SAYS_NO_BANDS);
    bench_clear(&bench);
}

/* A public spectrum of a film, points every 1.93 cm-1: its bands lie within 1.3 cm-1 of the list, as the note
 * to the list says, so nothing is off by more than that and the points' own reading error. */
static void a_real_film_agrees_with_the_list(void **state)
{
    struct pellet_spectra film = {0};
    struct pellet_finding finding;
    struct bench bench;
    struct pellet_spectrum *spectrum;

    (void)state;
    if (!bench_read_shared("data/jcamp/jtpolysd.jdx", PELLET_ORDINATE_UNKNOWN, &film))
        skip();
    spectrum = &film.item[0];
    for (size_t i = 0; i < spectrum->n; i++) {
        if (spectrum->ordinate == PELLET_ORDINATE_TRANSMITTANCE)
            spectrum->y[i] = spectrum->y[i] > 0.0 ? -log10(spectrum->y[i]) : NAN;
    }
    bench_take(&bench, PELLET_FILM, PELLET_AGAINST_OPEN_BEAM, spectrum->wavenumber, spectrum->y, spectrum->n,
               NAN);
    finding = bench_run(&bench, "wavenumber");
    print_message("%g bands, at most %.2f off at %.1f\n", finding.number[0], finding.value, finding.at_cm1);
    assert_true(finding.number[0] >= 5.0);
    assert_true(fabs(finding.value) <= 1.3 + 0.2);
    bench_clear(&bench);
    pellet_spectra_clear(&film);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_shift_comes_back),
        cmocka_unit_test(the_limit_depends_on_the_place),
        cmocka_unit_test(the_centroid_is_that_of_the_upper_half),
        cmocka_unit_test(what_cannot_be_checked_says_why),
        cmocka_unit_test(a_real_film_agrees_with_the_list),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
