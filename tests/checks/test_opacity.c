// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/measurement.h"
#include "pellet/reference.h"

static void make(struct bench *bench, enum pellet_role role, enum pellet_basis basis, double percent)
{
    bench_make(bench, role, basis, 400, 4000, 2);
    bench_add(bench, bench_flat, -log10(percent / 100.0), 0, 0);
}

/* 60 % without compensation is 65.6 % against a clear plate of KBr: (1-R)/(1+R) = 91.5 % at 2000 cm-1. */
static void the_limit_against_a_blank_follows_from_the_plate(void **state)
{
    (void)state;
    assert_near(60.0 / pellet_kbr_plate_transmittance(2000.0), 65.6, 0.05);
}

static void each_basis_has_its_limit(void **state)
{
    static const struct {
        enum pellet_role role;
        enum pellet_basis basis;
        double percent;
        enum pellet_outcome outcome;
        enum pellet_phrase phrase;
        const char *basis_word;
    } rows[] = {
        {PELLET_SAMPLE, PELLET_AGAINST_OPEN_BEAM, 60.0, PELLET_PASS, PELLET_SAYS_WITHIN, "open_beam"},
        {PELLET_SAMPLE, PELLET_AGAINST_OPEN_BEAM, 59.9, PELLET_REMAKE, PELLET_SAYS_CLOUDY_OPEN, "open_beam"},
        {PELLET_SAMPLE, PELLET_AGAINST_BLANK, 65.6, PELLET_PASS, PELLET_SAYS_WITHIN, "blank"},
        {PELLET_SAMPLE, PELLET_AGAINST_BLANK, 65.5, PELLET_REMAKE, PELLET_SAYS_CLOUDY_BLANK, "blank"},
        {PELLET_BLANK, PELLET_AGAINST_OPEN_BEAM, 75.0, PELLET_PASS, PELLET_SAYS_WITHIN, "open_beam"},
        {PELLET_BLANK, PELLET_AGAINST_OPEN_BEAM, 74.9, PELLET_REMAKE, PELLET_SAYS_CLOUDY_OPEN, "open_beam"},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct bench bench;
        struct pellet_finding finding;
        make(&bench, rows[i].role, rows[i].basis, rows[i].percent);
        finding = bench_run(&bench, "opacity");
        assert_near(finding.value, rows[i].percent, 1e-9);
        assert_int_equal(finding.outcome, rows[i].outcome);
        assert_int_equal(finding.phrase, rows[i].phrase);
        assert_string_equal(finding.basis, rows[i].basis_word);
        assert_int_equal(finding.unit, PELLET_UNIT_PERCENT);
        assert_near(finding.from_cm1, 1950.0, 0.0);
        assert_near(finding.rests_high, 2050.0, 0.0);
        bench_clear(&bench);
    }
}

/* Against the blank 70 % would pass; but the blank itself let only 80 % through: 56 % fails against 60 %. */
static void what_is_absolute_goes_first(void **state)
{
    struct bench bench;
    struct pellet_finding finding;

    (void)state;
    make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 70.0);
    bench.m.absolute = bench_array(bench.m.n, 0.56);
    finding = bench_run(&bench, "opacity");
    assert_near(finding.value, 56.0, 1e-9);
    assert_near(finding.limit, 60.0, 0.0);
    assert_int_equal(finding.outcome, PELLET_REMAKE);
    assert_string_equal(finding.basis, "blank_and_open_beam");
    bench_clear(&bench);
}

/* T falls along a line from 1900 to 2150: the mean of a window is the T of its middle. */
static void the_mean_is_that_of_the_window(void **state)
{
    struct bench bench;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 3.3);
    for (size_t i = 0; i < bench.m.n; i++)
        bench.m.transmittance[i] = 0.8 - (bench.m.wavenumber[i] - 2000.0) * 1e-4;
    assert_near(bench_run(&bench, "opacity").value, 80.0, 1e-9);
    bench_clear(&bench);
}

static void bands_move_the_window(void **state)
{
    struct bench bench;
    struct pellet_finding finding;

    (void)state;
    make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 80.0);
    bench_add(&bench, bench_box, 1.0, 2000, 40);
    bench_band(&bench, 2000, 1.0, 10); /* its feet cover 40 % of the window, 16 % of the wider one */
    finding = bench_run(&bench, "opacity");
    assert_near(finding.from_cm1, 1900.0, 0.0);
    assert_near(finding.value, 80.0, 1e-9);
    bench_clear(&bench);
}

/* A broad band over both windows: its brightest part is a lower bound, what is beneath it an upper one. */
static void bands_over_all_leave_bounds(void **state)
{
    static const struct {
        double percent, beneath;
        enum pellet_outcome outcome;
        enum pellet_phrase phrase;
    } rows[] = {
        {70.0, 80.0, PELLET_PASS, PELLET_SAYS_CLEAR_AT_LEAST},
        {60.0, 80.0, PELLET_NOT_CHECKED, PELLET_SAYS_NO_CLEAR_WINDOW},
        {60.0, 65.6, PELLET_NOT_CHECKED, PELLET_SAYS_NO_CLEAR_WINDOW},
        {60.0, 65.5, PELLET_REMAKE, PELLET_SAYS_CLOUDY_BLANK},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct bench bench;
        struct pellet_finding finding;
        make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, rows[i].percent);
        bench_band(&bench, 2025, 1.0, 100);
        for (size_t k = 0; k < bench.m.n; k++)
            bench.m.baseline[k] = -log10(rows[i].beneath / 100.0);
        finding = bench_run(&bench, "opacity");
        assert_int_equal(finding.outcome, rows[i].outcome);
        assert_int_equal(finding.phrase, rows[i].phrase);
        if (rows[i].outcome == PELLET_PASS) {
            assert_true(finding.at_least);
            assert_near(finding.value, rows[i].percent, 1e-9);
        } else if (rows[i].outcome == PELLET_REMAKE) {
            assert_true(finding.at_most && !finding.at_least);
            assert_near(finding.value, rows[i].beneath, 1e-9);
        }
        bench_clear(&bench);
    }
}

static void what_cannot_be_checked_says_why(void **state)
{
    static const struct {
        enum pellet_role role;
        enum pellet_basis basis;
        enum pellet_phrase phrase;
    } rows[] = {
        {PELLET_SAMPLE, PELLET_AGAINST_NOTHING, PELLET_SAYS_NEEDS_RATIO},
        {PELLET_SAMPLE, PELLET_AGAINST_UNKNOWN, PELLET_SAYS_NEEDS_BASIS},
        {PELLET_BLANK, PELLET_AGAINST_NOTHING, PELLET_SAYS_NEEDS_OPEN_BEAM},
        {PELLET_BLANK, PELLET_AGAINST_FIRST_BLANK, PELLET_SAYS_NEEDS_OPEN_BEAM},
    };

    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct bench bench;
        bench_make(&bench, rows[i].role, rows[i].basis, 400, 4000, 2);
        bench_expect(&bench, "opacity", PELLET_NOT_CHECKED, rows[i].phrase);
        bench_clear(&bench);
    }
    struct bench bench;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 2100, 4000, 2);
    bench_expect(&bench, "opacity", PELLET_NOT_CHECKED, PELLET_SAYS_OUT_OF_RANGE);
    bench_clear(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_limit_against_a_blank_follows_from_the_plate),
        cmocka_unit_test(each_basis_has_its_limit),
        cmocka_unit_test(what_is_absolute_goes_first),
        cmocka_unit_test(the_mean_is_that_of_the_window),
        cmocka_unit_test(bands_move_the_window),
        cmocka_unit_test(bands_over_all_leave_bounds),
        cmocka_unit_test(what_cannot_be_checked_says_why),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
