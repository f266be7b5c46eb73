// SPDX-License-Identifier: GPL-3.0-or-later
/* Verdicts written by hand, for the tests of pictures and records. Nothing here comes from a real session. */
#ifndef PELLET_TESTS_REPORT_SESSION_FIXTURE_H
#define PELLET_TESTS_REPORT_SESSION_FIXTURE_H

#include "testing.h"

#include "pellet/report.h"

#include <string.h>

#define HOSTILE         "<script>alert('&\"')</script>"
#define HOSTILE_AS_TEXT "&lt;script&gt;alert(&#39;&amp;&quot;&#39;)&lt;/script&gt;"

/* What of a picture counts when it is read back; the rest is anybody's. */
#define FIXTURE_PLOT(curve)                                                                                  \
    "<svg class=\"p\" data-axes=\"4000 400 0 2.5 0.5\"><path class=\"fb\" d=\"M0 9l8 1\"/><path "            \
    "class=\"fc\" "                                                                                          \
    "d=\"" curve "\"/></svg></svg>"
#define FIXTURE_CURVE   "M0 500l736-18 736 18"
#define FIXTURE_PICTURE "<svg><title>" HOSTILE "</title>" FIXTURE_PLOT(FIXTURE_CURVE)

static inline struct pellet_finding fixture_finding(const char *id, enum pellet_outcome outcome, double value,
                                                    double limit)
{
    struct pellet_finding f;

    pellet_finding_init(pellet_check_find(id), &f);
    f.outcome = outcome;
    f.value = value;
    f.limit = limit;
    f.says = "it is so";
    return f;
}

static inline struct pellet_verdict fixture_verdict(const char *file, const char *sample, int pellet,
                                                    enum pellet_outcome outcome)
{
    return (struct pellet_verdict){
        .format = PELLET_VERDICT_FORMAT,
        .outcome = outcome,
        .summary = "one line",
        .instruction = outcome == PELLET_PASS ? "" : "Do this.",
        .role = sample != NULL ? PELLET_SAMPLE : PELLET_BLANK,
        .state = sample != NULL ? PELLET_BLANK_NONE : PELLET_BLANK_ACCEPTED,
        .measured = INT64_C(1772619151) * PELLET_NS_PER_S,
        .judged = INT64_C(1772619153) * PELLET_NS_PER_S,
        .file = file,
        .sample = sample,
        .pellet = pellet,
        .station = "bench-1",
        .session = "2026-03-04T0900-bench-1",
        .by = "pelletd 0.1.0",
        .rules_name = "routine",
        .sha256 = "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef",
        .advice =
            {.sample_factor = NAN, .powder_factor = NAN, .take_mg = NAN, .add_kbr_mg = NAN, .press_mg = NAN},
        .found = {.water_excess_ug_cm2 = NAN,
                  .thickness_mm = NAN,
                  .scatter_exponent = NAN,
                  .strongest_band_cm1 = NAN,
                  .true_absorbance = NAN,
                  .noise = NAN,
                  .transmittance_2000 = NAN,
                  .pressure_mpa = NAN},
    };
}

static inline size_t fixture_count(const char *text, const char *word)
{
    size_t count = 0;
    for (const char *at = text; (at = strstr(at, word)) != NULL; at += strlen(word))
        count++;
    return count;
}

/*
 * A session of six measurements: a blank; sample a: pellet 1 too strong, pellet 2 fit; sample b, whose first
 * pellet was measured twice; and a hostile one that waits.
 */
struct fixture_session {
    struct pellet_finding strong, noisy, wait, blank_check[2], check[3];
    struct pellet_against against;
    const char *warning[1];
    struct pellet_worksheet_row row;
    struct pellet_verdict verdict[6];
    struct pellet_report_item item[6];
    struct pellet_report report;
};

static inline void fixture_session_init(struct fixture_session *s)
{
    static const char *const files[] = {"blank.csv", "a_p1.csv",   "a_p2.csv",
                                        "b_p1.csv",  "b_p1_2.csv", HOSTILE ".csv"};
    static const char *const samples[] = {NULL, "a", "a", "b", "b", HOSTILE};
    static const int pellets[] = {0, 1, 2, 1, 1, 1};
    static const enum pellet_outcome outcomes[] = {PELLET_PASS,   PELLET_REMAKE, PELLET_PASS,
                                                   PELLET_RESCAN, PELLET_PASS,   PELLET_WAIT};

    memset(s, 0, sizeof *s);
    for (size_t i = 0; i < 6; i++) {
        s->verdict[i] = fixture_verdict(files[i], samples[i], pellets[i], outcomes[i]);
        s->verdict[i].measured += (pellet_ns)i * 600 * PELLET_NS_PER_S;
        s->item[5 - i].verdict = &s->verdict[i]; /* items may come in any order */
    }
    s->strong = fixture_finding("saturation", PELLET_REMAKE, 2.41, 1.5);
    s->noisy = fixture_finding("noise", PELLET_RESCAN, 0.0051, 0.002);
    s->wait = fixture_finding("blank", PELLET_WAIT, 71.0, 60.0);
    s->wait.says = "=1+1" HOSTILE;
    s->check[0] = s->strong;
    s->check[1] = fixture_finding("opacity", PELLET_PASS, 88.15, 60.0);
    s->check[2] = fixture_finding("thickness", PELLET_NOT_CHECKED, NAN, NAN);
    s->blank_check[0] = fixture_finding("moisture", PELLET_PASS, -2.373, 30.0);
    s->blank_check[1] = fixture_finding("tilt", PELLET_PASS, 0.0127, 0.1);
    s->verdict[0].check = s->blank_check;
    s->verdict[0].check_count = 2;
    s->verdict[1].check = s->check;
    s->verdict[1].check_count = 3;
    s->verdict[1].reason = &s->strong;
    s->verdict[1].reason_count = 1;
    s->verdict[3].reason = &s->noisy;
    s->verdict[3].reason_count = 1;
    s->verdict[5].reason = &s->wait;
    s->verdict[5].reason_count = 1;
    s->verdict[5].summary = HOSTILE;
    s->verdict[5].instruction = HOSTILE;
    s->warning[0] = HOSTILE;
    s->verdict[5].warning = s->warning;
    s->verdict[5].warning_count = 1;
    s->against =
        (struct pellet_against){.as = "blank", .file = HOSTILE, .age_min = 71.0, .measured = PELLET_NO_TIME};
    s->verdict[5].against = &s->against;
    s->verdict[5].against_count = 1;
    s->row = (struct pellet_worksheet_row){.sample = HOSTILE,
                                           .operator_name = "@" HOSTILE,
                                           .sample_mg = 1.5,
                                           .kbr_mg = 300.0,
                                           .pressed_mg = NAN,
                                           .powder_left_mg = NAN,
                                           .die_mm = NAN,
                                           .load_t = NAN,
                                           .kbr_lot = HOSTILE,
                                           .decision = HOSTILE,
                                           .decided_by = HOSTILE,
                                           .decision_reason = HOSTILE};
    s->item[0].row = &s->row; /* of the hostile one */
    s->item[0].gone = true;
    s->item[4].svg = FIXTURE_PICTURE; /* of a_p1 */
    s->report = (struct pellet_report){.station = HOSTILE,
                                       .session = "2026-03-04T0900-bench-1",
                                       .zone = "UTC",
                                       .by = "pelletd 0.1.0",
                                       .now = INT64_C(1772630000) * PELLET_NS_PER_S,
                                       .closed = true,
                                       .revision = 1,
                                       .setting = {[PELLET_SETTING_DETECTOR] = HOSTILE},
                                       .item_count = 6,
                                       .item = s->item};
}

/* What one of the writers of pages makes of a report; to be freed. */
static inline char *fixture_page(pellet_status (*write)(const struct pellet_report *, struct pellet_text *),
                                 const struct pellet_report *report)
{
    struct pellet_text page = {0};

    assert_int_equal(write(report, &page), PELLET_OK);
    return page.data;
}

#endif
