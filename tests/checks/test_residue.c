// SPDX-License-Identifier: GPL-3.0-or-later
#include "checks/ripple_curve.h"
#include "checks/shapes.h"

#include "pellet/judge.h"

static const struct pellet_check *const check = &pellet_check_residue;

struct line {
    double at_cm1, height, width_cm1;
};

/* Two invented compounds that share one band (1605) and the C-H stretch. */
static const struct line earlier_lines[] = {
    {760.0, 0.45, 10.0},  {1120.0, 0.70, 16.0}, {1290.0, 0.50, 14.0},
    {1605.0, 0.40, 12.0}, {1715.0, 0.65, 18.0}, {2935.0, 0.30, 30.0},
};
static const struct line own_lines[] = {
    {690.0, 0.50, 12.0},  {1040.0, 0.80, 20.0}, {1450.0, 0.40, 15.0},
    {1605.0, 0.55, 12.0}, {2935.0, 0.45, 30.0},
};
#define EARLIER_COUNT (sizeof earlier_lines / sizeof earlier_lines[0])
#define OWN_COUNT     (sizeof own_lines / sizeof own_lines[0])

static double sum_of(const struct line *line, size_t count, double wavenumber)
{
    double sum = 0.0;
    for (size_t i = 0; i < count; i++)
        sum += shapes_lorentzian(wavenumber, line[i].at_cm1, line[i].height, 0.0, line[i].width_cm1);
    return sum;
}

/* Noise of 1 sigma = 0.0003 A, seeded. */
static double noise(uint64_t *seed)
{
    double sum = 0.0;
    for (size_t j = 0; j < 12; j++)
        sum += shapes_random(seed);
    return 3e-4 * (sum - 6.0);
}

struct session {
    struct shapes s;
    struct pellet_spectrum earlier, blank;
    struct pellet_earlier list[2];
    uint64_t seed;
};

/* The earlier sample as absorbance on its own grid of 1.9 cm-1, strongest band 0.7 A times `scale`. */
static void open_session(struct session *x, double share, bool own, double scale)
{
    memset(x, 0, sizeof *x);
    x->seed = 4;
    shapes_open(&x->s, 450.0, 4000.0, 2.0);
    for (size_t i = 0; own && i < OWN_COUNT; i++)
        shapes_band(&x->s, own_lines[i].at_cm1, own_lines[i].height, own_lines[i].width_cm1);
    for (size_t i = 0; i < x->s.m.n; i++)
        x->s.m.absorbance[i] +=
            share * sum_of(earlier_lines, EARLIER_COUNT, x->s.m.wavenumber[i]) + noise(&x->seed);

    x->earlier.n = 1868;
    x->earlier.wavenumber = shapes_array(x->earlier.n);
    x->earlier.y = shapes_array(x->earlier.n);
    x->earlier.ordinate = PELLET_ORDINATE_ABSORBANCE;
    for (size_t i = 0; i < x->earlier.n; i++) {
        x->earlier.wavenumber[i] = 451.0 + 1.9 * (double)i;
        x->earlier.y[i] =
            0.05 + scale * sum_of(earlier_lines, EARLIER_COUNT, x->earlier.wavenumber[i]) + noise(&x->seed);
    }
    x->list[0].source =
        (struct pellet_source){.file = "a.csv", .sample = "tartrate", .spectrum = &x->earlier};
    x->s.inputs.subject.sample = "urea";
    x->s.inputs.earlier = x->list;
    x->s.inputs.earlier_count = 1;
}

static void close_session(struct session *x)
{
    free(x->earlier.wavenumber);
    free(x->earlier.y);
    free(x->blank.wavenumber);
    free(x->blank.y);
    shapes_close(&x->s);
}

/* As the definition says: the share of the pattern times the earlier sample's strongest height. */
static void test_share_comes_back(void **state)
{
    (void)state;
    const double share[] = {0.05, 0.10, 0.20};
    for (size_t i = 0; i < 3; i++) {
        struct session x;
        open_session(&x, share[i], true, 1.0);
        const struct pellet_finding *f = shapes_run(&x.s, check);
        assert_near(f->value, 0.7 * share[i], 0.1 * 0.7 * share[i]);
        assert_outcome(f, PELLET_REMAKE, PELLET_SAYS_CARRY_OVER);
        assert_true(f->number[0] >= 0.95);
        assert_string_equal(f->word, "tartrate");
        close_session(&x);
    }
}

/* Fringes as narrow as bands do not hide it. */
static void test_a_ripple_is_taken_out(void **state)
{
    (void)state;
    struct session x;
    open_session(&x, 0.05, true, 1.0);
    x.s.m.ripple = (struct pellet_ripple){
        .amplitude = 0.03, .period_cm1 = 16.0, .low_cm1 = 2000.0, .high_cm1 = 2600.0, .significance = 100.0};
    for (size_t i = 0; i < x.s.m.n; i++)
        x.s.m.absorbance[i] += checks_ripple_at(&x.s.m.ripple, x.s.m.wavenumber[i]);
    assert_outcome(shapes_run(&x.s, check), PELLET_REMAKE, PELLET_SAYS_CARRY_OVER);
    assert_near(x.s.finding.value, 0.035, 0.0035);
    close_session(&x);
}

static void test_limit_edges(void **state)
{
    (void)state;
    struct session x;
    open_session(&x, 0.025, false, 1.0); /* 0.0175 A */
    assert_outcome(shapes_run(&x.s, check), PELLET_PASS, PELLET_SAYS_WITHIN);
    assert_near(x.s.finding.value, 0.0175, 0.001);
    close_session(&x);
    open_session(&x, 0.032, false, 1.0); /* 0.0224 A */
    assert_outcome(shapes_run(&x.s, check), PELLET_REMAKE, PELLET_SAYS_CARRY_OVER);
    close_session(&x);
}

/* Nothing carried over, own bands or none: nothing is found. */
static void test_clean(void **state)
{
    (void)state;
    for (int own = 0; own < 2; own++) {
        struct session x;
        open_session(&x, 0.0, own == 1, 1.0);
        assert_outcome(shapes_run(&x.s, check), PELLET_PASS, PELLET_SAYS_WITHIN);
        assert_near(x.s.finding.value, 0.0, 0.0);
        close_session(&x);
    }
}

/*
 * A band of the sample's own on the flank of one of the earlier sample's bends the curve there: that band
 * says nothing, whether the own band was noticed or not, and the others tell the share.
 */
static void test_disturbed_band(void **state)
{
    (void)state;
    for (int noticed = 0; noticed < 2; noticed++) {
        struct session x;
        open_session(&x, 0.08, true, 1.0);
        if (noticed)
            shapes_band(&x.s, 1302.0, 0.1, 10.0);
        for (size_t i = 0; !noticed && i < x.s.m.n; i++)
            x.s.m.absorbance[i] += shapes_lorentzian(x.s.m.wavenumber[i], 1302.0, 0.1, 0.0, 10.0);
        assert_outcome(shapes_run(&x.s, check), PELLET_REMAKE, PELLET_SAYS_CARRY_OVER);
        assert_near(x.s.finding.value, 0.056, 0.0056);
        close_session(&x);
    }
}

/* Bands at random places, of usual widths and heights, are never taken for the earlier sample's pattern. */
static void test_strangers(void **state)
{
    (void)state;
    uint64_t seed = 2024;
    for (size_t turn = 0; turn < 40; turn++) {
        struct session x;
        open_session(&x, 0.0, false, 1.0);
        for (size_t i = 0; i < 12; i++)
            shapes_band(&x.s, 600.0 + 2500.0 * shapes_random(&seed), 0.02 + 0.6 * shapes_random(&seed),
                        8.0 + 20.0 * shapes_random(&seed));
        shapes_run(&x.s, check);
        assert_true(x.s.finding.outcome == PELLET_PASS || x.s.finding.outcome == PELLET_NOT_CHECKED);
        close_session(&x);
    }
}

/* Half of the pattern only: the bands that are missing speak against it. */
static void test_half_a_pattern(void **state)
{
    (void)state;
    struct session x;
    open_session(&x, 0.0, true, 1.0);
    for (size_t i = 0; i < x.s.m.n; i++)
        x.s.m.absorbance[i] += 0.1 * sum_of(earlier_lines, 2, x.s.m.wavenumber[i]);
    assert_outcome(shapes_run(&x.s, check), PELLET_PASS, PELLET_SAYS_WITHIN);
    close_session(&x);
}

/* Between the two correlations a sample gets a note, a blank is made again. */
static void test_correlation(void **state)
{
    (void)state;
    struct session x;
    struct pellet_rule rule;
    pellet_rule_standard(check, &rule);
    rule.parameter[2] = (struct pellet_limit){1.0, 1.0};
    open_session(&x, 0.1, false, 1.0);
    assert_outcome(shapes_run_rule(&x.s, check, &rule), PELLET_NOTE, PELLET_SAYS_CARRY_OVER);
    x.s.m.role = PELLET_BLANK;
    x.s.m.basis = PELLET_AGAINST_NOTHING;
    assert_outcome(shapes_run_rule(&x.s, check, &rule), PELLET_REMAKE, PELLET_SAYS_CARRY_OVER);
    assert_string_equal(x.s.finding.basis, "single_beam");
    close_session(&x);
}

/* An earlier single beam is divided by its own blank first. */
static void test_earlier_single_beam(void **state)
{
    (void)state;
    struct session x;
    open_session(&x, 0.1, true, 1.0);
    x.blank.n = x.earlier.n;
    x.blank.wavenumber = shapes_array(x.blank.n);
    x.blank.y = shapes_array(x.blank.n);
    x.blank.ordinate = x.earlier.ordinate = PELLET_ORDINATE_SINGLE_BEAM;
    for (size_t i = 0; i < x.blank.n; i++) {
        x.blank.wavenumber[i] = x.earlier.wavenumber[i];
        x.blank.y[i] = 5.0 + sin(0.002 * x.blank.wavenumber[i]);
        x.earlier.y[i] = x.blank.y[i] * pow(10.0, -x.earlier.y[i]);
    }
    assert_outcome(shapes_run(&x.s, check), PELLET_NOT_CHECKED, PELLET_SAYS_CARRY_OVER_NONE);
    x.list[0].blank = &x.blank;
    assert_outcome(shapes_run(&x.s, check), PELLET_REMAKE, PELLET_SAYS_CARRY_OVER);
    assert_near(x.s.finding.value, 0.07, 0.007);
    close_session(&x);
}

/* What cannot serve: none, the same name, too faint, off scale, unreadable. */
static void test_not_checked(void **state)
{
    (void)state;
    struct session x;
    open_session(&x, 0.1, true, 1.0);
    x.list[0].source.sample = "urea";
    assert_not_checked(shapes_run(&x.s, check), PELLET_SAYS_CARRY_OVER_NONE);
    x.list[0].source.sample = "tartrate";
    x.list[0].source.spectrum = NULL;
    assert_not_checked(shapes_run(&x.s, check), PELLET_SAYS_CARRY_OVER_NONE);
    x.s.inputs.earlier_count = 0;
    assert_not_checked(shapes_run(&x.s, check), PELLET_SAYS_CARRY_OVER_NONE);
    x.s.m.basis = PELLET_AGAINST_NOTHING;
    assert_not_checked(shapes_run(&x.s, check), PELLET_SAYS_NEEDS_RATIO);
    close_session(&x);

    open_session(&x, 0.1, true, 0.2); /* strongest 0.14 A */
    assert_not_checked(shapes_run(&x.s, check), PELLET_SAYS_CARRY_OVER_NONE);
    close_session(&x);
    open_session(&x, 0.1, true, 2.2); /* strongest 1.54 A */
    assert_not_checked(shapes_run(&x.s, check), PELLET_SAYS_CARRY_OVER_NONE);
    close_session(&x);
}

/* The same bands, as strong as the earlier ones: all shared, nothing to tell by. */
static void test_too_few_bands(void **state)
{
    (void)state;
    struct session x;
    open_session(&x, 0.0, false, 1.0);
    for (size_t i = 0; i < EARLIER_COUNT; i++)
        shapes_band(&x.s, earlier_lines[i].at_cm1, earlier_lines[i].height, earlier_lines[i].width_cm1);
    assert_not_checked(shapes_run(&x.s, check), PELLET_SAYS_CARRY_OVER_FEW);
    assert_string_equal(x.s.finding.word, "tartrate");
    close_session(&x);
}

/* Of several earlier samples the one that is there is named. */
static void test_which(void **state)
{
    (void)state;
    struct session x;
    struct pellet_spectrum other = {.n = 1868, .ordinate = PELLET_ORDINATE_ABSORBANCE};
    open_session(&x, 0.1, true, 1.0);
    other.wavenumber = shapes_array(other.n);
    other.y = shapes_array(other.n);
    for (size_t i = 0; i < other.n; i++) {
        other.wavenumber[i] = x.earlier.wavenumber[i];
        other.y[i] = sum_of(earlier_lines, EARLIER_COUNT, other.wavenumber[i] - 37.0);
    }
    x.list[1] = x.list[0];
    x.list[0].source.sample = "sulfate";
    x.list[0].source.spectrum = &other;
    x.s.inputs.earlier_count = 2;
    assert_outcome(shapes_run(&x.s, check), PELLET_REMAKE, PELLET_SAYS_CARRY_OVER);
    assert_string_equal(x.s.finding.word, "tartrate");
    /* Nor does the order of the list matter, also where none is there. */
    for (int clean = 0; clean < 2; clean++) {
        for (size_t i = 0; clean == 1 && i < x.s.m.n; i++)
            x.s.m.absorbance[i] -= 0.1 * sum_of(earlier_lines, EARLIER_COUNT, x.s.m.wavenumber[i]);
        const struct pellet_finding one = *shapes_run(&x.s, check);
        const struct pellet_earlier first = x.list[0];
        x.list[0] = x.list[1];
        x.list[1] = first;
        shapes_run(&x.s, check);
        assert_int_equal(x.s.finding.outcome, clean == 1 ? PELLET_PASS : PELLET_REMAKE);
        assert_string_equal(x.s.finding.word, one.word);
        assert_near(x.s.finding.value, one.value, 0.0);
        assert_near(x.s.finding.from_cm1, one.from_cm1, 0.0);
        assert_near(x.s.finding.number[0], one.number[0], 0.0);
    }
    free(other.wavenumber);
    free(other.y);
    close_session(&x);
}

/*
 * The pellet before was sent back for the same pattern, of the same share of the sample's own strongest band
 * (0.8 A here): the sample's own. A share that fell is what is left of a carry-over. Neither an earlier scan
 * of this pellet nor one that was not sent back for it teaches anything.
 */
static void test_attempts_teach(void **state)
{
    (void)state;
    struct session x;
    struct pellet_rendered_band band = {1040.0, 0.4, 20.0};
    struct pellet_finding then = {.check = check, .outcome = PELLET_REMAKE, .value = 0.035};
    struct pellet_verdict verdict = {.check_count = 1, .check = &then, .band_count = 1, .band = &band};
    struct pellet_attempt attempt = {.source = {.sample = "urea", .pellet = 1}, .verdict = &verdict};
    open_session(&x, 0.1, true, 1.0); /* 0.07 A */
    x.s.inputs.subject.pellet = 2;
    x.s.inputs.attempt = &attempt;
    x.s.inputs.attempt_count = 1;
    assert_outcome(shapes_run(&x.s, check), PELLET_NOTE, PELLET_SAYS_CARRY_OVER_OWN);
    assert_near(x.s.finding.number[0], 1.0, 0.0);
    assert_near(x.s.finding.value, 0.07, 0.007);
    then.value = 0.09;
    assert_outcome(shapes_run(&x.s, check), PELLET_REMAKE, PELLET_SAYS_CARRY_OVER);
    then.value = 0.035;
    then.outcome = PELLET_NOTE;
    assert_outcome(shapes_run(&x.s, check), PELLET_REMAKE, PELLET_SAYS_CARRY_OVER);
    then.outcome = PELLET_REMAKE;
    x.s.inputs.subject.pellet = 1;
    assert_outcome(shapes_run(&x.s, check), PELLET_REMAKE, PELLET_SAYS_CARRY_OVER);
    close_session(&x);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_share_comes_back),      cmocka_unit_test(test_limit_edges),
        cmocka_unit_test(test_a_ripple_is_taken_out), cmocka_unit_test(test_clean),
        cmocka_unit_test(test_disturbed_band),        cmocka_unit_test(test_strangers),
        cmocka_unit_test(test_half_a_pattern),        cmocka_unit_test(test_correlation),
        cmocka_unit_test(test_earlier_single_beam),   cmocka_unit_test(test_not_checked),
        cmocka_unit_test(test_too_few_bands),         cmocka_unit_test(test_which),
        cmocka_unit_test(test_attempts_teach),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
