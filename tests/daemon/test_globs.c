// SPDX-License-Identifier: GPL-3.0-or-later
#include "testing.h"

#include "globs.h"

#include <string.h>

static const char *const include_patterns[] = {"*.csv", "*.txt", "*.dx", "*.jdx", "*.jcm"};
static const struct glob_list include = {5, (const char **)include_patterns};

static void inputs(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        bool input;
    } rows[] = {
        {"caffeine_p1.csv", true},
        {"CAFFEINE.CSV", true},
        {"a b (1).Dx", true},
        {"sub/deep/a.jdx", true},
        {"=cmd.csv", true},
        {"a\nb.csv", true},
        {"Worksheet2.csv", true},
        {"sub/worksheet.csv", true},
        {"worksheet.csv", false},
        {"Worksheet.CSV", false},
        {".hidden.csv", false},
        {"~$caffeine.csv", false},
        {"a.csv.tmp", false},
        {"a.csv.part", false},
        {"a.csv.verdict.yaml", false},
        {".pelletd-0123.tmp", false},
        {"reports/2026.csv", false},
        {"reports/ratioed/a.csv.jdx", false},
        {"Reports/a.csv", false},
        {".git/a.csv", false},
        {"sub/.cache/a.csv", false},
        {"a.pdf", false},
        {"csv", false},
        {"", false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        if (name_is_input(rows[i].name, &include) != rows[i].input)
            fail_msg("%s", rows[i].name);
    }
}

static void roles(void **state)
{
    (void)state;
    const char *blanks[] = {"blank*", "*_blank.*"};
    const char *beams[] = {"open*beam*"};
    const char *films[] = {"film*", "polystyrene*"};
    const struct glob_list blank = {2, blanks};
    const struct glob_list beam = {1, beams};
    const struct glob_list film = {2, films};
    assert_int_equal(name_role("Blank-0900.csv", &blank, &beam, &film), PELLET_BLANK);
    assert_int_equal(name_role("sub/0900_BLANK.dx", &blank, &beam, &film), PELLET_BLANK);
    assert_int_equal(name_role("open-beam-1.csv", &blank, &beam, &film), PELLET_OPEN_BEAM);
    assert_int_equal(name_role("polystyrene.csv", &blank, &beam, &film), PELLET_FILM);
    assert_int_equal(name_role("caffeine_p1.csv", &blank, &beam, &film), PELLET_SAMPLE);
    /* The folder's name says nothing about the file. */
    assert_int_equal(name_role("blanks/caffeine.csv", &blank, &beam, &film), PELLET_SAMPLE);
    /* The first list that fits counts. */
    assert_int_equal(name_role("blank-film.csv", &blank, &beam, &film), PELLET_BLANK);
}

static void templates_are_checked(void **state)
{
    (void)state;
    assert_string_equal(sample_template_fault("{sample}_p{pellet}"), "");
    assert_string_equal(sample_template_fault("P{pellet}-{sample}"), "");
    assert_string_equal(sample_template_fault("{sample}"), "");
    assert_non_null(strstr(sample_template_fault("{pellet}"), "{sample} is missing"));
    assert_non_null(strstr(sample_template_fault("{sample}{pellet}"), "between"));
    assert_non_null(strstr(sample_template_fault("{sample}_{sample}"), "twice"));
    assert_non_null(strstr(sample_template_fault("{sample}_{lot}"), "braces"));
    assert_non_null(strstr(sample_template_fault("x/{sample}"), "folders"));
}

static void names_are_read(void **state)
{
    (void)state;
    static const struct {
        const char *template, *name, *sample;
        int pellet, scan;
    } rows[] = {
        {"{sample}_p{pellet}", "caffeine_p1.csv", "caffeine", 1, 0},
        {"{sample}_p{pellet}", "sub/Caffeine_P12.CSV", "Caffeine", 12, 0},
        {"{sample}_p{pellet}", "mix_p2_p1.csv", "mix_p2", 1, 0},
        {"{sample}_p{pellet}", "caffeine.csv", "caffeine", 0, 0},
        {"{sample}_p{pellet}", "caffeine_p.csv", "caffeine_p", 0, 0},
        {"{sample}_p{pellet}", "caffeine_p1b.csv", "caffeine_p1b", 0, 0},
        {"{sample}_p{pellet}", "caffeine_p20260304.csv", "caffeine_p20260304", 0, 0},
        {"{sample}_p{pellet}", "_p1.csv", "_p1", 0, 0},
        {"{sample}_p{pellet}", "a.b_p3.x.csv", "a.b_p3.x", 0, 0},
        {"{sample}_p{pellet}", "noending_p4", "noending", 4, 0},
        {"{sample}_p{pellet}_s{scan}", "caffeine_p1_s2.csv", "caffeine", 1, 2},
        {"{sample}_p{pellet}_s{scan}", "caffeine_p1.csv", "caffeine", 1, 0},
        {"{sample}_p{pellet}_s{scan}", "caffeine.csv", "caffeine", 0, 0},
        {"P{pellet}-{sample}", "p7-caffeine.csv", "caffeine", 7, 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        struct sample_name said;
        sample_name_read(rows[i].template, rows[i].name, &said);
        if (strcmp(said.sample, rows[i].sample) != 0 || said.pellet != rows[i].pellet ||
            said.scan != rows[i].scan)
            fail_msg("%s by %s: '%s' %d %d", rows[i].name, rows[i].template, said.sample, said.pellet,
                     said.scan);
    }
}

static void long_names_are_cut(void **state)
{
    (void)state;
    char name[300];
    struct sample_name said;
    memset(name, 'x', sizeof name);
    name[sizeof name - 1] = '\0';
    sample_name_read("{sample}_p{pellet}", name, &said);
    assert_int_equal(strlen(said.sample), NAME_PART_MAX - 1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(inputs),
        cmocka_unit_test(roles),
        cmocka_unit_test(templates_are_checked),
        cmocka_unit_test(names_are_read),
        cmocka_unit_test(long_names_are_cut),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
