// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/session_fixture.h"

#define POINTS 3601

struct curve {
    double wavenumber[POINTS], y[POINTS];
    struct pellet_spectrum spectrum;
};

/* Flat at 0.1 A, 400..4000 every 1 cm-1. */
static struct curve *curve_new(void)
{
    struct curve *c = calloc(1, sizeof *c);

    assert_non_null(c);
    for (size_t i = 0; i < POINTS; i++) {
        c->wavenumber[i] = 400.0 + (double)i;
        c->y[i] = 0.1;
    }
    c->spectrum = (struct pellet_spectrum){
        .n = POINTS, .wavenumber = c->wavenumber, .y = c->y, .ordinate = PELLET_ORDINATE_ABSORBANCE};
    return c;
}

/* The data of the curve's path, copied out. */
static char *path_of(const char *svg)
{
    const char *from = strstr(svg, "<path class=\"fc\" transform=\"scale(0.5)\" d=\"");
    assert_non_null(from);
    from = strstr(from, " d=\"") + strlen(" d=\"");
    const char *to = strchr(from, '"');
    assert_non_null(to);
    return strndup(from, (size_t)(to - from));
}

/* From the left edge of the plot to the right one: 736 units wide. */
static void test_a_flat_curve_spans_the_plot(void **state)
{
    (void)state;
    struct curve *c = curve_new();
    struct pellet_verdict v = fixture_verdict("a.csv", "a", 1, PELLET_PASS);
    struct pellet_text svg = {0};

    assert_int_equal(pellet_report_picture(&c->spectrum, NULL, &v, &svg), PELLET_OK);
    char *path = path_of(pellet_text_string(&svg));
    assert_string_equal(path, "M0 0l1472 0"); /* 0.1 A is the top of the axis 0..0.1 */
    assert_non_null(strstr(pellet_text_string(&svg), ">4000</text>"));
    free(path);
    pellet_text_free(&svg);
    free(c);
}

/* One point of 1 A among 3601: its top is drawn, at the top of the axis 0..1, and it comes down again. */
static void test_a_line_one_point_wide_is_not_lost(void **state)
{
    (void)state;
    struct curve *c = curve_new();
    struct pellet_verdict v = fixture_verdict("a.csv", "a", 1, PELLET_PASS);
    struct pellet_text svg = {0};

    c->y[1234] = 1.0;
    assert_int_equal(pellet_report_picture(&c->spectrum, NULL, &v, &svg), PELLET_OK);
    char *path = path_of(pellet_text_string(&svg));
    assert_non_null(strstr(path, "-450")); /* 2 x 250 units x 0.9 A, up and down */
    assert_non_null(strstr(path, " 450"));
    assert_int_equal(fixture_count(path, "M"), 1);
    free(path);
    pellet_text_free(&svg);
    free(c);
}

static void test_unknown_points_are_gaps(void **state)
{
    (void)state;
    struct curve *c = curve_new();
    struct pellet_verdict v = fixture_verdict("a.csv", "a", 1, PELLET_PASS);
    struct pellet_text svg = {0};

    for (size_t i = 1000; i < 1100; i++)
        c->y[i] = NAN;
    c->y[2000] = INFINITY;
    assert_int_equal(pellet_report_picture(&c->spectrum, NULL, &v, &svg), PELLET_OK);
    char *path = path_of(pellet_text_string(&svg));
    assert_int_equal(fixture_count(path, "M"), 3);
    assert_null(strstr(pellet_text_string(&svg), "nan"));
    assert_null(strstr(pellet_text_string(&svg), "inf"));
    free(path);
    pellet_text_free(&svg);
    free(c);
}

/* 1068 of 4000..400 on 736 units: 736 x 2932 / 3600 = 599.4. */
static void test_findings_are_marked_where_they_are(void **state)
{
    (void)state;
    struct curve *c = curve_new();
    struct pellet_verdict v = fixture_verdict("a.csv", "a", 1, PELLET_REMAKE);
    struct pellet_finding check[3] = {fixture_finding("noise", PELLET_PASS, 0.0004, 0.002),
                                      fixture_finding("saturation", PELLET_REMAKE, 2.41, 1.5),
                                      fixture_finding("opacity", PELLET_NOT_CHECKED, NAN, NAN)};
    struct pellet_text svg = {0};

    check[1].at_cm1 = 1068.0;
    check[1].says = "2.41 A & " HOSTILE;
    v.check = check;
    v.check_count = 3;
    assert_int_equal(pellet_report_picture(&c->spectrum, NULL, &v, &svg), PELLET_OK);
    const char *text = pellet_text_string(&svg);
    assert_non_null(strstr(text, "<path class=\"fl\" d=\"M599.4 0v250\"/>"));
    assert_int_equal(fixture_count(text, "<circle"), 2); /* in the picture and in the legend: no other */
    assert_non_null(strstr(text, "too strong (remake): 2.41 A &amp; " HOSTILE_AS_TEXT));
    assert_non_null(strstr(text, "<title id=\"t\">a.csv: remake</title>"));
    assert_non_null(strstr(text, "<desc id=\"d\">"));
    assert_null(strstr(text, "<script"));
    pellet_text_free(&svg);
    free(c);
}

/* Vapour names no place: both of its regions are tinted, 3900-3550 and 1900-1400 of 4000..400 on
 * 736 units. */
static void test_a_finding_without_a_place_has_its_regions(void **state)
{
    (void)state;
    struct curve *c = curve_new();
    struct pellet_verdict v = fixture_verdict("a.csv", "a", 1, PELLET_RESCAN);
    struct pellet_finding check = fixture_finding("vapour", PELLET_RESCAN, 0.17, 0.02);
    struct pellet_text svg = {0};

    v.check = &check;
    v.check_count = 1;
    assert_int_equal(pellet_report_picture(&c->spectrum, NULL, &v, &svg), PELLET_OK);
    const char *text = pellet_text_string(&svg);
    assert_non_null(strstr(text, "<rect class=\"fr\" x=\"20.4\" width=\"71.6\""));
    assert_non_null(strstr(text, "<rect class=\"fr\" x=\"429.3\" width=\"102.2\""));
    pellet_text_free(&svg);
    free(c);
}

/* On a scale of its own, nine tenths high at its greatest: 500 x (1 - 0.9) = 50. Its own grid is coarser. */
static void test_the_blank_stands_behind(void **state)
{
    (void)state;
    struct curve *c = curve_new();
    struct pellet_verdict v = fixture_verdict("a.csv", "a", 1, PELLET_PASS);
    double wavenumber[] = {400.0, 2200.0, 4000.0}, y[] = {7.0, 7.0, 7.0};
    const struct pellet_spectrum blank = {
        .n = 3, .wavenumber = wavenumber, .y = y, .ordinate = PELLET_ORDINATE_SINGLE_BEAM};
    struct pellet_text svg = {0};

    assert_int_equal(pellet_report_picture(&c->spectrum, &blank, &v, &svg), PELLET_OK);
    const char *text = pellet_text_string(&svg);
    assert_non_null(strstr(text, "<path class=\"fb\" transform=\"scale(0.5)\" d=\"M0 50l1472 0\"/>"));
    assert_non_null(strstr(text, "single beam of the blank"));
    pellet_text_free(&svg);
    y[0] = y[1] = y[2] = -1.0; /* no light at all is no curve */
    assert_int_equal(pellet_report_picture(&c->spectrum, &blank, &v, &svg), PELLET_OK);
    assert_null(strstr(pellet_text_string(&svg), "class=\"fb\" "));
    pellet_text_free(&svg);
    free(c);
}

static void test_hostile_names_are_text_and_the_picture_repeats(void **state)
{
    (void)state;
    struct curve *c = curve_new();
    struct pellet_verdict v = fixture_verdict(HOSTILE ".csv", "a", 1, PELLET_PASS);
    struct pellet_text once = {0}, twice = {0};

    assert_int_equal(pellet_report_picture(&c->spectrum, NULL, &v, &once), PELLET_OK);
    assert_int_equal(pellet_report_picture(&c->spectrum, NULL, &v, &twice), PELLET_OK);
    assert_string_equal(pellet_text_string(&once), pellet_text_string(&twice));
    assert_null(strstr(pellet_text_string(&once), "<script"));
    assert_int_equal(fixture_count(pellet_text_string(&once), HOSTILE_AS_TEXT), 2);
    pellet_text_free(&once);
    pellet_text_free(&twice);
    free(c);
}

static void test_too_few_points_leave_the_text_alone(void **state)
{
    (void)state;
    struct curve *c = curve_new();
    struct pellet_verdict v = fixture_verdict("a.csv", "a", 1, PELLET_PASS);
    struct pellet_text svg = {0};

    for (size_t i = 1; i < POINTS; i++)
        c->y[i] = NAN;
    pellet_text_adds(&svg, "before");
    assert_int_equal(pellet_report_picture(&c->spectrum, NULL, &v, &svg), PELLET_E_SHORT);
    assert_string_equal(pellet_text_string(&svg), "before");
    assert_int_equal(pellet_report_picture(&(struct pellet_spectrum){0}, NULL, &v, &svg), PELLET_E_SHORT);
    assert_string_equal(pellet_text_string(&svg), "before");
    pellet_text_free(&svg);
    free(c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_a_flat_curve_spans_the_plot),
        cmocka_unit_test(test_a_line_one_point_wide_is_not_lost),
        cmocka_unit_test(test_unknown_points_are_gaps),
        cmocka_unit_test(test_findings_are_marked_where_they_are),
        cmocka_unit_test(test_a_finding_without_a_place_has_its_regions),
        cmocka_unit_test(test_the_blank_stands_behind),
        cmocka_unit_test(test_hostile_names_are_text_and_the_picture_repeats),
        cmocka_unit_test(test_too_few_points_leave_the_text_alone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
