// SPDX-License-Identifier: GPL-3.0-or-later
/* Verdicts written by hand, for the tests of pictures and records. Nothing here comes from a real session. */
#ifndef PELLET_TESTS_REPORT_SESSION_FIXTURE_H
#define PELLET_TESTS_REPORT_SESSION_FIXTURE_H

#include "testing.h"

#include "pellet/report.h"

#include <string.h>

#define HOSTILE         "<script>alert('&\"')</script>"
#define HOSTILE_AS_TEXT "&lt;script&gt;alert(&#39;&amp;&quot;&#39;)&lt;/script&gt;"

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
                  .transmittance_2000 = NAN},
    };
}

static inline size_t fixture_count(const char *text, const char *word)
{
    size_t count = 0;
    for (const char *at = text; (at = strstr(at, word)) != NULL; at += strlen(word))
        count++;
    return count;
}

#endif
