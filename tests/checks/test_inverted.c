// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/measurement.h"

#include "pellet/reference.h"

static void make(struct bench *bench, uint64_t seed)
{
    bench_make(bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 2);
    bench_add(bench, bench_flat, 0.05, 0, 0);
    for (size_t i = 0; i < bench->m.n; i++)
        bench->m.baseline[i] = 0.05;
    bench_noise(bench, 2e-4, seed);
    for (size_t i = 0; i < bench->m.n; i++)
        bench->m.baseline[i] = 0.05;
}

static void a_flat_spectrum_has_none(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 5; seed++) {
        struct bench bench;
        struct pellet_finding finding;
        make(&bench, seed);
        finding = bench_run(&bench, "inverted");
        assert_int_equal(finding.outcome, PELLET_PASS);
        assert_true(finding.value < 0.003);
        bench_clear(&bench);
    }
}

/* Nitrate in the blank: a Gauss dip at 1384 comes back with its depth; 50 cm-1 to each side are
 * distrusted. */
static void a_dip_is_measured_and_distrusted(void **state)
{
    static const double depths[] = {0.008, 0.03, 0.2};

    (void)state;
    for (size_t i = 0; i < sizeof depths / sizeof depths[0]; i++) {
        struct bench bench;
        struct pellet_finding finding;
        make(&bench, 10 + i);
        bench_add(&bench, bench_gauss, -depths[i], 1384, 14);
        finding = bench_run(&bench, "inverted");
        assert_near(finding.value, depths[i], 0.001 + 0.02 * depths[i]);
        assert_near(finding.at_cm1, 1384.0, 1.5);
        assert_near(finding.rests_low, finding.at_cm1 - 50.0, 1e-9);
        if (depths[i] > 0.02) {
            assert_int_equal(finding.outcome, PELLET_WAIT);
            assert_int_equal(finding.phrase, PELLET_SAYS_INVERTED_BAND);
            assert_int_equal(finding.distrust_count, 1);
            assert_near(finding.distrust[0].low, 1334.0, 1.5);
            assert_near(finding.distrust[0].high, 1434.0, 1.5);
        } else {
            assert_int_equal(finding.outcome, PELLET_PASS);
            assert_int_equal(finding.distrust_count, 0);
        }
        bench_clear(&bench);
    }
}

/* Broad dips, dips of carbon dioxide, of water and of a ripple have their own checks. */
static void what_has_its_own_check_is_left_out(void **state)
{
    struct bench bench;

    (void)state;
    make(&bench, 21);
    bench_add(&bench, bench_gauss, -0.1, 2340, 30);
    bench_add(&bench, bench_gauss, -0.1, 2800, 150);
    bench_add(&bench, bench_gauss, -0.15, 3400, 55);
    for (size_t i = 0; i < bench.m.n; i++)
        bench.m.residual_water[i] = -0.15 * bench_gauss(bench.m.wavenumber[i], 3400, 55);
    for (size_t i = 0; i < bench.m.n; i++)
        bench.m.absorbance[i] += 0.05 * cos(2.0 * M_PI * bench.m.wavenumber[i] / 40.0 + 0.7);
    bench.m.ripple = (struct pellet_ripple){
        .amplitude = 0.05, .period_cm1 = 40.0, .phase = 0.7, .low_cm1 = 1900, .high_cm1 = 2290};
    assert_int_equal(bench_run(&bench, "inverted").outcome, PELLET_PASS);
    bench_clear(&bench);
}

/* The waves of a pellet's ripple from the middle of its range on: the optical path over the wavenumber. */
static double waves(double nu, double period, double middle)
{
    return (nu * pellet_kbr_index(nu) - middle * pellet_kbr_index(middle)) /
           (period * pellet_kbr_group_index(middle));
}

/* A ripple goes on beyond the range where it was fitted, as the dispersion of KBr has it. The Q branch of
 * carbon dioxide at 667 is the air's. */
static void troughs_and_gas_are_left_out(void **state)
{
    (void)state;
    for (int turn = 0; turn < 8; turn++) {
        struct bench bench;
        const double start = 2.0 * M_PI * turn / 8.0, middle = 2300.0, period = 27.0;
        make(&bench, 31 + (uint64_t)turn);
        bench_add(&bench, bench_gauss, -0.05, 667, 8);
        for (size_t i = 0; i < bench.m.n; i++)
            bench.m.absorbance[i] +=
                0.03 * cos(2.0 * M_PI * waves(bench.m.wavenumber[i], period, middle) + start);
        bench.m.ripple = (struct pellet_ripple){.amplitude = 0.03,
                                                .period_cm1 = period,
                                                .phase = start - 2.0 * M_PI * middle / period,
                                                .low_cm1 = 1900,
                                                .high_cm1 = 2700};
        assert_int_equal(bench_run(&bench, "inverted").outcome, PELLET_PASS);
        bench_clear(&bench);
    }
}

/* Of the instrument's own ripple, which keeps its period, the phase is wrong elsewhere: twice of it may be
 * left, and is no band of the blank as long as it looks like a crest. */
static void a_ripple_out_of_step_is_left_out(void **state)
{
    struct bench bench;

    (void)state;
    make(&bench, 61);
    for (size_t i = 0; i < bench.m.n; i++)
        bench.m.absorbance[i] += 0.01 * cos(2.0 * M_PI * bench.m.wavenumber[i] / 27.0);
    bench.m.ripple =
        (struct pellet_ripple){.amplitude = 0.01, .period_cm1 = 27.0, .low_cm1 = 1900, .high_cm1 = 2700};
    assert_int_equal(bench_run(&bench, "inverted").outcome, PELLET_PASS);
    bench_clear(&bench);
}

/*
 * The ground beside a deep dip is no band of the sample that could feign it: the finder gives it a height,
 * since one of its feet is the bottom of the dip, but it does not stand above the other.
 */
static void a_dip_is_not_feigned_by_its_own_rim(void **state)
{
    struct bench bench;

    (void)state;
    make(&bench, 71);
    bench_add(&bench, bench_gauss, -0.05, 2600, 8);
    struct pellet_band *rim = bench_band(&bench, 2630, 0.03, 50);
    rim->top = 0.05;
    rim->low_cm1 = 2600;
    rim->high_cm1 = 2690;
    assert_int_equal(bench_run(&bench, "inverted").outcome, PELLET_WAIT);
    bench_clear(&bench);
}

/*
 * (1 - s x)/(1 + x^2) of a coarse pellet that scatters enough: the trough is the sample's. The same trough
 * where nothing is scattered is the blank's; so is one too far away, as narrow, from the band. With s = 1 the
 * depth is 0.172 of the height and the extremes are 2.83 half widths apart.
 */
static void a_trough_by_dispersion_is_left_out(void **state)
{
    const struct {
        double scatter, away;
        enum pellet_outcome outcome;
    } row[] = {
        {0.30, 2.83, PELLET_PASS},
        {0.01, 2.83, PELLET_WAIT},
        {0.10, 12.0, PELLET_WAIT},
    };

    (void)state;
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        struct bench bench;
        const double half = 8.0, height = 0.3, depth = 0.172 * height;
        make(&bench, 81 + i);
        for (size_t k = 0; k < bench.m.n; k++) {
            bench.m.absorbance[k] += row[i].scatter - 0.05;
            bench.m.baseline[k] = row[i].scatter;
        }
        bench_add(&bench, bench_gauss, height, 1100, half / 1.18);
        bench_add(&bench, bench_gauss, -depth, 1100 + row[i].away * half, half / 1.18);
        bench_band(&bench, 1100, height, 2.0 * half)->top = row[i].scatter + height;
        assert_int_equal(bench_run(&bench, "inverted").outcome, row[i].outcome);
        bench_clear(&bench);
    }
}

/* The gap between two bands of the sample is no band of the blank; a dip deeper than they are is. */
static void a_gap_between_bands_is_left_out(void **state)
{
    struct bench bench;

    (void)state;
    make(&bench, 31);
    bench_add(&bench, bench_gauss, 0.5, 1100, 40);
    bench_add(&bench, bench_gauss, 0.4, 1040, 40);
    bench_band(&bench, 1100, 0.5, 40);
    bench_band(&bench, 1040, 0.4, 40);
    assert_int_equal(bench_run(&bench, "inverted").outcome, PELLET_PASS);
    bench_clear(&bench);
    make(&bench, 32);
    bench_add(&bench, bench_gauss, 0.01, 2950, 20);
    bench_add(&bench, bench_gauss, -0.1, 2920, 20);
    bench_band(&bench, 2950, 0.01, 20);
    assert_int_equal(bench_run(&bench, "inverted").outcome, PELLET_WAIT);
    bench_clear(&bench);
}

/*
 * A valley between strong overlapping bands that the band finder saw lower than the valley is deep: it stays
 * above the baseline, so it is no band of the blank.
 */
static void a_valley_above_the_baseline_is_left_out(void **state)
{
    struct bench bench;

    (void)state;
    make(&bench, 41);
    bench_add(&bench, bench_gauss, 0.6, 1110, 40);
    bench_add(&bench, bench_gauss, 0.6, 1040, 40);
    bench_band(&bench, 1110, 0.02, 40);
    bench_band(&bench, 1040, 0.02, 40);
    assert_int_equal(bench_run(&bench, "inverted").outcome, PELLET_PASS);
    bench_clear(&bench);
}

/* The other branches of carbon dioxide's bend, beside as much of its stretch; the same without it is the
 * blank's. */
static void the_branches_of_the_bend_go_with_the_stretch(void **state)
{
    static const double stretch[] = {0.18, 0.0};

    (void)state;
    for (size_t i = 0; i < 2; i++) {
        struct bench bench;
        make(&bench, 101 + i);
        bench_add(&bench, bench_gauss, -0.03, 653, 16);
        bench_add(&bench, bench_gauss, -stretch[i], 2340, 30);
        assert_int_equal(bench_run(&bench, "inverted").outcome, i == 0 ? PELLET_PASS : PELLET_WAIT);
        bench_clear(&bench);
    }
}

static double odd(double nu, double at, double width)
{
    const double x = (nu - at) / (width / 2.0);
    return x / (1.0 + x * x);
}

static double even(double nu, double at, double width)
{
    const double x = (nu - at) / (width / 2.0);
    return 1.0 / (1.0 + x * x);
}

/* A band of very coarse grains that has turned over, a - d x over 1 + x^2 with d above a, shows a dip and no
 * band; without scatter for it to take away it is not that, and an even dip is the blank's. */
static void a_slope_of_dispersion_is_left_out(void **state)
{
    const struct {
        double scatter, even, odd;
        enum pellet_outcome outcome;
    } row[] = {
        {0.6, -0.020, 0.045, PELLET_PASS},
        {0.6, -0.020, -0.045, PELLET_PASS},
        {0.01, -0.020, 0.045, PELLET_WAIT},
        {0.6, -0.045, 0.010, PELLET_WAIT},
    };

    (void)state;
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        struct bench bench;
        make(&bench, 111 + i);
        for (size_t k = 0; k < bench.m.n; k++) {
            bench.m.absorbance[k] += row[i].scatter - 0.05;
            bench.m.baseline[k] = row[i].scatter;
        }
        bench_add(&bench, even, row[i].even, 2600, 20);
        bench_add(&bench, odd, row[i].odd, 2600, 20);
        assert_int_equal(bench_run(&bench, "inverted").outcome, row[i].outcome);
        bench_clear(&bench);
    }
}

/* A faint broad band far away could make a trough of this depth here; but a trough is not even, and this is. */
static void a_plain_dip_is_not_excused_by_dispersion(void **state)
{
    (void)state;
    for (int turn = 0; turn < 2; turn++) {
        struct bench bench;
        make(&bench, 121);
        for (size_t k = 0; k < bench.m.n; k++) {
            bench.m.absorbance[k] += 0.05;
            bench.m.baseline[k] = 0.10;
        }
        bench_add(&bench, bench_gauss, 0.025, 2800, 85);
        bench_band(&bench, 2800, 0.025, 200)->top = 0.125;
        bench_add(&bench, even, -0.035, 2600, 18);
        if (turn == 1)
            bench_add(&bench, odd, 0.035, 2600, 18);
        assert_int_equal(bench_run(&bench, "inverted").outcome, turn == 0 ? PELLET_WAIT : PELLET_PASS);
        bench_clear(&bench);
    }
}

/* Where the blank saw more vapour its lines point down; a dip as deep as they are but much wider is a band's. */
static void a_dip_among_lines_is_told_by_its_width(void **state)
{
    (void)state;
    for (int turn = 0; turn < 2; turn++) {
        struct bench bench;
        bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 0.5);
        double position[512], intensity[512], *lines = bench_array(bench.m.n, 0.0);
        const size_t count = pellet_vapour_line_count < 512 ? pellet_vapour_line_count : 512;
        for (size_t k = 0; k < count; k++) {
            position[k] = pellet_vapour_lines[k].wavenumber;
            intensity[k] = pellet_vapour_lines[k].intensity;
        }
        assert_int_equal(
            pellet_line_pattern(pellet_measurement_grid(&bench.m), position, intensity, count, 0.9, lines),
            PELLET_OK);
        bench_noise(&bench, 2e-4, 131);
        bench.m.resolution = 1.0;
        for (size_t i = 0; i < bench.m.n; i++)
            bench.m.absorbance[i] -= 0.05 * lines[i];
        if (turn == 1)
            bench_add(&bench, bench_gauss, -0.05, 1765, 12);
        for (size_t i = 0; i < bench.m.n; i++) {
            bench.m.baseline[i] = 0.0;
            bench.m.transmittance[i] = pow(10.0, -bench.m.absorbance[i]);
        }
        assert_int_equal(bench_run(&bench, "inverted").outcome, turn == 0 ? PELLET_PASS : PELLET_WAIT);
        free(lines);
        bench_clear(&bench);
    }
}

/* In a pellet that lets a tenth of the light through, the bands of coarse grains themselves point down. */
static void a_dark_pellet_tells_nothing(void **state)
{
    const struct {
        double scatter, depth;
        enum pellet_outcome outcome;
    } row[] = {{1.2, 0.1, PELLET_PASS}, {1.2, 0.5, PELLET_WAIT}, {0.9, 0.1, PELLET_WAIT}};

    (void)state;
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        struct bench bench;
        make(&bench, 91 + i);
        for (size_t k = 0; k < bench.m.n; k++) {
            bench.m.absorbance[k] += row[i].scatter - 0.05;
            bench.m.baseline[k] = row[i].scatter;
        }
        bench_add(&bench, bench_gauss, -row[i].depth, 2600, 10);
        assert_int_equal(bench_run(&bench, "inverted").outcome, row[i].outcome);
        bench_clear(&bench);
    }
}

/* One foot beyond the end of the file is no evidence; the same dip further in is. */
static void a_dip_at_the_end_is_left_out(void **state)
{
    struct bench bench;

    (void)state;
    make(&bench, 51);
    bench_add(&bench, bench_gauss, -0.1, 406, 14);
    assert_int_equal(bench_run(&bench, "inverted").outcome, PELLET_PASS);
    bench_clear(&bench);
    make(&bench, 52);
    bench_add(&bench, bench_gauss, -0.1, 440, 14);
    assert_int_equal(bench_run(&bench, "inverted").outcome, PELLET_WAIT);
    bench_clear(&bench);
}

static void what_cannot_be_checked_says_why(void **state)
{
    struct bench bench;

    (void)state;
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_NOTHING, 400, 4000, 2);
    bench_expect(&bench, "inverted", PELLET_NOT_CHECKED, PELLET_SAYS_NEEDS_RATIO);
    bench_clear(&bench);
    bench_make(&bench, PELLET_SAMPLE, PELLET_AGAINST_BLANK, 400, 4000, 2);
    bench_darken(&bench, 0, 5000);
    bench_expect(&bench, "inverted", PELLET_NOT_CHECKED, PELLET_SAYS_NO_CLEAR_WINDOW);
    bench_clear(&bench);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_flat_spectrum_has_none),
        cmocka_unit_test(a_dip_is_measured_and_distrusted),
        cmocka_unit_test(what_has_its_own_check_is_left_out),
        cmocka_unit_test(troughs_and_gas_are_left_out),
        cmocka_unit_test(a_ripple_out_of_step_is_left_out),
        cmocka_unit_test(a_dip_is_not_feigned_by_its_own_rim),
        cmocka_unit_test(a_trough_by_dispersion_is_left_out),
        cmocka_unit_test(the_branches_of_the_bend_go_with_the_stretch),
        cmocka_unit_test(a_slope_of_dispersion_is_left_out),
        cmocka_unit_test(a_dark_pellet_tells_nothing),
        cmocka_unit_test(a_plain_dip_is_not_excused_by_dispersion),
        cmocka_unit_test(a_dip_among_lines_is_told_by_its_width),
        cmocka_unit_test(a_gap_between_bands_is_left_out),
        cmocka_unit_test(a_dip_at_the_end_is_left_out),
        cmocka_unit_test(a_valley_above_the_baseline_is_left_out),
        cmocka_unit_test(what_cannot_be_checked_says_why),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
