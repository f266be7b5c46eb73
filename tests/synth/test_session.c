// SPDX-License-Identifier: GPL-3.0-or-later
/* The invented session: complete, in order, repeatable, and written as a spectrometer would. */
#include "testing.h"

#include "synth/model.h"

#include <string.h>

static struct pellet_synth *model;

static int setup(void **state)
{
    (void)state;
    struct pellet_error error = {0};
    return pellet_synth_new(&model, &error) == PELLET_OK ? 0 : -1;
}

static int teardown(void **state)
{
    (void)state;
    pellet_synth_free(model);
    return 0;
}

static void every_fault_of_the_main_job_is_there(void **state)
{
    (void)state;
    static const char *const faults[] = {
        "saturation", "weak", "opacity", "moisture", "tilt", "overcompensation",
        "noise",      "span", "blank",   "vapour",   "leak", "read"};
    size_t good = 0, blanks = 0;
    for (size_t k = 0; k < sizeof faults / sizeof faults[0]; k++) {
        bool found = false;
        for (size_t i = 0; i < pellet_synth_scene_count(); i++) {
            struct pellet_synth_scene scene;
            pellet_synth_scene_make(i, 1, &scene);
            found |= scene.fault && strcmp(scene.fault, faults[k]) == 0;
        }
        if (!found)
            fail_msg("no scene for %s", faults[k]);
    }
    double minute = -1.0;
    for (size_t i = 0; i < pellet_synth_scene_count(); i++) {
        struct pellet_synth_scene scene;
        pellet_synth_scene_make(i, 1, &scene);
        assert_true(scene.minute > minute);
        minute = scene.minute;
        assert_non_null(scene.verdict);
        assert_non_null(scene.verdict_end);
        assert_true((scene.fault == NULL) == (strcmp(scene.verdict, "pass") == 0));
        assert_true(scene.kind != PELLET_SYNTH_SCENE_SAMPLE || scene.pellet.compound);
        good += scene.kind == PELLET_SYNTH_SCENE_SAMPLE && !scene.fault;
        blanks += scene.kind == PELLET_SYNTH_SCENE_BLANK && !scene.fault;
    }
    assert_true(good >= 4);
    assert_true(blanks >= 2);
}

static void a_scene_is_repeatable_and_seeds_differ(void **state)
{
    (void)state;
    struct pellet_synth_scene a, b, c;
    pellet_synth_scene_make(3, 1, &a);
    pellet_synth_scene_make(3, 1, &b);
    pellet_synth_scene_make(3, 2, &c);
    assert_true(a.pellet.dose_mg_cm2 == b.pellet.dose_mg_cm2 && a.seed == b.seed);
    assert_true(a.pellet.dose_mg_cm2 != c.pellet.dose_mg_cm2);
    assert_near(c.pellet.dose_mg_cm2 / a.pellet.dose_mg_cm2, 1.0, 0.1);
}

static char *field(const char *text, const char *label, char *out, size_t size)
{
    const char *at = strstr(text, label);
    if (!at)
        return NULL;
    snprintf(out, size, "%.*s", (int)strcspn(at + strlen(label), "\n"), at + strlen(label));
    return out;
}

/* 2026-03-04T09:00:00Z, and minute 4 of it. */
static void a_file_states_its_settings_and_numbers(void **state)
{
    (void)state;
    struct pellet_synth_scene scene;
    pellet_synth_scene_make(1, 1, &scene);
    struct pellet_text text = {0};
    struct pellet_error error = {0};
    const pellet_ns start = INT64_C(1772614800) * PELLET_NS_PER_S;
    assert_int_equal(pellet_synth_scene_write(model, &scene, start, &text, &error), PELLET_OK);
    const char *string = pellet_text_string(&text);
    char value[64];
    assert_string_equal(field(string, "Title,", value, sizeof value), "blank-1");
    assert_string_equal(field(string, "Date,", value, sizeof value), "2026-03-04");
    assert_string_equal(field(string, "Time,", value, sizeof value), "09:04:00");
    assert_string_equal(field(string, "Resolution,", value, sizeof value), "4");
    assert_string_equal(field(string, "Scans,", value, sizeof value), "32");
    assert_string_equal(field(string, "Ordinate,", value, sizeof value), "single beam");
    struct pellet_spectrum spectrum = {0};
    assert_int_equal(
        pellet_synth_measure(model, &scene.pellet, &scene.instrument, scene.seed, &spectrum, NULL, NULL),
        PELLET_OK);
    const char *row = strstr(string, "Single beam\n") + strlen("Single beam\n");
    for (size_t i = 0; i < spectrum.n; i++) {
        char *end = NULL;
        assert_near(strtod(row, &end), spectrum.wavenumber[i], 6e-5);
        assert_int_equal(*end, ',');
        assert_near(strtod(end + 1, &end), spectrum.y[i], 1e-7 * fabs(spectrum.y[i]));
        assert_int_equal(*end, '\n');
        row = end + 1;
    }
    assert_int_equal(*row, '\0');
    pellet_spectrum_clear(&spectrum);
    pellet_text_free(&text);
}

static void without_a_start_the_file_has_no_time(void **state)
{
    (void)state;
    for (size_t i = 0; i < pellet_synth_scene_count(); i++) {
        struct pellet_synth_scene scene;
        pellet_synth_scene_make(i, 3, &scene);
        struct pellet_text text = {0};
        struct pellet_error error = {0};
        assert_int_equal(pellet_synth_scene_write(model, &scene, PELLET_NO_TIME, &text, &error), PELLET_OK);
        assert_null(strstr(pellet_text_string(&text), "Date,"));
        assert_true((strstr(pellet_text_string(&text), "Ordinate,") == NULL) ==
                    (scene.kind == PELLET_SYNTH_SCENE_TEXT));
        pellet_text_free(&text);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_fault_of_the_main_job_is_there),
        cmocka_unit_test(a_scene_is_repeatable_and_seeds_differ),
        cmocka_unit_test(a_file_states_its_settings_and_numbers),
        cmocka_unit_test(without_a_start_the_file_has_no_time),
    };
    return cmocka_run_group_tests(tests, setup, teardown);
}
