// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/session_fixture.h"

static void test_the_newest_verdict_comes_first(void **state)
{
    (void)state;
    struct fixture_session s;

    fixture_session_init(&s);
    s.verdict[2].judged += 7200 * PELLET_NS_PER_S;
    char *html = fixture_page(pellet_report_bench, &s.report);
    const char *const now =
        strstr(html, "<h1 class=\"who\">a, pellet 2 <span class=\"quiet\">10:32</span></h1>");
    assert_non_null(now);
    assert_non_null(strstr(now, "<p class=\"word\"><b class=\"verdict pass\">pass</b></p>"));
    assert_non_null(strstr(now, "<p class=\"do\">Keep the spectrum and go on.</p>"));
    free(html);
}

/* Measured at 10:12:31, the page written at 13:13:20. */
static void test_blank_and_waiting_are_named(void **state)
{
    (void)state;
    struct fixture_session s;

    fixture_session_init(&s);
    char *html = fixture_page(pellet_report_bench, &s.report);
    assert_non_null(strstr(html, "<strong>blank.csv</strong>, 10:12, <span id=\"age\" "
                                 "data-since=\"1772619151000\" data-says=\"# min old\">180 min old</span>"));
    assert_null(strstr(html, "Older than the rule set allows"));
    assert_non_null(
        strstr(html, "<h2>Waiting</h2>\n<ul>\n<li><strong>" HOSTILE_AS_TEXT ", pellet 1</strong>"));
    assert_int_equal(fixture_count(html, "<script"), 1);
    assert_non_null(strstr(html, "data-written=\"1772630000000\" data-state=\"closed\""));
    free(html);
}

/* A hundred and six measurements make a page of thirty lines. */
static void test_the_page_stays_short(void **state)
{
    (void)state;
    static struct pellet_report_item items[106];
    struct fixture_session s;

    fixture_session_init(&s);
    for (size_t i = 0; i < 106; i++)
        items[i] = s.item[i % 6];
    s.report.item = items;
    s.report.item_count = 106;
    char *html = fixture_page(pellet_report_bench, &s.report);
    assert_int_equal(fixture_count(html, "<tr><th scope=\"row\" class=\"name\">"), 30);
    assert_non_null(strstr(html, "Only the newest are shown"));
    free(html);
}

/* The caller's count of a long session goes before what the few items say. */
static void test_the_tally_counts(void **state)
{
    (void)state;
    struct fixture_session s;

    fixture_session_init(&s);
    char *html = fixture_page(pellet_report_bench, &s.report);
    assert_non_null(strstr(html, "<p>5 spectra of samples: 2 pass, 1 remake, 1 rescan, 1 wait.</p>"));
    free(html);
    s.report.tally[PELLET_PASS] = 1200;
    s.report.tally[PELLET_REMAKE] = 34;
    html = fixture_page(pellet_report_bench, &s.report);
    assert_non_null(strstr(html, "<p>1234 spectra of samples: 1200 pass, 34 remake.</p>"));
    free(html);
}

static void test_a_stopped_service_and_an_old_blank_are_said(void **state)
{
    (void)state;
    struct fixture_session s;
    struct pellet_rules rules;
    struct pellet_error error = {0};

    fixture_session_init(&s);
    assert_int_equal(pellet_rules_shipped("routine", &rules, &error), PELLET_OK);
    s.report.rules = &rules;
    s.report.stopped = true;
    s.report.closed = false;
    char *html = fixture_page(pellet_report_bench, &s.report);
    assert_non_null(strstr(html, "pelletd was stopped, 2026-03-04 13:13."));
    assert_non_null(strstr(html, "data-state=\"stopped\""));
    assert_non_null(strstr(html, "Older than the rule set allows (60 min)"));
    free(html);
    pellet_rules_clear(&rules);
}

static void test_an_empty_session_says_so(void **state)
{
    (void)state;
    struct pellet_report report = {.station = "bench", .session = "s", .now = PELLET_NO_TIME};
    char *html = fixture_page(pellet_report_bench, &report);

    assert_non_null(strstr(html, "No spectrum yet"));
    assert_non_null(strstr(html, "Nothing has been measured yet."));
    assert_non_null(strstr(html, "None: press and measure a blank."));
    free(html);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_the_newest_verdict_comes_first),
        cmocka_unit_test(test_blank_and_waiting_are_named),
        cmocka_unit_test(test_the_page_stays_short),
        cmocka_unit_test(test_the_tally_counts),
        cmocka_unit_test(test_a_stopped_service_and_an_old_blank_are_said),
        cmocka_unit_test(test_an_empty_session_says_so),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
