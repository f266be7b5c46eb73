// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/session_fixture.h"

#include <nettle/sha2.h>

static void test_hostile_strings_are_text(void **state)
{
    (void)state;
    struct fixture_session s;

    fixture_session_init(&s);
    char *html = fixture_page(pellet_report_record, &s.report);
    assert_int_equal(fixture_count(html, "<script"), 1); /* our own */
    assert_int_equal(fixture_count(html, "alert('"), 0);
    assert_true(fixture_count(html, HOSTILE_AS_TEXT) >= 12);
    free(html);
}

/* The policy names the hash of exactly what stands in the one style and the one script element. */
static void assert_hash_fits(const char *html, const char *policy, const char *open, const char *close)
{
    struct sha256_ctx context;
    uint8_t digest[SHA256_DIGEST_SIZE];
    struct pellet_text wanted = {0};
    const char *from = strstr(html, open);

    assert_non_null(from);
    from += strlen(open);
    const char *to = strstr(from, close);
    assert_non_null(to);
    sha256_init(&context);
    sha256_update(&context, (size_t)(to - from), (const uint8_t *)from);
    sha256_digest(&context, sizeof digest, digest);
    pellet_text_addf(&wanted, "%s 'sha256-", policy);
    pellet_base64(digest, sizeof digest, &wanted);
    pellet_text_adds(&wanted, "';");
    assert_non_null(strstr(html, pellet_text_string(&wanted)));
    pellet_text_free(&wanted);
}

static void test_the_policy_fits_the_page(void **state)
{
    (void)state;
    struct fixture_session s;

    fixture_session_init(&s);
    char *html = fixture_page(pellet_report_record, &s.report);
    assert_non_null(strstr(html, "content=\"default-src 'none'; style-src "));
    assert_hash_fits(html, "style-src", "<style>", "</style>");
    assert_hash_fits(html, "script-src", "<script>", "</script>");
    assert_null(strstr(html, " style=\""));
    assert_null(strstr(html, "http://"));
    assert_null(strstr(html, "https://"));
    free(html);
}

/* a: remade and fit; b: fit at the second scan of its first pellet; the third waits. Four pellets. */
static void test_the_summary_counts_pellets_not_files(void **state)
{
    (void)state;
    struct fixture_session s;

    fixture_session_init(&s);
    char *html = fixture_page(pellet_report_record, &s.report);
    assert_non_null(strstr(html, "2 of 3 samples are fit for use; open: 1."));
    assert_non_null(strstr(html, "<span>pellets made</span><b>4</b>"));
    assert_non_null(strstr(html, "<span>passed with the first pellet (33 %)</span><b>1 of 3</b>"));
    assert_non_null(strstr(html, "<span>pellets to remake</span><b>1</b>"));
    assert_non_null(strstr(html, "<span>to measure again</span><b>0</b>"));
    assert_non_null(strstr(html, "<span>waiting</span><b>1</b>"));
    assert_non_null(strstr(html, "<span>checks not made</span><b>1</b>"));
    free(html);
}

static void test_every_value_stands_beside_its_limit(void **state)
{
    (void)state;
    /* The bar has its limit at 60: 2.41 of 1.5 is beyond its end at 92, 88.15 of 60 is 88. */
    static const char *const rows[][3] = {
        {"saturation", "2.41 A", " class=\"b wx\">&le; 1.5 A"},
        {"opacity", "88.15 %", " class=\"b t w88\">&ge; 60 %"},
        {"moisture", "-2.373 ug/cm2", " class=\"b w5\">&le; 30 ug/cm2"},
        {"tilt", "0.0127 A", " class=\"b w8\">&le; 0.1 A"},
    };
    struct fixture_session s;

    fixture_session_init(&s);
    char *html = fixture_page(pellet_report_record, &s.report);
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char wanted[128];
        snprintf(wanted, sizeof wanted, "<tr><th>%s<td>%s<td%s<td>", rows[i][0], rows[i][1], rows[i][2]);
        assert_non_null(strstr(html, wanted));
    }
    free(html);
}

/* What was not made has no value and no limit; neighbours with the same reason are told together. */
static void test_checks_not_made_say_why(void **state)
{
    (void)state;
    struct fixture_session s;

    fixture_session_init(&s);
    char *html = fixture_page(pellet_report_record, &s.report);
    assert_non_null(strstr(html, "<tr><th>thickness<td colspan=2><td>not checked: it is so<"));
    free(html);
    s.check[1] = fixture_finding("fringes", PELLET_NOT_CHECKED, NAN, NAN);
    html = fixture_page(pellet_report_record, &s.report);
    assert_non_null(strstr(html, "<tr><th>fringes, thickness<td colspan=2><td>not checked: it is so<"));
    free(html);
    s.check[1].says = "it is otherwise";
    html = fixture_page(pellet_report_record, &s.report);
    assert_non_null(
        strstr(html, "<tr><th>fringes<td colspan=2><td>not checked: it is otherwise<tr><th>thickness<"));
    free(html);
}

/* Attempts stand in the order of time, whatever the order of the items; the earlier scan is marked. */
static void test_attempts_are_in_order(void **state)
{
    (void)state;
    struct fixture_session s;

    fixture_session_init(&s);
    char *html = fixture_page(pellet_report_record, &s.report);
    const char *const samples = strstr(html, "<h2>Samples</h2>");
    assert_non_null(samples);
    const char *const first = strstr(samples, "<h4>Pellet 1, 10:22: ");
    const char *const second = strstr(samples, "<h4>Pellet 2, 10:32: ");
    const char *const scan = strstr(samples, "<h4>Pellet 1, 10:42: ");
    assert_true(first != NULL && second != NULL && scan != NULL && first < second && second < scan);
    const char *const marked = strstr(samples, "(measured again since)");
    assert_true(marked > scan && marked < strstr(samples, "<h4>Pellet 1, 10:52: "));
    free(html);
}

static void test_the_record_is_complete(void **state)
{
    (void)state;
    struct fixture_session s;
    struct pellet_rules rules;
    struct pellet_error error = {0};

    fixture_session_init(&s);
    assert_int_equal(pellet_rules_shipped("routine", &rules, &error), PELLET_OK);
    s.report.rules = &rules;
    char *html = fixture_page(pellet_report_record, &s.report);
    for (size_t i = 0; i < pellet_check_count(); i++) {
        char wanted[96];
        snprintf(wanted, sizeof wanted, "<tr><th scope=\"row\">%s<div", pellet_check_at(i)->id);
        assert_non_null(strstr(html, wanted));
    }
    assert_non_null(strstr(html, rules.sha256));
    assert_int_equal(fixture_count(html, s.verdict[0].sha256), 6);
    assert_non_null(strstr(html, "Made by"));
    assert_non_null(strstr(html, "Reviewed by"));
    assert_non_null(strstr(html, " d=\"" FIXTURE_CURVE "\"/>"));
    free(html);
    pellet_rules_clear(&rules);
}

/* Who can write to the folder can write a picture; of one that holds more than strokes nothing is shown. */
static void test_a_picture_is_not_trusted(void **state)
{
    (void)state;
    static const char *const bad[] = {
        "",
        "<svg class=\"p\" data-axes=\"4000 400 0 2.5\"><path class=\"fc\" d=\"M0 5l1 1\"/></svg>",
        "<svg class=\"p\" data-axes=\"400 4000 0 2.5 0.5\"><path class=\"fc\" d=\"M0 5l1 1\"/></svg>",
        "<svg class=\"p\" data-axes=\"4000 400 0 2.5 0.0001\"><path class=\"fc\" d=\"M0 5l1 1\"/></svg>",
        "<svg class=\"p\" data-axes=\"4000 400 0 inf 0.5\"><path class=\"fc\" d=\"M0 5l1 1\"/></svg>",
        FIXTURE_PLOT("M0 5l1 1<script>"),
        FIXTURE_PLOT("url(x)"),
        FIXTURE_PLOT(""),
        "<svg class=\"p\" data-axes=\"4000 400 0 2.5 0.5\"><path class=\"fc\" d=\"M0 5l1 1",
    };
    struct fixture_session s;

    fixture_session_init(&s);
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        s.item[4].svg = bad[i];
        char *html = fixture_page(pellet_report_record, &s.report);
        assert_int_equal(fixture_count(html, "<figure>"), 0);
        free(html);
    }
    s.item[4].svg = FIXTURE_PICTURE;
    char *html = fixture_page(pellet_report_record, &s.report);
    assert_int_equal(fixture_count(html, "<figure>"), 1);
    free(html);
}

/* Axes and blank of two pictures stand at the head of the page, and each picture refers to them. */
static void test_what_pictures_share_stands_once(void **state)
{
    (void)state;
    struct fixture_session s;

    fixture_session_init(&s);
    s.item[3].svg = FIXTURE_PICTURE;
    char *html = fixture_page(pellet_report_record, &s.report);
    assert_int_equal(fixture_count(html, "<figure>"), 2);
    assert_int_equal(fixture_count(html, "d=\"M0 9l8 1\""), 1);
    assert_int_equal(fixture_count(html, "<use href=\"#d2\"/>"), 2);
    assert_int_equal(fixture_count(html, "marker-start=\"url(#d0)\"/>"), 2);
    assert_int_equal(fixture_count(html, "marker-start=\"url(#d1)\"/>"), 2);
    assert_true(strstr(html, "id=\"d2\"") < strstr(html, "<h1>"));
    free(html);
}

/* a_p1 was judged against a blank of other content, b_p1 turned up after the blank of its time had served. */
static void test_what_came_later_is_said(void **state)
{
    (void)state;
    struct pellet_against against = {
        .as = "blank", .file = "blank.csv", .sha256 = "fedc", .measured = PELLET_NO_TIME};
    struct fixture_session s;

    fixture_session_init(&s);
    s.verdict[1].against = &against;
    s.verdict[1].against_count = 1;
    char *html = fixture_page(pellet_report_record, &s.report);
    assert_int_equal(fixture_count(html, "Its blank has another content by now"), 1);
    assert_int_equal(fixture_count(html, "Its blank is no longer in the folder"), 0);
    assert_int_equal(fixture_count(html, "The spectrum is no longer in the folder"), 1);
    assert_int_equal(fixture_count(html, "It turned up late"), 0);
    free(html);
    s.item[5].gone = true; /* the blank */
    s.verdict[3].judged += 3600 * PELLET_NS_PER_S;
    html = fixture_page(pellet_report_record, &s.report);
    assert_int_equal(fixture_count(html, "Its blank is no longer in the folder"), 1);
    assert_int_equal(fixture_count(html, "It turned up late"), 1);
    free(html);
}

static void test_the_same_session_gives_the_same_page(void **state)
{
    (void)state;
    struct fixture_session s;
    struct pellet_report_item turned[6];

    fixture_session_init(&s);
    char *once = fixture_page(pellet_report_record, &s.report);
    for (size_t i = 0; i < 6; i++)
        turned[i] = s.item[5 - i];
    s.report.item = turned;
    char *twice = fixture_page(pellet_report_record, &s.report);
    assert_string_equal(once, twice);
    free(once);
    free(twice);
}

/* The end of a session has its date where that is another than the beginning's. */
static void test_a_session_past_midnight_says_both_dates(void **state)
{
    (void)state;
    struct fixture_session s;

    fixture_session_init(&s);
    char *html = fixture_page(pellet_report_record, &s.report);
    assert_non_null(strstr(html, "<p>2026-03-04 10:12 \u2013 11:02 (UTC)."));
    free(html);
    s.verdict[5].measured += INT64_C(15) * 3600 * PELLET_NS_PER_S;
    html = fixture_page(pellet_report_record, &s.report);
    assert_non_null(strstr(html, "<p>2026-03-04 10:12 \u2013 2026-03-05 02:02 (UTC)."));
    free(html);
}

static void test_an_empty_session_has_a_record(void **state)
{
    (void)state;
    struct pellet_report report = {.session = "s", .station = "bench", .now = PELLET_NO_TIME, .revision = 1};
    char *html = fixture_page(pellet_report_record, &report);

    assert_non_null(strstr(html, "0 of 0 samples"));
    assert_non_null(strstr(html, "No blank was measured."));
    assert_null(strstr(html, "nan"));
    free(html);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_hostile_strings_are_text),
        cmocka_unit_test(test_the_policy_fits_the_page),
        cmocka_unit_test(test_the_summary_counts_pellets_not_files),
        cmocka_unit_test(test_every_value_stands_beside_its_limit),
        cmocka_unit_test(test_checks_not_made_say_why),
        cmocka_unit_test(test_attempts_are_in_order),
        cmocka_unit_test(test_the_record_is_complete),
        cmocka_unit_test(test_a_picture_is_not_trusted),
        cmocka_unit_test(test_what_pictures_share_stands_once),
        cmocka_unit_test(test_what_came_later_is_said),
        cmocka_unit_test(test_the_same_session_gives_the_same_page),
        cmocka_unit_test(test_a_session_past_midnight_says_both_dates),
        cmocka_unit_test(test_an_empty_session_has_a_record),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
